import { error } from '@sveltejs/kit';
import type { PublicList } from '@oddglass/shared/contracts/publishing.ts';
import { ApiProblem, NoAnswer, type Fetch } from '#lib/api/client.ts';
import { getPublicList } from '#lib/api/publication.ts';

/** What a panel lists, for a reader's page; a panel that lists nothing leads to a page that says so. */
export function openList(fetch: Fetch, panel: string): Promise<PublicList> {
  return getPublicList(fetch, encodeURIComponent(panel)).catch((reason: unknown) => {
    if (reason instanceof ApiProblem) {
      error(reason.problem.status === 400 ? 404 : reason.problem.status, reason.problem.detail);
    }
    if (reason instanceof NoAnswer) error(503, 'The server did not answer. Try again in a moment.');
    throw reason;
  });
}
