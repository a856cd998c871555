import type { Confirmation, TypedValues } from '@oddglass/shared/contracts/reading.ts';
import { sql } from 'drizzle-orm';
import {
  check,
  customType,
  date,
  doublePrecision,
  index,
  integer,
  jsonb,
  pgTable,
  text,
  timestamp,
  unique,
  uuid,
  type AnyPgColumn,
} from 'drizzle-orm/pg-core';
import { account } from './account.ts';
import { pull } from './pull.ts';
import { arm } from './trial.ts';

const bytea = customType<{ data: Uint8Array; driverData: Uint8Array }>({
  dataType: () => 'bytea',
});

/** An arm at a pull. Rows are only added: a correction names the row that it puts right. */
export const reading = pgTable(
  'reading',
  {
    id: uuid('id').primaryKey(),
    /** Which row came later, also of two written in one moment. */
    number: integer('number').notNull().generatedAlwaysAsIdentity(),
    pullId: uuid('pull_id')
      .notNull()
      .references(() => pull.id, { onDelete: 'cascade' }),
    armId: uuid('arm_id')
      .notNull()
      .references(() => arm.id, { onDelete: 'cascade' }),
    replaces: uuid('replaces').references((): AnyPgColumn => reading.id, { onDelete: 'cascade' }),
    takenAt: timestamp('taken_at', { withTimezone: true }).notNull(),
    /** As it was typed, with units and instruments. */
    typed: jsonb('typed').$type<TypedValues>().notNull(),
    ph: doublePrecision('ph'),
    meterCalibratedOn: date('meter_calibrated_on'),
    /** Specific gravity, 20 deg C over 20 deg C. */
    gravity: doublePrecision('gravity'),
    temperatureC: doublePrecision('temperature_c'),
    takenMl: doublePrecision('taken_ml'),
    added: text('added').notNull(),
    looks: text('looks').notNull(),
    smell: text('smell').notNull(),
    note: text('note').notNull(),
    confirmed: jsonb('confirmed').$type<Confirmation[]>().notNull(),
    writtenBy: uuid('written_by').references(() => account.id, { onDelete: 'set null' }),
    writtenAt: timestamp('written_at', { withTimezone: true }).notNull(),
  },
  (table) => [
    index('reading_pull').on(table.pullId, table.number),
    index('reading_arm').on(table.armId, table.takenAt),
    // A row is corrected once, and an arm at a pull has one first row: two devices cannot both have the last word.
    unique('reading_corrected_once').on(table.replaces),
    unique('reading_first').on(table.pullId, table.armId, table.replaces).nullsNotDistinct(),
  ],
);

/** A photo of an arm at a pull, as JPEG without what cameras write into it. */
export const readingPhoto = pgTable(
  'reading_photo',
  {
    id: uuid('id').primaryKey(),
    pullId: uuid('pull_id')
      .notNull()
      .references(() => pull.id, { onDelete: 'cascade' }),
    armId: uuid('arm_id')
      .notNull()
      .references(() => arm.id, { onDelete: 'cascade' }),
    jpeg: bytea('jpeg').notNull(),
    /** SHA-256 of what was sent, so that sending twice is told from another photo. */
    sentHash: text('sent_hash').notNull(),
    writtenBy: uuid('written_by').references(() => account.id, { onDelete: 'set null' }),
    writtenAt: timestamp('written_at', { withTimezone: true }).notNull(),
  },
  (table) => [
    index('reading_photo_pull').on(table.pullId, table.armId),
    check('reading_photo_size', sql`octet_length(${table.jpeg}) <= 409600`),
  ],
);
