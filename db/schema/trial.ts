import { sql } from 'drizzle-orm';
import {
  boolean,
  check,
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
} from 'drizzle-orm/pg-core';
import type { Sign } from '@oddglass/shared/contracts/fair-test.ts';
import type { LiquidKind } from '@oddglass/shared/contracts/liquid.ts';
import type { ArmMaking, BaseMaking, MakingField } from '@oddglass/shared/contracts/making.ts';
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
    /** As written; fields of later versions are missing and read as unknown. */
    making: jsonb('making').$type<Partial<BaseMaking>>().notNull().default({}),
    factorFields: text('factor_fields').array().$type<MakingField[]>().notNull().default([]),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
    archivedAt: timestamp('archived_at', { withTimezone: true }),
    /** Time zero of its pulls; null: not pitched yet. */
    pitchedAt: timestamp('pitched_at', { withTimezone: true }),
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
    /** What it was filled with, mL; what became of it stands in `liquid_entry`. */
    volumeMl: doublePrecision('volume_ml').notNull(),
    abv: doublePrecision('abv'),
    allergens: text('allergens').array().notNull(),
    making: jsonb('making').$type<Partial<ArmMaking>>().notNull().default({}),
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
    sign: text('sign').$type<Sign>(),
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

/** What was written over in a trial or an arm. Append-only. */
export const trialChange = pgTable(
  'trial_change',
  {
    id: uuid('id').primaryKey(),
    /** Which came first, also of two in one moment. */
    number: integer('number').notNull().generatedAlwaysAsIdentity(),
    trialId: uuid('trial_id')
      .notNull()
      .references(() => trial.id, { onDelete: 'cascade' }),
    armId: uuid('arm_id').references(() => arm.id, { onDelete: 'cascade' }),
    field: text('field').notNull(),
    before: text('before').notNull(),
    after: text('after').notNull(),
    writtenBy: uuid('written_by').references(() => account.id, { onDelete: 'set null' }),
    writtenAt: timestamp('written_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('trial_change_trial').on(table.trialId, table.number)],
);

/** What a host says of a finding of the fair-test check. Append-only. */
export const fairTestAnswer = pgTable(
  'fair_test_answer',
  {
    id: uuid('id').primaryKey(),
    number: integer('number').notNull().generatedAlwaysAsIdentity(),
    trialId: uuid('trial_id')
      .notNull()
      .references(() => trial.id, { onDelete: 'cascade' }),
    finding: text('finding').notNull(),
    grounds: text('grounds').array().notNull(),
    answer: text('answer').notNull(),
    writtenBy: uuid('written_by').references(() => account.id, { onDelete: 'set null' }),
    writtenAt: timestamp('written_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('fair_test_answer_trial').on(table.trialId, table.number)],
);

/** What became of the liquid of an arm after it was filled, mL. Append-only: a wrong entry is put right by counting. */
export const liquidEntry = pgTable(
  'liquid_entry',
  {
    id: uuid('id').primaryKey(),
    number: integer('number').notNull().generatedAlwaysAsIdentity(),
    armId: uuid('arm_id')
      .notNull()
      .references(() => arm.id, { onDelete: 'cascade' }),
    kind: text('kind').$type<LiquidKind>().notNull(),
    ml: doublePrecision('ml').notNull(),
    at: timestamp('at', { withTimezone: true }).notNull(),
    note: text('note').notNull(),
    writtenBy: uuid('written_by').references(() => account.id, { onDelete: 'set null' }),
  },
  (table) => [index('liquid_entry_arm').on(table.armId), check('liquid_entry_ml', sql`${table.ml} >= 0`)],
);
