import type { VocabularyChange } from '@oddglass/shared/contracts/vocabulary.ts';
import { integer, jsonb, pgTable, primaryKey, timestamp, uuid } from 'drizzle-orm/pg-core';
import { account } from './account.ts';
import { panel } from './panel.ts';

/** What a panel changed in its vocabulary, append-only: version n is the built-in one with the first n changes. */
export const vocabularyChange = pgTable(
  'vocabulary_change',
  {
    panelId: uuid('panel_id')
      .notNull()
      .references(() => panel.id, { onDelete: 'cascade' }),
    version: integer('version').notNull(),
    change: jsonb('change').$type<VocabularyChange>().notNull(),
    by: uuid('by').references(() => account.id, { onDelete: 'set null' }),
    at: timestamp('at', { withTimezone: true }).notNull(),
  },
  (table) => [primaryKey({ columns: [table.panelId, table.version] })],
);
