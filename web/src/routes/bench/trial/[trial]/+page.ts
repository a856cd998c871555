import { orElsewhere } from '#lib/api/page-load.ts';
import { listSolo } from '#lib/api/solo.ts';
import { getTrial } from '#lib/api/trial.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const [trial, alone] = await orElsewhere(
    Promise.all([getTrial(fetch, params.trial), listSolo(fetch, params.trial)]),
    url,
  );
  return { trial, alone: alone.series };
};
