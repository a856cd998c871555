import { openList } from '#lib/folder/open-list.ts';
import type { PageServerLoad } from './$types';

export const csr = false;

export const load: PageServerLoad = async ({ fetch, params, setHeaders }) => {
  const list = await openList(fetch, params.panel);
  setHeaders({ 'cache-control': 'public, max-age=60, must-revalidate' });
  const api = `/api/p/list/${list.panelId}`;
  return { list, index: { json: `${api}/index.json`, csv: `${api}/index.csv` }, feed: `${api}/atom.xml` };
};
