import { orElsewhere } from '#lib/api/page-load.ts';
import { getStory } from '#lib/api/story.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => ({
  story: await orElsewhere(getStory(fetch, params.trial), url),
});
