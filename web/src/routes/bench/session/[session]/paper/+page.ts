import { orElsewhere } from '#lib/api/page-load.ts';
import { getPrint } from '#lib/api/paper.ts';
import { getSession } from '#lib/api/session.ts';
import { seatsAsked } from '#lib/paper/seats-asked.ts';
import { orClosed } from '#lib/pour/closed.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const asked = seatsAsked(url.searchParams);
  const [session, print] = await orElsewhere(
    Promise.all([
      getSession(fetch, params.session),
      orClosed(getPrint(fetch, params.session, asked), ['not-allowed', 'wrong-state']),
    ]),
    new URL(url.pathname, url),
  );
  return { session, print: print.open, closed: print.closed, asked };
};
