import { boolean, index, pgTable, primaryKey, text, timestamp, uuid } from 'drizzle-orm/pg-core';
import { account } from './account.ts';

/** A group of people with its own trials and sessions: the unit of isolation. */
export const panel = pgTable('panel', {
  id: uuid('id').primaryKey(),
  name: text('name').notNull(),
  demo: boolean('demo').notNull(),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
});

export const membership = pgTable(
  'membership',
  {
    panelId: uuid('panel_id')
      .notNull()
      .references(() => panel.id, { onDelete: 'cascade' }),
    accountId: uuid('account_id')
      .notNull()
      .references(() => account.id, { onDelete: 'cascade' }),
    role: text('role', { enum: ['host', 'steward'] }).notNull(),
  },
  (table) => [
    primaryKey({ columns: [table.panelId, table.accountId] }),
    index('membership_account').on(table.accountId),
  ],
);

/** A one-time link. Without a panel it creates the first host and its panel. */
export const invitation = pgTable('invitation', {
  tokenHash: text('token_hash').primaryKey(),
  panelId: uuid('panel_id').references(() => panel.id, { onDelete: 'cascade' }),
  role: text('role', { enum: ['host', 'steward'] }).notNull(),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
  expiresAt: timestamp('expires_at', { withTimezone: true }).notNull(),
  usedAt: timestamp('used_at', { withTimezone: true }),
});
