import type { ArmChange, DeviationView } from '@oddglass/shared/contracts/trial.ts';
import { armsOfParts } from '@oddglass/shared/rules/parts.ts';
import { and, asc, eq, inArray, ne } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { session } from '../schema/session.ts';
import { arm, deviation, trial } from '../schema/trial.ts';

export type Trial = typeof trial.$inferSelect;
export type Arm = typeof arm.$inferSelect;

export async function insertTrial(db: Db, row: Trial, arms: Arm[]): Promise<void> {
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

/** Arms of the trial that take part in a session past its draft: their names are sealed. */
export async function listSealedArmIds(db: Db, trialId: string): Promise<Set<string>> {
  const rows = await db
    .select({ settings: session.settings })
    .from(session)
    .where(and(eq(session.trialId, trialId), ne(session.state, 'draft')));
  return new Set(rows.flatMap(({ settings }) => armsOfParts(settings.parts)));
}

/** Serialises changes to the arms of a trial with sealing a session of it. */
export async function lockTrial(db: Db, id: string): Promise<void> {
  await db.select({ id: trial.id }).from(trial).where(eq(trial.id, id)).for('update');
}

export async function updateArm(db: Db, armId: string, change: ArmChange): Promise<void> {
  if (Object.keys(change).length === 0) return;
  await db.update(arm).set(change).where(eq(arm.id, armId));
}

export async function insertDeviation(db: Db, row: typeof deviation.$inferInsert): Promise<void> {
  await db.insert(deviation).values(row);
}

/** Deviation notes by arm, oldest first. */
export async function listDeviations(
  db: Db,
  armIds: string[],
): Promise<(DeviationView & { armId: string })[]> {
  const rows = await db
    .select({
      armId: deviation.armId,
      id: deviation.id,
      on: deviation.on,
      note: deviation.note,
      writtenBy: account.name,
      writtenAt: deviation.writtenAt,
    })
    .from(deviation)
    .leftJoin(account, eq(account.id, deviation.writtenBy))
    .where(inArray(deviation.armId, armIds))
    .orderBy(asc(deviation.on), asc(deviation.writtenAt));
  return rows.map((row) => ({
    ...row,
    writtenBy: row.writtenBy ?? 'someone who left',
    writtenAt: row.writtenAt.toISOString(),
  }));
}
