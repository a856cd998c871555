import { appendEvent } from '@oddglass/db/queries/event.ts';
import { insertSafety } from '@oddglass/db/queries/safety.ts';
import { listSessionsOfTrial, moveSession, type Session } from '@oddglass/db/queries/session.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { SafetyFacts } from '@oddglass/shared/contracts/safety.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { trialFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import { inSession, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { judgeArms } from '../../session-data/arm-safety.ts';
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
  const id = randomUuid(deps.random);
  await insertSafety(deps.db, { ...facts, id, armId, writtenBy: actor.id, writtenAt: deps.clock() });
  for (const { id: sessionId, state } of await listSessionsOfTrial(deps.db, trialId)) {
    if (state === 'open') await inSession(deps, sessionId, (tx, session) => stopOrGoOn(deps, tx, session));
  }
  return readTrial(deps, actor, trialId);
}

async function stopOrGoOn(deps: Deps, tx: Db, session: Session): Promise<void> {
  if (session.state !== 'open' || !session.openedAt) return;
  const now = deps.clock();
  const openedAt = session.openedAt.getTime();
  const judged = await judgeArms(tx, session, now);
  const grave = judged.some(({ writtenAt, verdict }) => {
    // That nobody has looked again since it was opened stops nothing.
    if (writtenAt === null || Date.parse(writtenAt) < openedAt) return false;
    return verdict === 'refuse' || (verdict === 'smell' && !session.smellOnly);
  });
  if (grave === (session.stoppedAt !== null)) return;
  await moveSession(tx, session.id, { stoppedAt: grave ? now : null });
  await appendEvent(tx, session.id, { kind: grave ? 'tasting-stopped' : 'tasting-resumed' }, now);
}
