import type { KeptChoices } from '@oddglass/shared/contracts/publishing.ts';
import {
  boolean,
  customType,
  date,
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  text,
  timestamp,
  uuid,
} from 'drizzle-orm/pg-core';
import { panel } from './panel.ts';
import { trial } from './trial.ts';

const bytea = customType<{ data: Uint8Array; driverData: Uint8Array }>({
  dataType: () => 'bytea',
});

/** Something published at an address. What readers get is in its versions; nothing of it is looked up elsewhere. */
export const publication = pgTable(
  'publication',
  {
    id: uuid('id').primaryKey(),
    panelId: uuid('panel_id')
      .notNull()
      .references(() => panel.id, { onDelete: 'cascade' }),
    trialId: uuid('trial_id')
      .notNull()
      .references(() => trial.id, { onDelete: 'cascade' }),
    /** Stays taken after a withdrawal, so that no link ever leads to something else. */
    address: text('address').notNull().unique('publication_address'),
    listed: boolean('listed').notNull(),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
    withdrawnAt: timestamp('withdrawn_at', { withTimezone: true }),
  },
  (table) => [index('publication_trial').on(table.trialId), index('publication_panel').on(table.panelId)],
);

/** A frozen version, byte for byte as it was published. A withdrawal empties its files. */
export const publicationVersion = pgTable(
  'publication_version',
  {
    publicationId: uuid('publication_id')
      .notNull()
      .references(() => publication.id, { onDelete: 'cascade' }),
    version: integer('version').notNull(),
    publishedAt: timestamp('published_at', { withTimezone: true }).notNull(),
    publishedOn: date('published_on').notNull(),
    /** SHA-256 of `result` as it was published, hex. */
    etag: text('etag').notNull(),
    title: text('title').notNull(),
    panel: text('panel').notNull(),
    headline: text('headline').notNull(),
    licence: text('licence', { enum: ['CC-BY-4.0', 'CC0-1.0'] }).notNull(),
    demo: boolean('demo').notNull(),
    choices: jsonb('choices').$type<KeptChoices>().notNull(),
    /** People whose answers had been taken back by then, by root of the session: later ones leave in batches. */
    withdrawn: jsonb('withdrawn').$type<Record<string, number>>().notNull(),
    /** Text of result.json; emptied by a withdrawal of what no later version needs. */
    result: text('result').notNull(),
    citation: text('citation'),
    package: bytea('package'),
  },
  (table) => [primaryKey({ columns: [table.publicationId, table.version] })],
);
