import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import {
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  text,
  timestamp,
  unique,
  uuid,
} from 'drizzle-orm/pg-core';
import { paperEntry } from './paper.ts';
import { seat, session, tray } from './session.ts';

/** One assessor's answer to one sheet of a tray. Never changed: the first that arrives stands. */
export const ballot = pgTable(
  'ballot',
  {
    /** Made on the assessor's device. */
    id: uuid('id').primaryKey(),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    trayId: uuid('tray_id')
      .notNull()
      .references(() => tray.id, { onDelete: 'cascade' }),
    part: integer('part').notNull(),
    sheet: integer('sheet').notNull(),
    /** Names cups by their codes, which are unique on a tray. */
    answer: jsonb('answer').$type<Answer>().notNull(),
    comment: text('comment').notNull(),
    /** What became of the cups of the tray, told with its last sheet; null: not told. */
    swallowing: text('swallowing', { enum: ['swallowed', 'spat', 'some-of-each'] }),
    /** Which holder of the seat sent it, as in `seat.holder`. */
    holder: integer('holder').notNull().default(0),
    receivedAt: timestamp('received_at', { withTimezone: true }).notNull(),
    /** The entry it was read off paper with; null: it came from a tablet. */
    paperEntryId: uuid('paper_entry_id').references(() => paperEntry.id),
  },
  (table) => [
    unique('ballot_sheet').on(table.trayId, table.part, table.sheet),
    index('ballot_session').on(table.sessionId),
  ],
);

/** What a seat had answered when the tasting closed, as a leaf below `session.answersRoot`. */
export const answerLeaf = pgTable(
  'answer_leaf',
  {
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    index: integer('index').notNull(),
    seatId: uuid('seat_id')
      .notNull()
      .references(() => seat.id, { onDelete: 'cascade' })
      .unique(),
    /** Gone once the person has withdrawn: without it nobody can try what the answers were. */
    nonce: text('nonce'),
    hash: text('hash').notNull(),
  },
  (table) => [primaryKey({ columns: [table.sessionId, table.index] })],
);
