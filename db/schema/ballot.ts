import { index, pgTable, text, timestamp, uuid } from 'drizzle-orm/pg-core';
import { serving, session, tray } from './session.ts';

/** One assessor's answer on one tray. Never changed: the first that arrives stands. */
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
      .unique('ballot_tray')
      .references(() => tray.id, { onDelete: 'cascade' }),
    oddServingId: uuid('odd_serving_id')
      .notNull()
      .references(() => serving.id),
    confidence: text('confidence', { enum: ['certain', 'fairly-sure', 'guess'] }).notNull(),
    descriptors: text('descriptors').array().notNull(),
    comment: text('comment').notNull(),
    receivedAt: timestamp('received_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('ballot_session').on(table.sessionId)],
);
