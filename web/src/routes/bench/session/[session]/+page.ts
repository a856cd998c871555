import { orElsewhere } from '#lib/api/page-load.ts';
import { getRehearsal } from '#lib/api/rehearsal.ts';
import { getBoard, getSession } from '#lib/api/session.ts';
import { getTrial } from '#lib/api/trial.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, params, url }) => {
  const session = await orElsewhere(getSession(fetch, params.session), url);
  const [trial, board, rehearsal] = await orElsewhere(
    Promise.all([
      getTrial(fetch, session.trialId),
      session.state === 'draft' ? null : getBoard(fetch, session.id),
      session.rehearsal ? getRehearsal(fetch, session.id) : null,
    ]),
    url,
  );
  return { session, trial, board, rehearsal };
};
