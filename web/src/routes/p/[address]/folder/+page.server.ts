import { folderLinks } from '#lib/folder/folder-links.ts';
import { openPublication } from '#lib/publication/open.ts';
import type { PageServerLoad } from './$types';

/** The article as it lies in a folder: made to be saved, all links go to files beside it. */
export const csr = false;

export const load: PageServerLoad = async ({ fetch, params, url, setHeaders }) => {
  const { view, publication } = await openPublication(fetch, params.address, url);
  // Where it is served its links lead nowhere: search engines find the article itself.
  setHeaders({ 'cache-control': 'public, no-cache', 'x-robots-tag': 'noindex' });
  const origin = view.publicOrigin ?? null;
  return {
    publication,
    links: folderLinks(view),
    cited: origin === null ? null : `${origin}/p/${view.address}?version=${publication.version}`,
  };
};
