import { getActor, getSignIns } from '#lib/api/account.ts';
import { getSecondFactors } from '#lib/api/passkey.ts';
import { orElsewhere } from '#lib/api/page-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, url }) => {
  const [actor, { signIns }, secondFactors] = await orElsewhere(
    Promise.all([getActor(fetch), getSignIns(fetch), getSecondFactors(fetch)]),
    url,
  );
  return { actor, signIns, secondFactors };
};
