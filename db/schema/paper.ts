import { index, integer, jsonb, pgTable, text, timestamp, unique, uuid } from 'drizzle-orm/pg-core';
import { account } from './account.ts';
import { seat, session } from './session.ts';

/** A place at which ballots on paper are entered: a browser outside of the panel, kept by somebody named. */
export const paperDesk = pgTable(
  'paper_desk',
  {
    id: uuid('id').primaryKey(),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    /** Way to the desk for one device, once: only its hash, until when, and which host made it. */
    linkHash: text('link_hash').unique(),
    linkUntil: timestamp('link_until', { withTimezone: true }).notNull(),
    madeBy: uuid('made_by').references(() => account.id, { onDelete: 'set null' }),
    /** What the device is known by, and who keeps the desk, once somebody came. */
    tokenHash: text('token_hash').unique(),
    keeper: text('keeper'),
    openedAt: timestamp('opened_at', { withTimezone: true }),
  },
  (table) => [index('paper_desk_session').on(table.sessionId)],
);

/** A ballot as somebody read it off the paper. Only ever added: a correction is one more. */
export const paperEntry = pgTable(
  'paper_entry',
  {
    /** Made on the device of the desk. */
    id: uuid('id').primaryKey(),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    seatId: uuid('seat_id')
      .notNull()
      .references(() => seat.id, { onDelete: 'cascade' }),
    deskId: uuid('desk_id')
      .notNull()
      .references(() => paperDesk.id),
    /** Running number at the seat, from 1. */
    number: integer('number').notNull(),
    step: text('step', { enum: ['first', 'second', 'settled', 'corrected'] }).notNull(),
    /** Spellings of places by their ids. */
    values: jsonb('values').$type<Record<string, string>>().notNull(),
    enteredAt: timestamp('entered_at', { withTimezone: true }).notNull(),
  },
  (table) => [unique('paper_entry_number').on(table.seatId, table.number)],
);
