import type { ServingConditions } from '@oddglass/shared/contracts/pour.ts';
import type { SealLeaf } from '@oddglass/shared/contracts/seal.ts';
import type { CupMark } from '@oddglass/shared/contracts/session.ts';
import { and, asc, count, desc, eq, inArray, sql } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import {
  dilutionStep,
  planKey,
  pourTick,
  sampleKey,
  sealLeaf,
  servingKey,
  servingNote,
} from '../schema/key.ts';
import { seat, serving, tray } from '../schema/session.ts';
import { arm } from '../schema/trial.ts';

// The only way to the key. Sealing, the steward's pages and what comes after the reveal import this file,
// nothing else does (test/structure).

export type Sample = typeof sampleKey.$inferSelect;

export interface KeyRows {
  sessionId: string;
  seed: string;
  samples: Omit<Sample, 'sessionId'>[];
  servings: { servingId: string; sampleId: string }[];
  leaves: SealLeaf[];
}

const CHUNK = 5_000;

export async function insertKey(
  db: Db,
  { sessionId, seed, samples, servings, leaves }: KeyRows,
): Promise<void> {
  await db.insert(planKey).values({ sessionId, seed });
  await insertPoured(db, { sessionId, samples, servings });
  for (let start = 0; start < leaves.length; start += CHUNK) {
    await db
      .insert(sealLeaf)
      .values(leaves.slice(start, start + CHUNK).map((row) => ({ ...row, sessionId })));
  }
}

/** What is in which cup, without the seal: all that a server has of a plan that was sealed on another one. */
export async function insertPoured(
  db: Db,
  { sessionId, samples, servings }: Pick<KeyRows, 'sessionId' | 'samples' | 'servings'>,
): Promise<void> {
  await db.insert(sampleKey).values(samples.map((row) => ({ ...row, sessionId })));
  for (let start = 0; start < servings.length; start += CHUNK) {
    await db
      .insert(servingKey)
      .values(servings.slice(start, start + CHUNK).map((row) => ({ ...row, sessionId })));
  }
}

export async function listSealLeaves(db: Db, sessionId: string): Promise<SealLeaf[]> {
  return db
    .select({ index: sealLeaf.index, kind: sealLeaf.kind, nonce: sealLeaf.nonce, body: sealLeaf.body })
    .from(sealLeaf)
    .where(eq(sealLeaf.sessionId, sessionId))
    .orderBy(asc(sealLeaf.index));
}

/** Samples with their arms, in the order in which the plan names them. */
export async function listSamples(
  db: Db,
  sessionId: string,
): Promise<(Sample & { arm: string; armPlace: number; allergens: string[] })[]> {
  const rows = await db
    .select({ sample: sampleKey, arm: arm.name, armPlace: arm.position, allergens: arm.allergens })
    .from(sampleKey)
    .innerJoin(arm, eq(arm.id, sampleKey.armId))
    .where(eq(sampleKey.sessionId, sessionId))
    .orderBy(asc(sampleKey.part), asc(sampleKey.place), asc(sampleKey.id));
  return rows.map(({ sample, ...row }) => ({ ...sample, ...row }));
}

export interface KeyedServing {
  servingId: string;
  trayId: string;
  seatId: string;
  seat: number;
  spare: boolean;
  seatTaken: boolean;
  trayNumber: number;
  part: number;
  replicate: number;
  position: number;
  code: string;
  mark: CupMark | null;
  sampleId: string;
  armId: string;
}

/** Every cup with what is in it, by code. */
export async function listKeyedServings(db: Db, sessionId: string): Promise<KeyedServing[]> {
  const rows = await db
    .select({
      servingId: serving.id,
      trayId: tray.id,
      seatId: seat.id,
      seat: seat.number,
      spare: seat.spare,
      takenAt: seat.takenAt,
      trayNumber: tray.number,
      part: tray.part,
      replicate: tray.replicate,
      position: serving.position,
      code: serving.code,
      mark: serving.mark,
      sampleId: servingKey.sampleId,
      armId: sampleKey.armId,
    })
    .from(servingKey)
    .innerJoin(serving, eq(serving.id, servingKey.servingId))
    .innerJoin(tray, eq(tray.id, serving.trayId))
    .innerJoin(seat, eq(seat.id, tray.seatId))
    .innerJoin(sampleKey, eq(sampleKey.id, servingKey.sampleId))
    .where(eq(servingKey.sessionId, sessionId))
    .orderBy(asc(serving.code), asc(seat.number));
  return rows.map(({ takenAt, ...row }) => ({ ...row, seatTaken: takenAt !== null }));
}

