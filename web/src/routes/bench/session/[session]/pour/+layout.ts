import { orElsewhere } from '#lib/api/page-load.ts';
import { getPour, getSession } from '#lib/api/session.ts';
import { orClosed } from '#lib/pour/closed.ts';
import type { LayoutLoad } from './$types';

export const load: LayoutLoad = async ({ fetch, params, url }) => {
  const path = url.pathname;
  const [session, pour] = await orElsewhere(
    Promise.all([
      getSession(fetch, params.session),
      orClosed(getPour(fetch, params.session), ['key-closed', 'not-allowed', 'wrong-state']),
    ]),
    new URL(path, url),
  );
  return { session, pour: pour.open, closed: pour.closed };
};
