import { insertSafety } from '@oddglass/db/queries/safety.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { SafetyFacts } from '@oddglass/shared/contracts/safety.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { trialFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { underWatch } from '../../session-data/tasting-watch.ts';
import { readTrial } from './trial.service.ts';

/** What somebody saw and measured of an arm; a tasting that is open is stopped, or goes on, by it. */
export async function noteSafety(
  deps: Deps,
  actor: Actor,
  trialId: string,
  armId: string,
  facts: SafetyFacts,
): Promise<TrialView> {
  // Hosts and stewards alike: whoever opens a bottle may be the first to see it.
  await trialFor(deps.db, actor, trialId);
  const arms = await listArms(deps.db, trialId);
  if (!arms.some(({ id }) => id === armId)) throw problem('not-found');
  await underWatch(deps, trialId, (tx) =>
    insertSafety(tx, {
      ...facts,
      id: randomUuid(deps.random),
      armId,
      writtenBy: actor.id,
      writtenAt: deps.clock(),
    }),
  );
  return readTrial(deps, actor, trialId);
}
