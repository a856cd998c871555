import type { Db } from '@oddglass/db/client.ts';
import { findSession, lockSession, type Session } from '@oddglass/db/queries/session.ts';
import type { RandomSource } from '@oddglass/shared/ground/random.ts';
import type { Limits } from './guard/attempts.ts';
import type { SecurityLog } from './guard/security-log.ts';
import type { SignInLasts } from './guard/sign-in-time.ts';
import type { Turns } from './guard/turns.ts';
import type { Analyst } from './analyst/analyst.ts';
import type { LiveHub } from './live/live-hub.ts';
import type { OpenSockets } from './live/open-sockets.ts';
import type { Editions } from './readers/editions.ts';
import { problem } from './refusal/problem.ts';

/** What every service is handed: nothing reaches for a clock, a random source or a pool by itself. */
export interface Deps {
  db: Db;
  clock: () => Date;
  random: RandomSource;
  live: LiveHub;
  analyst: Analyst;
  editions: Editions;
  limits: Limits;
  security: SecurityLog;
  signInLasts: SignInLasts;
  sockets: OpenSockets;
  turns: Turns;
}

/**
 * One transaction on a session: the row is locked first, so that facts and their events are written one
 * after another, and boards are woken once it is on disk.
 */
export async function inSession<T>(
  deps: Deps,
  sessionId: string,
  work: (tx: Db, session: Session) => Promise<T>,
): Promise<T> {
  const result = await deps.db.transaction(async (tx) => {
    const session = await lockSession(tx, sessionId);
    if (!session) throw problem('not-found');
    return work(tx, session);
  });
  deps.live.touch(sessionId);
  return result;
}

/** The session, or a problem as if it did not exist. */
export async function sessionOrProblem(db: Db, sessionId: string): Promise<Session> {
  const session = await findSession(db, sessionId);
  if (!session) throw problem('not-found');
  return session;
}
