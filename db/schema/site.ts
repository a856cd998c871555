import type { SiteFacts } from '@oddglass/shared/contracts/site-file.ts';
import { integer, jsonb, pgTable, primaryKey, text, timestamp, uuid } from 'drizzle-orm/pg-core';
import { account } from './account.ts';
import { session } from './session.ts';

/** A place of a session that answers on another server, from the moment its file was made. */
export const siteAway = pgTable(
  'site_away',
  {
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    site: integer('site').notNull(),
    /** 32 bytes, base64url: never leaves the two servers but enciphered in the file. */
    secret: text('secret').notNull(),
    by: uuid('by').references(() => account.id, { onDelete: 'set null' }),
    madeAt: timestamp('made_at', { withTimezone: true }).notNull(),
    /** When its ballots were joined, the digest of what came, and what of the place is kept; null: not yet. */
    joinedAt: timestamp('joined_at', { withTimezone: true }),
    digest: text('digest'),
    facts: jsonb('facts').$type<SiteFacts>(),
  },
  (table) => [primaryKey({ columns: [table.sessionId, table.site] })],
);

/** The other end: what the ballots of a session that was sealed elsewhere are closed with, and its arms there. */
export const siteHome = pgTable('site_home', {
  sessionId: uuid('session_id')
    .primaryKey()
    .references(() => session.id, { onDelete: 'cascade' }),
  secret: text('secret').notNull(),
  /** Id of the arm here, to its id where it was sealed. */
  arms: jsonb('arms').$type<Record<string, string>>().notNull(),
});
