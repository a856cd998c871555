import { orElsewhere } from '#lib/api/page-load.ts';
import { getPulls } from '#lib/api/pull.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => ({
  pulls: await orElsewhere(getPulls(fetch, params.trial), url),
});
