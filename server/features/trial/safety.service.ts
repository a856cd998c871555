import { appendEvent } from '@oddglass/db/queries/event.ts';
import { insertSafety } from '@oddglass/db/queries/safety.ts';
import { listSessionsOfTrial, lockSession, moveSession, type Session } from '@oddglass/db/queries/session.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { SafetyFacts } from '@oddglass/shared/contracts/safety.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { judgeSafety } from '@oddglass/shared/rules/safety-gate.ts';
import { trialFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { armsOnTable } from '../../session-data/arm-safety.ts';
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
  const sessions = await listSessionsOfTrial(deps.db, trialId);
  const stirred = await deps.db.transaction(async (tx) => {
    // Locked first, so that a tasting that is being opened either is judged by this or is stopped by it.
    const held: Session[] = [];
    for (const sessionId of sessions.map((session) => session.id).sort()) {
      const session = await lockSession(tx, sessionId);
      if (session) held.push(session);
    }
    const writtenAt = deps.clock();
    await insertSafety(tx, { ...facts, id: randomUuid(deps.random), armId, writtenBy: actor.id, writtenAt });
    const changed: string[] = [];
    for (const session of held) if (await stopOrGoOn(deps, tx, session)) changed.push(session.id);
    return changed;
  });
  for (const sessionId of stirred) deps.live.touch(sessionId);
  return readTrial(deps, actor, trialId);
}

/** Stops an open tasting for what was noted since it was opened, or lets it go on; true when that changed. */
async function stopOrGoOn(deps: Deps, tx: Db, session: Session): Promise<boolean> {
  if (session.state !== 'open' || !session.openedAt) return false;
  const openedAt = session.openedAt.getTime();
  const grave = (await armsOnTable(tx, session)).some(({ abv, facts }) => {
    if (!facts || Date.parse(facts.writtenAt) < openedAt) return false;
    // As of when it was noted: that nobody has looked again since stops nothing.
    const { verdict } = judgeSafety({ abv, facts }, new Date(facts.writtenAt));
    return verdict === 'refuse' || (verdict === 'smell' && !session.smellOnly);
  });
  if (grave === (session.stoppedAt !== null)) return false;
  const now = deps.clock();
  await moveSession(tx, session.id, { stoppedAt: grave ? now : null });
  await appendEvent(tx, session.id, { kind: grave ? 'tasting-stopped' : 'tasting-resumed' }, now);
  return true;
}
