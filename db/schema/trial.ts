import { sql } from 'drizzle-orm';
import {
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
