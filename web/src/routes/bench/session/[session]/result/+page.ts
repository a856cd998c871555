import { orElsewhere } from '#lib/api/page-load.ts';
import { getRehearsal } from '#lib/api/rehearsal.ts';
import { getResult } from '#lib/api/session.ts';
import { orClosed } from '#lib/pour/closed.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const result = await orElsewhere(
    orClosed(getResult(fetch, params.session), ['not-revealed', 'wrong-state']),
    url,
  );
  const rehearsal = result.open?.session.rehearsal
    ? await orElsewhere(getRehearsal(fetch, params.session), url)
    : null;
  return { result: result.open, closed: result.closed, rehearsal };
};