/** Ticks as they stand: the newest row of each serving counts. */
export async function listPoured(db: Db, sessionId: string): Promise<Set<string>> {
  return new Set((await listPouredMoments(db, sessionId)).keys());
}

/** When each cup that stands poured was ticked. */
export async function listPouredMoments(db: Db, sessionId: string): Promise<Map<string, Date>> {
  const rows = await db
    .selectDistinctOn([pourTick.servingId], {
      servingId: pourTick.servingId,
      poured: pourTick.poured,
      at: pourTick.at,
      id: pourTick.id,
    })
    .from(pourTick)
    .where(eq(pourTick.sessionId, sessionId))
    .orderBy(pourTick.servingId, desc(pourTick.id));
  return new Map(rows.filter(({ poured }) => poured).map(({ servingId, at }) => [servingId, at]));
}

/** How many cups stand on finished trays, and whether any tray is half poured. */
export async function tallyTrays(db: Db, sessionId: string): Promise<{ cups: number; half: boolean }> {
  const newest = db
    .selectDistinctOn([pourTick.servingId], { servingId: pourTick.servingId, poured: pourTick.poured })
    .from(pourTick)
    .where(eq(pourTick.sessionId, sessionId))
    .orderBy(pourTick.servingId, desc(pourTick.id))
    .as('newest');
  const trays = db
    .select({
      cups: count().as('cups'),
      full: sql<number>`count(*) filter (where ${newest.poured})`.as('full'),
    })
    .from(serving)
    .leftJoin(newest, eq(newest.servingId, serving.id))
    .where(eq(serving.sessionId, sessionId))
    .groupBy(serving.trayId)
    .as('trays');
  const finished = sql`${trays.full} = ${trays.cups}`;
  const [row] = await db
    .select({
      cups: sql<number>`coalesce(sum(${trays.cups}) filter (where ${finished}), 0)::int`,
      half: sql<boolean>`coalesce(bool_or(${trays.full} > 0 and not ${finished}), false)`,
    })
    .from(trays);
  return row ?? { cups: 0, half: false };
}

/** Which of these servings belong to the session. */
export async function countServings(db: Db, sessionId: string, servingIds: string[]): Promise<number> {
  const rows = await db
    .select({ id: serving.id })
    .from(serving)
    .where(and(eq(serving.sessionId, sessionId), inArray(serving.id, servingIds)));
  return rows.length;
}

export async function insertPourTicks(db: Db, rows: (typeof pourTick.$inferInsert)[]): Promise<void> {
  await db.insert(pourTick).values(rows);
}

export async function insertServingNote(db: Db, row: typeof servingNote.$inferInsert): Promise<void> {
  await db.insert(servingNote).values(row);
}

/** What was last noted of the cups as served; of several places of what was noted at each, in their order. */
export async function newestServingNotes(db: Db, sessionId: string): Promise<ServingConditions[]> {
  const site = sql<number>`coalesce((${servingNote.conditions} ->> 'site')::int, 0)`;
  const rows = await db
    .selectDistinctOn([site], { conditions: servingNote.conditions })
    .from(servingNote)
    .where(eq(servingNote.sessionId, sessionId))
    .orderBy(site, desc(servingNote.id));
  return rows.map(({ conditions }) => conditions);
}

export type DilutionRow = typeof dilutionStep.$inferSelect;

/** What was recorded of the spiked bottles, oldest first, with the name of whoever did it. */
export async function listDilutionSteps(
  db: Db,
  sessionId: string,
): Promise<(DilutionRow & { byName: string | null })[]> {
  const rows = await db
    .select({ step: dilutionStep, byName: account.name })
    .from(dilutionStep)
    .leftJoin(account, eq(account.id, dilutionStep.by))
    .where(eq(dilutionStep.sessionId, sessionId))
    .orderBy(asc(dilutionStep.id));
  return rows.map(({ step, byName }) => ({ ...step, byName }));
}

export async function insertDilutionStep(db: Db, row: typeof dilutionStep.$inferInsert): Promise<void> {
  await db.insert(dilutionStep).values(row);
}

/** The samples that these servings are poured from. */
export async function samplesOfServings(
  db: Db,
  sessionId: string,
  servingIds: string[],
): Promise<Set<string>> {
  const rows = await db
    .selectDistinct({ sampleId: servingKey.sampleId })
    .from(servingKey)
    .where(and(eq(servingKey.sessionId, sessionId), inArray(servingKey.servingId, servingIds)));
  return new Set(rows.map(({ sampleId }) => sampleId));
}
