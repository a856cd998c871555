import type { SoloAnswer, SoloPlan, SoloSettings } from '@oddglass/shared/contracts/solo.ts';
import {
  boolean,
  foreignKey,
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  text,
  timestamp,
  unique,
  uuid,
  type AnyPgColumn,
} from 'drizzle-orm/pg-core';
import { account } from './account.ts';
import { trial } from './trial.ts';

/** A series of one person. Sealed when it is written, and never changed. */
export const soloSeries = pgTable(
  'solo_series',
  {
    id: uuid('id').primaryKey(),
    trialId: uuid('trial_id')
      .notNull()
      .references(() => trial.id, { onDelete: 'cascade' }),
    accountId: uuid('account_id').references(() => account.id, { onDelete: 'set null' }),
    settings: jsonb('settings').$type<SoloSettings>().notNull(),
    plan: jsonb('plan').$type<SoloPlan>().notNull(),
    /** SHA-256 of settings and plan, hex. */
    root: text('root').notNull(),
    sealedAt: timestamp('sealed_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('solo_series_trial').on(table.trialId)],
);

/** That the cautions were read, and that it was ended early: each once. */
export const soloMoment = pgTable(
  'solo_moment',
  {
    seriesId: uuid('series_id')
      .notNull()
      .references(() => soloSeries.id, { onDelete: 'cascade' }),
    kind: text('kind', { enum: ['cautions', 'ended'] }).notNull(),
    note: text('note').notNull(),
    at: timestamp('at', { withTimezone: true }).notNull(),
  },
  (table) => [primaryKey({ columns: [table.seriesId, table.kind] })],
);

/** What was answered of a tray, once and for good. Each hash holds the one before. */
export const soloAnswer = pgTable(
  'solo_answer',
  {
    id: uuid('id').primaryKey(),
    seriesId: uuid('series_id')
      .notNull()
      .references(() => soloSeries.id, { onDelete: 'cascade' }),
    tray: integer('tray').notNull(),
    answer: jsonb('answer').$type<SoloAnswer>().notNull(),
    hash: text('hash').notNull(),
    at: timestamp('at', { withTimezone: true }).notNull(),
  },
  (table) => [unique('solo_answer_tray').on(table.seriesId, table.tray)],
);

/** From here on cups may be turned: those of one tray, or of the whole series (null). `hash`: the newest answer's. */
export const soloLock = pgTable(
  'solo_lock',
  {
    id: uuid('id').primaryKey(),
    seriesId: uuid('series_id')
      .notNull()
      .references(() => soloSeries.id, { onDelete: 'cascade' }),
    tray: integer('tray'),
    hash: text('hash').notNull(),
    at: timestamp('at', { withTimezone: true }).notNull(),
  },
  (table) => [
    unique('solo_lock_once').on(table.seriesId, table.tray).nullsNotDistinct(),
    unique('solo_lock_of_series').on(table.id, table.seriesId),
  ],
);

/**
 * What stood where: the key, which nobody held before. Rows hang on an answer and on a lock, so that the database takes
 * none without both. Append-only: a correction names the row that it puts right, and each is put right once.
 */
export const soloStood = pgTable(
  'solo_stood',
  {
    id: uuid('id').primaryKey(),
    seriesId: uuid('series_id').notNull(),
    tray: integer('tray').notNull(),
    lockId: uuid('lock_id').notNull(),
    armIds: uuid('arm_ids').array().notNull(),
    asPlanned: boolean('as_planned').notNull(),
    replaces: uuid('replaces').references((): AnyPgColumn => soloStood.id, { onDelete: 'cascade' }),
    writtenBy: uuid('written_by').references(() => account.id, { onDelete: 'set null' }),
    writtenAt: timestamp('written_at', { withTimezone: true }).notNull(),
  },
  (table) => [
    foreignKey({
      name: 'solo_stood_answer',
      columns: [table.seriesId, table.tray],
      foreignColumns: [soloAnswer.seriesId, soloAnswer.tray],
    }).onDelete('cascade'),
    foreignKey({
      name: 'solo_stood_lock',
      columns: [table.lockId, table.seriesId],
      foreignColumns: [soloLock.id, soloLock.seriesId],
    }).onDelete('cascade'),
    unique('solo_stood_first').on(table.seriesId, table.tray, table.replaces).nullsNotDistinct(),
    unique('solo_stood_put_right_once').on(table.replaces),
  ],
);
