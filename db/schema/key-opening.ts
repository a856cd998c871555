import { boolean, pgTable, primaryKey, timestamp, uuid } from 'drizzle-orm/pg-core';
import { account } from './account.ts';
import { session } from './session.ts';

/** Who opened the key of a session before its reveal, and when for the first time. It says nothing of the key itself. */
export const keyOpening = pgTable(
  'key_opening',
  {
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    accountId: uuid('account_id')
      .notNull()
      .references(() => account.id, { onDelete: 'cascade' }),
    at: timestamp('at', { withTimezone: true }).notNull(),
    /** The account came into the panel, by an invitation of a host, after the plan was sealed. */
    invitedSinceSealing: boolean('invited_since_sealing').notNull(),
  },
  (table) => [primaryKey({ columns: [table.sessionId, table.accountId] })],
);
