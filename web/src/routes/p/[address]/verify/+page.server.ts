import { citedTitle } from '@oddglass/shared/publication/citation.ts';
import { linksOf } from '#lib/publication/links.ts';
import { allVersions, openPublication } from '#lib/publication/open.ts';
import type { PageServerLoad } from './$types';

/** Only what leads to the data: the reader's browser fetches those itself, as anybody can. */
export const load: PageServerLoad = async ({ fetch, params, url, setHeaders }) => {
  const open = await openPublication(fetch, params.address, url);
  const { view, publication } = open;
  setHeaders({ 'cache-control': 'public, max-age=300' });
  return {
    title: citedTitle(publication),
    version: publication.version,
    seals: publication.sessions.map(({ title, seal }) => ({ title, fingerprint: seal.fingerprint })),
    links: linksOf(view, await allVersions(fetch, open), publication.version),
  };
};
