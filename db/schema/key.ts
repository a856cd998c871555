import type { ServingConditions } from '@oddglass/shared/contracts/pour.ts';
import type { SealLeaf } from '@oddglass/shared/contracts/seal.ts';
import {
  bigint,
  bigserial,
  boolean,
  doublePrecision,
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  text,
  timestamp,
  uuid,
} from 'drizzle-orm/pg-core';
import { account } from './account.ts';
import { serving, session } from './session.ts';
import { arm } from './trial.ts';

/** The seed redraws the seating, so it stays closed for good, after the reveal too. */
export const planKey = pgTable('plan_key', {
  sessionId: uuid('session_id')
    .primaryKey()
    .references(() => session.id, { onDelete: 'cascade' }),
  seed: text('seed').notNull(),
});

/** Sample to arm, and what the sample is there for. */
export const sampleKey = pgTable('sample_key', {
  id: uuid('id').primaryKey(),
  sessionId: uuid('session_id')
    .notNull()
    .references(() => session.id, { onDelete: 'cascade' }),
  armId: uuid('arm_id')
    .notNull()
    .references(() => arm.id),
  /** The part it is poured for, from 1, and its place among the part's samples, from 0. */
  part: integer('part').notNull(),
  place: integer('place').notNull(),
  role: text('role', { enum: ['sample', 'duplicate', 'spiked', 'warm-up'] }).notNull(),
  spike: text('spike'),
  /** Of a difference from control: the marked cup, or its hidden double. */
  control: text('control', { enum: ['marked', 'hidden'] }),
});

/** Serving to sample: the key. */
export const servingKey = pgTable(
  'serving_key',
  {
    servingId: uuid('serving_id')
      .primaryKey()
      .references(() => serving.id, { onDelete: 'cascade' }),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    sampleId: uuid('sample_id')
      .notNull()
      .references(() => sampleKey.id, { onDelete: 'cascade' }),
  },
  (table) => [index('serving_key_session').on(table.sessionId)],
);

/** Leaves of the seal with their nonces. */
export const sealLeaf = pgTable(
  'seal_leaf',
  {
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    index: integer('index').notNull(),
    kind: text('kind', { enum: ['settings', 'sample', 'tray', 'seating'] }).notNull(),
    nonce: text('nonce').notNull(),
    body: jsonb('body').$type<SealLeaf['body']>().notNull(),
  },
  (table) => [primaryKey({ columns: [table.sessionId, table.index] })],
);

/** How the cups were served, append-only: the newest row counts. How arms look may tell which is which, so it is key. */
export const servingNote = pgTable(
  'serving_note',
  {
    id: bigserial('id', { mode: 'number' }).primaryKey(),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    conditions: jsonb('conditions').$type<ServingConditions>().notNull(),
    by: uuid('by').references(() => account.id, { onDelete: 'set null' }),
    at: timestamp('at', { withTimezone: true }).notNull(),
  },
  (table) => [index('serving_note_session').on(table.sessionId)],
);

/** The steward's ticks, append-only: the newest row of a serving counts. They follow the bottle, so they are key. */
export const pourTick = pgTable(
  'pour_tick',
  {
    id: bigserial('id', { mode: 'number' }).primaryKey(),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    servingId: uuid('serving_id')
      .notNull()
      .references(() => serving.id, { onDelete: 'cascade' }),
    poured: boolean('poured').notNull(),
    by: uuid('by').references(() => account.id, { onDelete: 'set null' }),
    at: timestamp('at', { withTimezone: true }).notNull(),
  },
  (table) => [index('pour_tick_session').on(table.sessionId)],
);

/**
 * What was made of a spiked bottle and who looked at it, append-only: measured by somebody, then checked by somebody else, or
 * gone on with alone. It follows the bottle, so it is key, and no event tells of it.
 */
export const dilutionStep = pgTable(
  'dilution_step',
  {
    id: bigserial('id', { mode: 'number' }).primaryKey(),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    /** The first sample that is poured from the bottle. */
    sampleId: uuid('sample_id')
      .notNull()
      .references(() => sampleKey.id, { onDelete: 'cascade' }),
    kind: text('kind', { enum: ['measured', 'checked', 'alone', 'others-absent'] }).notNull(),
    /** Of a measurement: what went into how many millilitres of the whole. */
    amount: text('amount'),
    volumeMl: doublePrecision('volume_ml'),
    /** Of the others: the measurement they are about. */
    measurement: bigint('measurement', { mode: 'number' }),
    by: uuid('by').references(() => account.id, { onDelete: 'set null' }),
    at: timestamp('at', { withTimezone: true }).notNull(),
  },
  (table) => [index('dilution_step_session').on(table.sessionId)],
);
