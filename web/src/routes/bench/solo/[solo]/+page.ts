import { orElsewhere } from '#lib/api/page-load.ts';
import { getSolo } from '#lib/api/solo.ts';
import { getTrial } from '#lib/api/trial.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const series = await orElsewhere(getSolo(fetch, params.solo), url);
  return { series, trial: await orElsewhere(getTrial(fetch, series.trialId), url) };
};
