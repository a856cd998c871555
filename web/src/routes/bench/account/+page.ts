import { getActor, getSignIns } from '#lib/api/account.ts';
import { orElsewhere } from '#lib/api/page-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, url }) => {
  const [actor, { signIns }] = await orElsewhere(Promise.all([getActor(fetch), getSignIns(fetch)]), url);
  return { actor, signIns };
};
