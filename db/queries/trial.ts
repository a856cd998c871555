import type { ChangeView } from '@oddglass/shared/contracts/trial.ts';
import { armsOfParts } from '@oddglass/shared/rules/parts.ts';
import { and, asc, desc, eq, isNull, ne } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { session } from '../schema/session.ts';
import { soloSeries } from '../schema/solo.ts';
import { arm, trial, trialChange } from '../schema/trial.ts';

export type Trial = typeof trial.$inferSelect;
export type Arm = typeof arm.$inferSelect;

export async function insertTrial(db: Db, row: typeof trial.$inferInsert, arms: Arm[]): Promise<void> {
  await db.insert(trial).values(row);
  await db.insert(arm).values(arms);
}

export async function findTrial(db: Db, id: string): Promise<Trial | undefined> {
  const [row] = await db.select().from(trial).where(eq(trial.id, id));
  return row;
}

export async function listArms(db: Db, trialId: string): Promise<Arm[]> {
  return db.select().from(arm).where(eq(arm.trialId, trialId)).orderBy(asc(arm.position));
}

/** Arms of the trial that take part in a session past its draft, or in a solo series: their names are sealed. */
export async function listSealedArmIds(db: Db, trialId: string): Promise<Set<string>> {
  const rows = await db
    .select({ settings: session.settings })
    .from(session)
    .where(and(eq(session.trialId, trialId), ne(session.state, 'draft'), isNull(session.rehearsal)));
  const alone = await db
    .select({ settings: soloSeries.settings })
    .from(soloSeries)
    .where(eq(soloSeries.trialId, trialId));
  return new Set([
    ...rows.flatMap(({ settings }) => armsOfParts(settings.parts)),
    ...alone.flatMap(({ settings }) => settings.armIds),
  ]);
}

/** Serialises changes to the arms of a trial with sealing a session of it. */
export async function lockTrial(db: Db, id: string): Promise<void> {
  await db.select({ id: trial.id }).from(trial).where(eq(trial.id, id)).for('update');
}

export async function insertArm(db: Db, row: Arm): Promise<void> {
  await db.insert(arm).values(row);
}

export async function updateArm(
  db: Db,
  armId: string,
  change: Partial<Omit<Arm, 'id' | 'trialId' | 'position' | 'volumeMl'>>,
): Promise<void> {
  if (Object.keys(change).length === 0) return;
  await db.update(arm).set(change).where(eq(arm.id, armId));
}

export async function updateTrial(
  db: Db,
  trialId: string,
  change: Partial<Omit<Trial, 'id' | 'panelId' | 'createdAt'>>,
): Promise<void> {
  if (Object.keys(change).length === 0) return;
  await db.update(trial).set(change).where(eq(trial.id, trialId));
}

export async function insertChanges(db: Db, rows: (typeof trialChange.$inferInsert)[]): Promise<void> {
  if (rows.length > 0) await db.insert(trialChange).values(rows);
}

/** What was written over, newest first. */
export async function listChanges(db: Db, trialId: string): Promise<ChangeView[]> {
  const rows = await db
    .select({
      arm: arm.name,
      field: trialChange.field,
      before: trialChange.before,
      after: trialChange.after,
      writtenBy: account.name,
      writtenAt: trialChange.writtenAt,
    })
    .from(trialChange)
    .leftJoin(arm, eq(arm.id, trialChange.armId))
    .leftJoin(account, eq(account.id, trialChange.writtenBy))
    .where(eq(trialChange.trialId, trialId))
    .orderBy(desc(trialChange.number));
  return rows.map((row) => ({
    ...row,
    writtenBy: row.writtenBy ?? 'someone who left',
    writtenAt: row.writtenAt.toISOString(),
  }));
}
