import { bigint, index, pgTable, primaryKey, text, timestamp, uuid } from 'drizzle-orm/pg-core';
import { account } from './account.ts';

const owner = () =>
  uuid('account_id')
    .notNull()
    .references(() => account.id, { onDelete: 'cascade' });

/** A passkey that is asked for besides the passphrase. What is stored opens nothing: it only checks signatures. */
export const passkey = pgTable(
  'passkey',
  {
    id: uuid('id').primaryKey(),
    accountId: owner(),
    /** Under which name of this server it was made; it works under no other. */
    place: text('place').notNull(),
    credentialId: text('credential_id').notNull().unique(),
    /** COSE key, base64url. */
    publicKey: text('public_key').notNull(),
    /** How often it signed, as it says itself; many always say 0. */
    counter: bigint('counter', { mode: 'number' }).notNull(),
    transports: text('transports').array().notNull(),
    name: text('name').notNull(),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
    lastUsedAt: timestamp('last_used_at', { withTimezone: true }),
  },
  (table) => [index('passkey_account').on(table.accountId)],
);

/** What a passkey is to sign, once. Only its hash is stored. */
export const passkeyChallenge = pgTable(
  'passkey_challenge',
  {
    challengeHash: text('challenge_hash').primaryKey(),
    accountId: owner(),
    purpose: text('purpose').$type<'add' | 'sign-in'>().notNull(),
    /** Hash of the token of the browser that asked: of its sign-in, or of its pending one. */
    browserHash: text('browser_hash').notNull(),
    expiresAt: timestamp('expires_at', { withTimezone: true }).notNull(),
  },
  (table) => [index('passkey_challenge_end').on(table.expiresAt)],
);

/** A browser that knew the passphrase and still has to show a passkey or a recovery code. */
export const pendingSignIn = pgTable('pending_sign_in', {
  tokenHash: text('token_hash').primaryKey(),
  accountId: owner(),
  expiresAt: timestamp('expires_at', { withTimezone: true }).notNull(),
});

/** A code that stands in for a passkey, once; its row goes when it is used. */
export const recoveryCode = pgTable(
  'recovery_code',
  {
    accountId: owner(),
    /** Drawn for each set of codes, base64url. */
    salt: text('salt').notNull(),
    /** argon2id with that salt, base64url. */
    codeHash: text('code_hash').notNull(),
  },
  (table) => [primaryKey({ columns: [table.accountId, table.codeHash] })],
);
