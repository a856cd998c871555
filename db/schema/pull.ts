import { sql } from 'drizzle-orm';
import { check, date, doublePrecision, index, pgTable, text, timestamp, uuid } from 'drizzle-orm/pg-core';
import { account } from './account.ts';
import { panel } from './panel.ts';
import { trial } from './trial.ts';

/** A sampling point of a trial. Exactly one of hours, day and moment says when. */
export const pull = pgTable(
  'pull',
  {
    id: uuid('id').primaryKey(),
    trialId: uuid('trial_id')
      .notNull()
      .references(() => trial.id, { onDelete: 'cascade' }),
    name: text('name').notNull(),
    /** Planned, hours after pitching. */
    hours: doublePrecision('hours'),
    /** Planned for a day. */
    on: date('on_day'),
    /** Not planned: taken then. */
    unplannedAt: timestamp('unplanned_at', { withTimezone: true }),
    mlPerArm: doublePrecision('ml_per_arm'),
    note: text('note').notNull(),
    createdBy: uuid('created_by').references(() => account.id, { onDelete: 'set null' }),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
    cancelledAt: timestamp('cancelled_at', { withTimezone: true }),
  },
  (table) => [
    index('pull_trial').on(table.trialId),
    check('pull_when', sql`num_nonnulls(${table.hours}, ${table.on}, ${table.unplannedAt}) = 1`),
    check('pull_hours', sql`${table.hours} >= 0`),
    check('pull_ml', sql`${table.mlPerArm} >= 0`),
  ],
);

/** The secret address of a panel’s calendar, one at a time; only its hash is kept. */
export const calendarAddress = pgTable('calendar_address', {
  panelId: uuid('panel_id')
    .primaryKey()
    .references(() => panel.id, { onDelete: 'cascade' }),
  tokenHash: text('token_hash').notNull().unique('calendar_address_token'),
  drawnBy: uuid('drawn_by').references(() => account.id, { onDelete: 'set null' }),
  drawnAt: timestamp('drawn_at', { withTimezone: true }).notNull(),
});
