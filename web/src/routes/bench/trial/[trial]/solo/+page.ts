import { orElsewhere } from '#lib/api/page-load.ts';
import { getTrial } from '#lib/api/trial.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => ({
  trial: await orElsewhere(getTrial(fetch, params.trial), url),
});
