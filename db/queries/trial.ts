import type { ArmChange } from '@oddglass/shared/contracts/trial.ts';
import { armsOfParts } from '@oddglass/shared/rules/parts.ts';
import { and, asc, eq, ne } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { session } from '../schema/session.ts';
import { arm, trial } from '../schema/trial.ts';

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
