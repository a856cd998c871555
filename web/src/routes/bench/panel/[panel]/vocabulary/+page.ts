import { orElsewhere } from '#lib/api/page-load.ts';
import { getVocabulary } from '#lib/api/vocabulary.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => ({
  view: await orElsewhere(getVocabulary(fetch, params.panel), url),
  /** What is searched for, so that the page can be linked to and read without scripts. */
  query: url.searchParams.get('q') ?? '',
});
