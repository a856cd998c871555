import { listedFinding } from '@oddglass/shared/analysis/reveal-record.ts';
import type { RehearsalRecord } from '@oddglass/shared/contracts/rehearsal.ts';
import type { SessionSummary, SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { and, desc, eq, inArray, isNotNull, isNull, like, or, type SQL } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { session } from '../schema/session.ts';

export type Session = typeof session.$inferSelect;

export async function insertSession(db: Db, row: typeof session.$inferInsert): Promise<void> {
  await db.insert(session).values(row);
}

export async function findSession(db: Db, id: string): Promise<Session | undefined> {
  const [row] = await db.select().from(session).where(eq(session.id, id));
  return row;
}

/** The session, locked until the transaction ends: whoever moves it or writes its log goes one after another. */
export async function lockSession(db: Db, id: string): Promise<Session | undefined> {
  const [row] = await db.select().from(session).where(eq(session.id, id)).for('update');
  return row;
}

export async function updateDraft(db: Db, id: string, settings: SessionSettings): Promise<void> {
  await db.update(session).set({ settings }).where(eq(session.id, id));
}

/** Deletes what nobody has to keep: a draft, or a rehearsal as it stands. */
export async function deleteUnkept(db: Db, id: string): Promise<void> {
  const unkept = or(eq(session.state, 'draft'), isNotNull(session.rehearsal));
  await db.delete(session).where(and(eq(session.id, id), unkept));
}

/** How far the simulated people of a rehearsal came; nothing where it was deleted meanwhile. */
export async function setRehearsal(db: Db, id: string, rehearsal: RehearsalRecord): Promise<void> {
  await db
    .update(session)
    .set({ rehearsal })
    .where(and(eq(session.id, id), isNotNull(session.rehearsal)));
}

type Move = Partial<
  Pick<
    Session,
    | 'state'
    | 'root'
    | 'sealedAt'
    | 'openedAt'
    | 'closedAt'
    | 'revealedAt'
    | 'answersRoot'
    | 'revealRecord'
    | 'joinCode'
    | 'joinToken'
    | 'blinding'
    | 'vocabularyVersion'
    | 'vocabularyEdition'
    | 'smellOnly'
    | 'stoppedAt'
    | 'keyWatched'
    | 'trialWords'
    | 'wave'
  >
>;

export async function moveSession(db: Db, id: string, move: Move): Promise<Session> {
  const [row] = await db.update(session).set(move).where(eq(session.id, id)).returning();
  if (!row) throw new Error(`session ${id} vanished while it was locked`);
  return row;
}

export async function findSessionByJoin(
  db: Db,
  way: { token: string } | { code: string },
): Promise<Session | undefined> {
  const match = 'token' in way ? eq(session.joinToken, way.token) : eq(session.joinCode, way.code);
  const [row] = await db
    .select()
    .from(session)
    .where(and(match, eq(session.state, 'open')));
  return row;
}

/** Sessions whose root begins so (hex). */
export async function findSessionsByRoot(db: Db, start: string): Promise<Session[]> {
  return db
    .select()
    .from(session)
    .where(like(session.root, `${start}%`))
    .limit(2);
}

async function listSummaries(db: Db, where: SQL | undefined): Promise<SessionSummary[]> {
  const rows = await db
    .select({
      id: session.id,
      trialId: session.trialId,
      settings: session.settings,
      state: session.state,
      createdAt: session.createdAt,
      record: session.revealRecord,
    })
    .from(session)
    .where(where)
    .orderBy(desc(session.createdAt), session.id);
  return rows.map(({ settings, createdAt, record, ...row }) => ({
    ...row,
    findings: record?.parts.map((part) => listedFinding(part, settings.parts[part.part - 1])) ?? [],
    title: settings.title,
    kinds: settings.parts.map(({ kind }) => kind),
    createdAt: createdAt.toISOString(),
  }));
}

// A rehearsal is no tasting: it stands in none of these.
const tasted = isNull(session.rehearsal);

export const listSessionsOfPanel = (db: Db, panelId: string) =>
  listSummaries(db, and(eq(session.panelId, panelId), tasted));
export const listSessionsOfTrial = (db: Db, trialId: string) =>
  listSummaries(db, and(eq(session.trialId, trialId), tasted));
export const listRehearsalsOfTrial = (db: Db, trialId: string) =>
  listSummaries(db, and(eq(session.trialId, trialId), isNotNull(session.rehearsal)));

/** Settings of the tastings of a trial that are sealed and not revealed. */
export async function listPlannedOfTrial(db: Db, trialId: string): Promise<SessionSettings[]> {
  const rows = await db
    .select({ settings: session.settings })
    .from(session)
    .where(and(eq(session.trialId, trialId), tasted, inArray(session.state, ['sealed', 'open', 'closed'])));
  return rows.map(({ settings }) => settings);
}

/** How many tastings of a trial were sealed, and how many revealed. */
export async function countTastings(db: Db, trialId: string): Promise<{ sealed: number; revealed: number }> {
  const rows = await db
    .select({ root: session.root, revealedAt: session.revealedAt })
    .from(session)
    .where(and(eq(session.trialId, trialId), tasted));
  return {
    sealed: rows.filter(({ root }) => root !== null).length,
    revealed: rows.filter(({ revealedAt }) => revealedAt !== null).length,
  };
}
