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
    /** When the invitation was taken; null for who founded the panel, or came before it was written down. */
    joinedAt: timestamp('joined_at', { withTimezone: true }),
  },
  (table) => [
    primaryKey({ columns: [table.panelId, table.accountId] }),
    index('membership_account').on(table.accountId),
  ],
);

/** A one-time link. Without a panel it creates the first host and its panel. */
export const invitation = pgTable('invitation', {
  tokenHash: text('token_hash').primaryKey(),
  /** What it is called by in lists, which must not show what opens it. */
  id: uuid('id').notNull().defaultRandom().unique(),
  panelId: uuid('panel_id').references(() => panel.id, { onDelete: 'cascade' }),
  role: text('role', { enum: ['host', 'steward'] }).notNull(),
  /** The host who made it; null for the first host's, and for those of before it was written down. */
  invitedBy: uuid('invited_by').references(() => account.id, { onDelete: 'set null' }),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
  expiresAt: timestamp('expires_at', { withTimezone: true }).notNull(),
  usedAt: timestamp('used_at', { withTimezone: true }),
});
