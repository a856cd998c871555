import { appendEvent } from '@oddglass/db/queries/event.ts';
import { listSessionsOfTrial, lockSession, moveSession, type Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import { judgeSafety } from '@oddglass/shared/rules/safety-gate.ts';
import type { Deps } from '../deps.ts';
import { armsOnTable } from './arm-safety.ts';

/**
 * Writes something that says what an arm is like, a look or a reading, in one transaction with what follows from it: a
 * tasting of the trial that is open is stopped, or goes on.
 */
export async function underWatch<T>(deps: Deps, trialId: string, write: (tx: Db) => Promise<T>): Promise<T> {
  const sessions = await listSessionsOfTrial(deps.db, trialId);
  const { written, changed } = await deps.db.transaction(async (tx) => {
    // Locked first, so that a tasting that is being opened either is judged by this or is stopped by it.
    const held: Session[] = [];
    for (const sessionId of sessions.map((session) => session.id).sort()) {
      const session = await lockSession(tx, sessionId);
      if (session) held.push(session);
    }
    const written = await write(tx);
    const changed: string[] = [];
    for (const session of held) if (await stopOrGoOn(deps, tx, session)) changed.push(session.id);
    return { written, changed };
  });
  for (const sessionId of changed) deps.live.touch(sessionId);
  return written;
}

/** Stops an open tasting for what was noted or read since it was opened, or lets it go on; true when that changed. */
async function stopOrGoOn(deps: Deps, tx: Db, session: Session): Promise<boolean> {
  if (session.state !== 'open' || !session.openedAt) return false;
  const openedAt = session.openedAt.getTime();
  const grave = (await armsOnTable(tx, session)).some(({ abv, facts, asOf }) => {
    if (!facts || asOf === null || Date.parse(asOf) < openedAt) return false;
    // As of when it was noted or read: that nobody has looked again since stops nothing.
    const { verdict } = judgeSafety({ abv, facts: { ...facts, writtenAt: asOf } }, new Date(asOf));
    return verdict === 'refuse' || (verdict === 'smell' && !session.smellOnly);
  });
  if (grave === (session.stoppedAt !== null)) return false;
  const now = deps.clock();
  await moveSession(tx, session.id, { stoppedAt: grave ? now : null });
  await appendEvent(tx, session.id, { kind: grave ? 'tasting-stopped' : 'tasting-resumed' }, now);
  return true;
}
