import { orElsewhere } from '#lib/api/page-load.ts';
import { listSolo } from '#lib/api/solo.ts';
import { getStory } from '#lib/api/story.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const [story, alone] = await orElsewhere(
    Promise.all([getStory(fetch, params.trial), listSolo(fetch, params.trial)]),
    url,
  );
  return { story, alone: alone.series.filter(({ over }) => over) };
};
