import { asc, desc, eq, inArray } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { soloAnswer, soloLock, soloMoment, soloSeries, soloStood } from '../schema/solo.ts';

export type SoloSeries = typeof soloSeries.$inferSelect & { by: string };
export type SoloAnswerRow = typeof soloAnswer.$inferSelect;
export type SoloLockRow = typeof soloLock.$inferSelect;
export type SoloStoodRow = typeof soloStood.$inferSelect & { by: string };
export type SoloMomentRow = typeof soloMoment.$inferSelect;

const LEFT = 'someone who left';

/** False when its id is taken already. */
export async function insertSoloSeries(db: Db, row: typeof soloSeries.$inferInsert): Promise<boolean> {
  const made = await db.insert(soloSeries).values(row).onConflictDoNothing().returning({ id: soloSeries.id });
  return made.length > 0;
}

export async function findSoloSeries(db: Db, id: string): Promise<SoloSeries | undefined> {
  const [row] = await db
    .select({ series: soloSeries, by: account.name })
    .from(soloSeries)
    .leftJoin(account, eq(account.id, soloSeries.accountId))
    .where(eq(soloSeries.id, id));
  return row && { ...row.series, by: row.by ?? LEFT };
}

/** Newest first. */
export async function listSoloSeries(db: Db, trialId: string): Promise<SoloSeries[]> {
  const rows = await db
    .select({ series: soloSeries, by: account.name })
    .from(soloSeries)
    .leftJoin(account, eq(account.id, soloSeries.accountId))
    .where(eq(soloSeries.trialId, trialId))
    .orderBy(desc(soloSeries.sealedAt), asc(soloSeries.id));
  return rows.map(({ series, by }) => ({ ...series, by: by ?? LEFT }));
}

/** Serialises what is written to a series. */
export async function lockSoloSeries(db: Db, id: string): Promise<void> {
  await db.select({ id: soloSeries.id }).from(soloSeries).where(eq(soloSeries.id, id)).for('update');
}

/** All that was written of these series. */
export interface SoloRows {
  answers: SoloAnswerRow[];
  locks: SoloLockRow[];
  stood: SoloStoodRow[];
  moments: SoloMomentRow[];
}

export async function listSoloRows(db: Db, seriesIds: string[]): Promise<SoloRows> {
  // One after the other: a transaction has one connection.
  const answers = await db
    .select()
    .from(soloAnswer)
    .where(inArray(soloAnswer.seriesId, seriesIds))
    .orderBy(asc(soloAnswer.tray));
  const locks = await db
    .select()
    .from(soloLock)
    .where(inArray(soloLock.seriesId, seriesIds))
    .orderBy(asc(soloLock.at), asc(soloLock.tray));
  const stood = await db
    .select({ row: soloStood, by: account.name })
    .from(soloStood)
    .leftJoin(account, eq(account.id, soloStood.writtenBy))
    .where(inArray(soloStood.seriesId, seriesIds))
    .orderBy(asc(soloStood.writtenAt));
  const moments = await db.select().from(soloMoment).where(inArray(soloMoment.seriesId, seriesIds));
  return { answers, locks, stood: stood.map(({ row, by }) => ({ ...row, by: by ?? LEFT })), moments };
}

export async function insertSoloAnswer(db: Db, row: typeof soloAnswer.$inferInsert): Promise<void> {
  await db.insert(soloAnswer).values(row);
}

/** Written once; a second time changes nothing. */
export async function insertSoloLock(db: Db, row: typeof soloLock.$inferInsert): Promise<void> {
  await db.insert(soloLock).values(row).onConflictDoNothing();
}

/** Written once; a second time changes nothing. */
export async function insertSoloMoment(db: Db, row: SoloMomentRow): Promise<void> {
  await db.insert(soloMoment).values(row).onConflictDoNothing();
}

export async function insertSoloStood(db: Db, row: typeof soloStood.$inferInsert): Promise<void> {
  await db.insert(soloStood).values(row);
}

/** Is this id taken by an answer, of whatever series? */
export async function isSoloAnswerId(db: Db, id: string): Promise<boolean> {
  const rows = await db.select({ id: soloAnswer.id }).from(soloAnswer).where(eq(soloAnswer.id, id));
  return rows.length > 0;
}

/** Is this id taken by an entry of what stood where, of whatever series? */
export async function isSoloStoodId(db: Db, id: string): Promise<boolean> {
  const rows = await db.select({ id: soloStood.id }).from(soloStood).where(eq(soloStood.id, id));
  return rows.length > 0;
}
