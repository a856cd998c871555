import { citedTitle } from '@oddglass/shared/publication/citation.ts';
import { linksOf } from '#lib/publication/links.ts';
import { allVersions, openPublication, robotsOf } from '#lib/publication/open.ts';
import type { PageServerLoad } from './$types';

/** Only what leads to the data: the reader's browser fetches those itself, as anybody can. */
export const load: PageServerLoad = async ({ fetch, params, url, setHeaders }) => {
  const open = await openPublication(fetch, params.address, url);
  const { view, publication } = open;
  // The data are frozen; the page is asked for again each time, for a newer version may stand beside it, or a tombstone.
  setHeaders({ 'cache-control': 'public, no-cache', ...robotsOf(view) });
  return {
    title: citedTitle(publication),
    version: publication.version,
    seals: publication.sessions.map(({ title, seal }) => ({ title, fingerprint: seal.fingerprint })),
    links: linksOf(view, await allVersions(fetch, open), publication.version),
  };
};
