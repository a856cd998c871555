import { linksOf } from '#lib/publication/links.ts';
import { allVersions, openPublication } from '#lib/publication/open.ts';
import type { PageServerLoad } from './$types';

/** An article: nothing on it needs scripts, and nothing of it is sent twice. */
export const csr = false;

export const load: PageServerLoad = async ({ fetch, params, url, setHeaders }) => {
  const open = await openPublication(fetch, params.address, url);
  const { view, publication } = open;
  const versions = await allVersions(fetch, open);
  // The data are frozen; the page is asked for again each time, for a newer version may stand beside it, or a tombstone.
  setHeaders({ 'cache-control': 'public, no-cache' });
  const links = linksOf(view, versions, publication.version);
  return {
    address: view.address,
    versions,
    publication,
    links,
    url: url.origin + links.page,
    origin: url.origin,
  };
};
