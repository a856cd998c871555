import { orElsewhere } from '#lib/api/page-load.ts';
import { getSeal, getSession } from '#lib/api/session.ts';
import { orClosed } from '#lib/pour/closed.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const [session, seal] = await orElsewhere(
    Promise.all([
      getSession(fetch, params.session),
      orClosed(getSeal(fetch, params.session), ['wrong-state', 'not-allowed']),
    ]),
    url,
  );
  return { session, seal: seal.open, closed: seal.closed };
};
