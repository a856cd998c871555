import { sql } from 'drizzle-orm';
import { index, pgTable, text, timestamp, uniqueIndex, uuid } from 'drizzle-orm/pg-core';

/** Somebody who signs in: a host or a steward. Assessors have no account. */
export const account = pgTable(
  'account',
  {
    id: uuid('id').primaryKey(),
    name: text('name').notNull(),
    passphraseHash: text('passphrase_hash').notNull(),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
  },
  (table) => [uniqueIndex('account_name').on(sql`lower(${table.name})`)],
);

/** One signed-in browser. Only the hash of its token is stored. */
export const signedIn = pgTable(
  'signed_in',
  {
    tokenHash: text('token_hash').primaryKey(),
    accountId: uuid('account_id')
      .notNull()
      .references(() => account.id, { onDelete: 'cascade' }),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
    expiresAt: timestamp('expires_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('signed_in_account').on(table.accountId)],
);
