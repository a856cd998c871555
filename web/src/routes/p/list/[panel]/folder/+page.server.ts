import { openList } from '#lib/folder/open-list.ts';
import type { PageServerLoad } from './$types';

/** The list as it lies in a folder, with the folders of its publications beside it. */
export const csr = false;

export const load: PageServerLoad = async ({ fetch, params, setHeaders }) => {
  const list = await openList(fetch, params.panel);
  setHeaders({ 'cache-control': 'public, no-cache', 'x-robots-tag': 'noindex' });
  return { list };
};
