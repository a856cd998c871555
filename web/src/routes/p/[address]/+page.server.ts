import { linkHeader, linksOf } from '#lib/publication/links.ts';
import { allVersions, openPublication, robotsOf } from '#lib/publication/open.ts';
import type { PageServerLoad } from './$types';

/** An article: nothing on it needs scripts, and nothing of it is sent twice. */
export const csr = false;

export const load: PageServerLoad = async ({ fetch, params, url, setHeaders }) => {
  const open = await openPublication(fetch, params.address, url);
  const { view, publication } = open;
  const versions = await allVersions(fetch, open);
  // The data are frozen; the page is asked for again each time, for a newer version may stand beside it, or a tombstone.
  const links = linksOf(view, versions, publication.version);
  setHeaders({
    'cache-control': 'public, no-cache',
    link: linkHeader(links, publication.licence),
    ...robotsOf(view),
  });
  return {
    address: view.address,
    versions,
    publication,
    links,
    url: url.origin + links.page,
    cited: view.publicOrigin ? view.publicOrigin + links.page : null,
    origin: url.origin,
  };
};
