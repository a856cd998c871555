import { confirmation, typedValues } from '@oddglass/shared/contracts/reading.ts';
import type { PhotoView } from '@oddglass/shared/contracts/photo.ts';
import type { ReadingView } from '@oddglass/shared/contracts/reading.ts';
import { and, asc, count, eq, inArray, sql } from 'drizzle-orm';
import { z } from 'zod';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { pull } from '../schema/pull.ts';
import { reading, readingPhoto } from '../schema/reading.ts';

export type NewReading = typeof reading.$inferInsert;
export type ReadingOfPull = ReadingView & { pullId: string };

const NOBODY = 'someone who left';
const joined = { reading, writtenByName: account.name };
type Joined = { reading: typeof reading.$inferSelect; writtenByName: string | null };

/** Rows as they are seen, in the order in which they were written. */
function seen(rows: Joined[]): ReadingOfPull[] {
  const corrected = new Set(rows.map((row) => row.reading.replaces));
  return rows.map(({ reading: row, writtenByName }) => ({
    id: row.id,
    pullId: row.pullId,
    arm: row.armId,
    replaces: row.replaces,
    current: !corrected.has(row.id),
    takenAt: row.takenAt.toISOString(),
    // jsonb keeps keys in an order of its own; the schema gives them theirs back.
    typed: typedValues.parse(row.typed),
    ph: row.ph,
    meterCalibratedOn: row.meterCalibratedOn,
    gravity: row.gravity,
    temperatureC: row.temperatureC,
    takenMl: row.takenMl,
    added: row.added,
    looks: row.looks,
    smell: row.smell,
    note: row.note,
    confirmed: z.array(confirmation).parse(row.confirmed),
    writtenBy: writtenByName ?? NOBODY,
    writtenAt: row.writtenAt.toISOString(),
  }));
}

export async function insertReading(db: Db, row: NewReading): Promise<void> {
  await db.insert(reading).values(row);
}

export async function findReading(db: Db, id: string): Promise<ReadingOfPull | undefined> {
  const rows = await db
    .select(joined)
    .from(reading)
    .leftJoin(account, eq(account.id, reading.writtenBy))
    .where(eq(reading.id, id));
  return seen(rows)[0];
}

/** Every reading of a trial, corrected ones too. */
export async function listReadings(db: Db, trialId: string): Promise<ReadingOfPull[]> {
  const rows = await db
    .select(joined)
    .from(reading)
    .innerJoin(pull, eq(pull.id, reading.pullId))
    .leftJoin(account, eq(account.id, reading.writtenBy))
    .where(eq(pull.trialId, trialId))
    .orderBy(asc(reading.number));
  return seen(rows);
}

/** Every reading of these arms, corrected ones too. */
export async function listReadingsOfArms(db: Db, armIds: string[]): Promise<ReadingOfPull[]> {
  const rows = await db
    .select(joined)
    .from(reading)
    .leftJoin(account, eq(account.id, reading.writtenBy))
    .where(inArray(reading.armId, armIds))
    .orderBy(asc(reading.number));
  return seen(rows);
}

/** How many arms of each of these pulls have a reading. */
export async function countReadArms(db: Db, pullIds: string[]): Promise<Map<string, number>> {
  const rows = await db
    .select({ pullId: reading.pullId, arms: sql<number>`count(distinct ${reading.armId})::int` })
    .from(reading)
    .where(inArray(reading.pullId, pullIds))
    .groupBy(reading.pullId);
  return new Map(rows.map(({ pullId, arms }) => [pullId, arms]));
}

export type NewPhoto = typeof readingPhoto.$inferInsert;

export async function insertPhoto(db: Db, row: NewPhoto): Promise<void> {
  await db.insert(readingPhoto).values(row);
}

const photoColumns = {
  id: readingPhoto.id,
  pullId: readingPhoto.pullId,
  arm: readingPhoto.armId,
  bytes: sql<number>`octet_length(${readingPhoto.jpeg})`,
  writtenBy: account.name,
  writtenAt: readingPhoto.writtenAt,
};

export async function listPhotos(db: Db, trialId: string): Promise<(PhotoView & { pullId: string })[]> {
  const rows = await db
    .select(photoColumns)
    .from(readingPhoto)
    .innerJoin(pull, eq(pull.id, readingPhoto.pullId))
    .leftJoin(account, eq(account.id, readingPhoto.writtenBy))
    .where(eq(pull.trialId, trialId))
    .orderBy(asc(readingPhoto.writtenAt), asc(readingPhoto.id));
  return rows.map((row) => ({
    ...row,
    writtenBy: row.writtenBy ?? NOBODY,
    writtenAt: row.writtenAt.toISOString(),
  }));
}

/** A photo with the trial it belongs to. */
export async function findPhoto(db: Db, id: string) {
  const [row] = await db
    .select({
      jpeg: readingPhoto.jpeg,
      sentHash: readingPhoto.sentHash,
      pullId: readingPhoto.pullId,
      armId: readingPhoto.armId,
      trialId: pull.trialId,
    })
    .from(readingPhoto)
    .innerJoin(pull, eq(pull.id, readingPhoto.pullId))
    .where(eq(readingPhoto.id, id));
  return row;
}

export async function countPhotos(
  db: Db,
  { trialId, pullId, armId }: { trialId: string; pullId: string; armId: string },
): Promise<{ ofTrial: number; ofReading: number }> {
  const [ofTrial] = await db
    .select({ photos: count() })
    .from(readingPhoto)
    .innerJoin(pull, eq(pull.id, readingPhoto.pullId))
    .where(eq(pull.trialId, trialId));
  const [ofReading] = await db
    .select({ photos: count() })
    .from(readingPhoto)
    .where(and(eq(readingPhoto.pullId, pullId), eq(readingPhoto.armId, armId)));
  return { ofTrial: ofTrial?.photos ?? 0, ofReading: ofReading?.photos ?? 0 };
}
