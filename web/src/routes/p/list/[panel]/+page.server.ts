import { error } from '@sveltejs/kit';
import { ApiProblem, NoAnswer } from '#lib/api/client.ts';
import { getPublicList } from '#lib/api/publication.ts';
import type { PageServerLoad } from './$types';

export const csr = false;

export const load: PageServerLoad = async ({ fetch, params, setHeaders }) => {
  const list = await getPublicList(fetch, encodeURIComponent(params.panel)).catch((reason: unknown) => {
    if (reason instanceof ApiProblem) {
      error(reason.problem.status === 400 ? 404 : reason.problem.status, reason.problem.detail);
    }
    if (reason instanceof NoAnswer) error(503, 'The server did not answer. Try again in a moment.');
    throw reason;
  });
  setHeaders({ 'cache-control': 'public, max-age=300' });
  const api = `/api/p/list/${list.panelId}`;
  return { list, index: { json: `${api}/index.json`, csv: `${api}/index.csv` }, feed: `${api}/atom.xml` };
};
