import type { SignInWay } from '@oddglass/shared/contracts/account.ts';
import { sql } from 'drizzle-orm';
import { index, integer, pgTable, text, timestamp, uniqueIndex, uuid } from 'drizzle-orm/pg-core';

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
    /** What its owner names it by. */
    id: uuid('id')
      .notNull()
      .unique()
      .default(sql`gen_random_uuid()`),
    accountId: uuid('account_id')
      .notNull()
      .references(() => account.id, { onDelete: 'cascade' }),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
    /** To within some minutes; it ends when it was not used for long. */
    lastUsedAt: timestamp('last_used_at', { withTimezone: true }).notNull().defaultNow(),
    expiresAt: timestamp('expires_at', { withTimezone: true }).notNull(),
    /** Browser and system as it called itself, in a few words; empty when it did not. */
    device: text('device').notNull().default(''),
    /** What it was opened with; those from before it was noted knew the passphrase, or a link. */
    by: text('by').$type<SignInWay>().notNull().default('passphrase'),
  },
  (table) => [index('signed_in_account').on(table.accountId)],
);

/** A one-time link to a new passphrase, made by whoever runs the machine. Only the hash of its token is stored. */
export const passphraseLink = pgTable('passphrase_link', {
  tokenHash: text('token_hash').primaryKey(),
  accountId: uuid('account_id')
    .notNull()
    .references(() => account.id, { onDelete: 'cascade' }),
  expiresAt: timestamp('expires_at', { withTimezone: true }).notNull(),
});

/** How often something was tried in vain, for as long as that counts. The key is a hash: nobody's name or address. */
export const attempt = pgTable(
  'attempt',
  {
    key: text('key').primaryKey(),
    points: integer('points').notNull(),
    endsAt: timestamp('ends_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('attempt_end').on(table.endsAt)],
);
