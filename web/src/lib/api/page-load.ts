import { error, redirect } from '@sveltejs/kit';
import { ApiProblem, NoAnswer } from './client.ts';

/** Runs a page's loads: not signed in leads to the sign-in page, other refusals to the error page. */
export async function orElsewhere<T>(load: Promise<T>, url: URL): Promise<T> {
  try {
    return await load;
  } catch (reason) {
    if (reason instanceof ApiProblem) {
      const { status, detail } = reason.problem;
      if (status === 401) redirect(303, `/bench/sign-in?next=${encodeURIComponent(url.pathname)}`);
      error(status, detail);
    }
    if (reason instanceof NoAnswer) error(503, 'The server did not answer. Try again in a moment.');
    throw reason;
  }
}
