import type { SessionEvent, SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import { and, asc, desc, eq, gt, sql } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { session, sessionEvent } from '../schema/session.ts';

/**
 * Appends to the session's log. The row lock on the session orders the writers, so that
 * a reader who has seen number n will never find a smaller one later.
 */
export async function appendEvent(
  db: Db,
  sessionId: string,
  event: SessionEventBody,
  at: Date,
): Promise<number> {
  const [row] = await db
    .update(session)
    .set({ lastSeq: sql`${session.lastSeq} + 1` })
    .where(eq(session.id, sessionId))
    .returning({ seq: session.lastSeq });
  if (!row) throw new Error(`no session ${sessionId} to write an event to`);
  await db.insert(sessionEvent).values({ sessionId, seq: row.seq, at, event });
  return row.seq;
}

/** The total of poured cups that was told last. */
export async function lastToldPoured(db: Db, sessionId: string): Promise<number> {
  const [row] = await db
    .select({ event: sessionEvent.event })
    .from(sessionEvent)
    .where(and(eq(sessionEvent.sessionId, sessionId), sql`${sessionEvent.event} ->> 'kind' = 'poured'`))
    .orderBy(desc(sessionEvent.seq))
    .limit(1);
  return row?.event.kind === 'poured' ? row.event.cups : 0;
}

/** Events after `seq`, in order. */
export async function listEvents(
  db: Db,
  sessionId: string,
  afterSeq = 0,
  limit = 100_000,
): Promise<SessionEvent[]> {
  const rows = await db
    .select({ seq: sessionEvent.seq, at: sessionEvent.at, event: sessionEvent.event })
    .from(sessionEvent)
    .where(and(eq(sessionEvent.sessionId, sessionId), gt(sessionEvent.seq, afterSeq)))
    .orderBy(asc(sessionEvent.seq))
    .limit(limit);
  return rows.map((row) => ({ ...row, at: row.at.toISOString() }));
}
