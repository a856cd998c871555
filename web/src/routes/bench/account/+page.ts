import { getActor } from '#lib/api/account.ts';
import { orElsewhere } from '#lib/api/page-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, url }) => ({
  actor: await orElsewhere(getActor(fetch), url),
});
