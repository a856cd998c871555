import { getActor } from '#lib/api/account.ts';
import { ApiProblem } from '#lib/api/client.ts';
import { orElsewhere } from '#lib/api/page-load.ts';
import type { ActorView } from '@oddglass/shared/contracts/account.ts';
import type { LayoutLoad } from './$types';

/** Who is signed in; null on the pages that a stranger may open. */
export const load: LayoutLoad = async ({ fetch, url }) => {
  const known = getActor(fetch).catch((reason: unknown): ActorView | null => {
    if (reason instanceof ApiProblem && reason.problem.status === 401) return null;
    throw reason;
  });
  return { actor: await orElsewhere(known, url) };
};
