import type { PullWhen } from '@oddglass/shared/contracts/pull.ts';
import { and, asc, eq, inArray } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { panel } from '../schema/panel.ts';
import { calendarAddress, pull } from '../schema/pull.ts';
import { trial } from '../schema/trial.ts';

export type PullRow = typeof pull.$inferSelect;

/** When a pull is planned, as its columns. */
export const whenColumns = (when: PullWhen): Pick<PullRow, 'hours' | 'on' | 'unplannedAt'> => ({
  hours: when.kind === 'hours' ? when.hours : null,
  on: when.kind === 'day' ? when.on : null,
  unplannedAt: when.kind === 'unplanned' ? new Date(when.at) : null,
});

export function whenOf({ hours, on, unplannedAt }: Pick<PullRow, 'hours' | 'on' | 'unplannedAt'>): PullWhen {
  if (hours !== null) return { kind: 'hours', hours };
  if (on !== null) return { kind: 'day', on };
  return { kind: 'unplanned', at: (unplannedAt ?? new Date(0)).toISOString() };
}

export async function setPitched(db: Db, trialId: string, pitchedAt: Date | null): Promise<void> {
  await db.update(trial).set({ pitchedAt }).where(eq(trial.id, trialId));
}

export async function insertPulls(db: Db, rows: PullRow[]): Promise<void> {
  if (rows.length > 0) await db.insert(pull).values(rows);
}

export async function findPull(db: Db, id: string): Promise<PullRow | undefined> {
  const [row] = await db.select().from(pull).where(eq(pull.id, id));
  return row;
}

export async function findPulls(db: Db, ids: string[]): Promise<PullRow[]> {
  return db.select().from(pull).where(inArray(pull.id, ids));
}

export async function listPulls(db: Db, trialId: string): Promise<PullRow[]> {
  return db.select().from(pull).where(eq(pull.trialId, trialId)).orderBy(asc(pull.createdAt), asc(pull.id));
}

export async function updatePull(db: Db, id: string, change: Partial<PullRow>): Promise<void> {
  if (Object.keys(change).length > 0) await db.update(pull).set(change).where(eq(pull.id, id));
}

/** Every pull of every trial of a panel, with the title of its trial. */
export async function listPullsOfPanel(db: Db, panelId: string) {
  return db
    .select({ pull, trialId: trial.id, title: trial.title, pitchedAt: trial.pitchedAt })
    .from(pull)
    .innerJoin(trial, eq(trial.id, pull.trialId))
    .where(eq(trial.panelId, panelId))
    .orderBy(asc(trial.createdAt), asc(pull.createdAt), asc(pull.id));
}

export type CalendarRow = typeof calendarAddress.$inferSelect;

export async function findCalendar(db: Db, panelId: string) {
  const [row] = await db
    .select({ drawnAt: calendarAddress.drawnAt, drawnBy: account.name })
    .from(calendarAddress)
    .leftJoin(account, eq(account.id, calendarAddress.drawnBy))
    .where(eq(calendarAddress.panelId, panelId));
  return row;
}

export async function findPanelOfCalendar(db: Db, tokenHash: string) {
  const [row] = await db
    .select({ id: panel.id, name: panel.name, demo: panel.demo })
    .from(calendarAddress)
    .innerJoin(panel, eq(panel.id, calendarAddress.panelId))
    .where(and(eq(calendarAddress.tokenHash, tokenHash)));
  return row;
}

/** Draws the address anew: the one before leads nowhere from then on. */
export async function putCalendar(db: Db, row: CalendarRow): Promise<void> {
  const { panelId: _panelId, ...change } = row;
  await db
    .insert(calendarAddress)
    .values(row)
    .onConflictDoUpdate({ target: calendarAddress.panelId, set: change });
}

export async function deleteCalendar(db: Db, panelId: string): Promise<void> {
  await db.delete(calendarAddress).where(eq(calendarAddress.panelId, panelId));
}
