import { citedTitle } from '@oddglass/shared/publication/citation.ts';
import { openPublication } from '#lib/publication/open.ts';
import script from 'virtual:verifier';
import type { PageServerLoad } from './$types';

export const csr = false;

export const load: PageServerLoad = async ({ fetch, params, url, setHeaders }) => {
  const { view, publication } = await openPublication(fetch, params.address, url);
  setHeaders({ 'cache-control': 'public, no-cache', 'x-robots-tag': 'noindex' });
  return {
    title: citedTitle(publication),
    version: publication.version,
    seals: publication.sessions.map(({ title, seal }) => ({ title, fingerprint: seal.fingerprint })),
    digest: view.digest,
    script,
  };
};
