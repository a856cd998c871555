import { orElsewhere } from '#lib/api/page-load.ts';
import { getPublications } from '#lib/api/publication.ts';
import { getTrial } from '#lib/api/trial.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const [trial, { publications, publicOrigin = null }] = await orElsewhere(
    Promise.all([getTrial(fetch, params.trial), getPublications(fetch, params.trial)]),
    url,
  );
  return { trial, publications, origin: url.origin, publicOrigin };
};
