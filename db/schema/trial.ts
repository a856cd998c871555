import { sql } from 'drizzle-orm';
import {
  boolean,
  check,
  date,
  doublePrecision,
  index,
  integer,
  pgTable,
  text,
  timestamp,
  unique,
  uuid,
} from 'drizzle-orm/pg-core';
import { account } from './account.ts';
import { panel } from './panel.ts';

export const trial = pgTable(
  'trial',
  {
    id: uuid('id').primaryKey(),
    panelId: uuid('panel_id')
      .notNull()
      .references(() => panel.id, { onDelete: 'cascade' }),
    title: text('title').notNull(),
    question: text('question').notNull(),
    factor: text('factor').notNull(),
    base: text('base').notNull(),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('trial_panel').on(table.panelId)],
);

export const arm = pgTable(
  'arm',
  {
    id: uuid('id').primaryKey(),
    trialId: uuid('trial_id')
      .notNull()
      .references(() => trial.id, { onDelete: 'cascade' }),
    position: integer('position').notNull(),
    name: text('name').notNull(),
    differs: text('differs').notNull(),
    volumeMl: doublePrecision('volume_ml').notNull(),
    abv: doublePrecision('abv'),
    allergens: text('allergens').array().notNull(),
  },
  (table) => [
    unique('arm_position').on(table.trialId, table.position),
    check('arm_volume', sql`${table.volumeMl} >= 0`),
    check('arm_abv', sql`${table.abv} >= 0 and ${table.abv} <= 100`),
  ],
);

/** What went otherwise than planned. Never edited: a correction is a new note. */
export const deviation = pgTable(
  'deviation',
  {
    id: uuid('id').primaryKey(),
    armId: uuid('arm_id')
      .notNull()
      .references(() => arm.id, { onDelete: 'cascade' }),
    on: date('on_day').notNull(),
    note: text('note').notNull(),
    writtenBy: uuid('written_by').references(() => account.id, { onDelete: 'set null' }),
    writtenAt: timestamp('written_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('deviation_arm').on(table.armId)],
);

/** What was seen and measured of an arm before pouring. Never edited: the newest row counts. */
export const armSafety = pgTable(
  'arm_safety',
  {
    id: uuid('id').primaryKey(),
    /** Which row is the newest, also of two written in one moment. */
    number: integer('number').notNull().generatedAlwaysAsIdentity(),
    armId: uuid('arm_id')
      .notNull()
      .references(() => arm.id, { onDelete: 'cascade' }),
    mould: boolean('mould'),
    hopped: boolean('hopped'),
    stoodWarm: boolean('stood_warm'),
    gravityFalling: boolean('gravity_falling'),
    pitchedOn: date('pitched_on'),
    ph: doublePrecision('ph'),
    phOn: date('ph_on'),
    meterCalibratedOn: date('meter_calibrated_on'),
    writtenBy: uuid('written_by').references(() => account.id, { onDelete: 'set null' }),
    writtenAt: timestamp('written_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('arm_safety_arm').on(table.armId, table.number)],
);
