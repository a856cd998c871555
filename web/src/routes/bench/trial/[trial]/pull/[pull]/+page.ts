import { error } from '@sveltejs/kit';
import { orElsewhere } from '#lib/api/page-load.ts';
import { getPulls } from '#lib/api/pull.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const pulls = await orElsewhere(getPulls(fetch, params.trial), url);
  if (!pulls.pulls.some(({ id }) => id === params.pull)) error(404, 'There is no such pull in this trial.');
  return { pulls };
};
