import { error } from '@sveltejs/kit';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import { ApiProblem, NoAnswer, type Fetch } from '#lib/api/client.ts';
import { getPublished } from '#lib/api/publication.ts';
import { dayWords } from './facts.ts';
import type { Version } from './links.ts';

export interface OpenPublication {
  view: PublishedView;
  publication: Publication;
  /** Was one version asked for by its number? */
  fixed: boolean;
}

/** A publication for a reader's page; what is gone, or never was, leads to a page that says so calmly. */
export async function openPublication(fetch: Fetch, address: string, url: URL): Promise<OpenPublication> {
  const asked = url.searchParams.get('version');
  if (asked !== null && !/^[1-9]\d{0,5}$/.test(asked)) error(404, 'Versions have whole numbers, from 1.');
  const view = await readPublished(fetch, address, asked === null ? '' : `?version=${asked}`);
  if (view.state === 'withdrawn' || view.publication === null) {
    error(410, view.withdrawnOn === null ? '' : `It was withdrawn on ${dayWords(view.withdrawnOn)}.`);
  }
  return { view, publication: view.publication, fixed: asked !== null };
}

/** All versions there are by now, oldest first: an answer to one version tells of those up to it. */
export async function allVersions(fetch: Fetch, { view, fixed }: OpenPublication): Promise<Version[]> {
  return fixed ? (await readPublished(fetch, view.address, '')).versions : view.versions;
}

/** An address that nobody was told is not given to search engines. */
export const robotsOf = ({ listed }: Pick<PublishedView, 'listed'>): Record<string, string> =>
  listed ? {} : { 'x-robots-tag': 'noindex' };

async function readPublished(fetch: Fetch, address: string, query: string): Promise<PublishedView> {
  try {
    return await getPublished(fetch, encodeURIComponent(address), query);
  } catch (reason) {
    if (reason instanceof ApiProblem) {
      // An address that could not be one is as unknown as any other.
      error(reason.problem.status === 400 ? 404 : reason.problem.status, reason.problem.detail);
    }
    if (reason instanceof NoAnswer) error(503, 'The server did not answer. Try again in a moment.');
    throw reason;
  }
}
