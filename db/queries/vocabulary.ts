import type { VocabularyChange } from '@oddglass/shared/contracts/vocabulary.ts';
import { and, asc, eq, isNull, lte, max, sql } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { ballot } from '../schema/ballot.ts';
import { panel } from '../schema/panel.ts';
import { session } from '../schema/session.ts';
import { vocabularyChange } from '../schema/vocabulary.ts';

/** Changes of a panel's vocabulary up to a version, oldest first; all of them without one. */
export async function listVocabularyChanges(
  db: Db,
  panelId: string,
  upTo?: number,
): Promise<{ version: number; change: VocabularyChange; at: Date }[]> {
  const ofPanel = eq(vocabularyChange.panelId, panelId);
  return db
    .select({ version: vocabularyChange.version, change: vocabularyChange.change, at: vocabularyChange.at })
    .from(vocabularyChange)
    .where(upTo === undefined ? ofPanel : and(ofPanel, lte(vocabularyChange.version, upTo)))
    .orderBy(asc(vocabularyChange.version));
}

/** The newest version of a panel's vocabulary; 0 is the built-in one. */
export async function vocabularyVersion(db: Db, panelId: string): Promise<number> {
  const [row] = await db
    .select({ version: max(vocabularyChange.version) })
    .from(vocabularyChange)
    .where(eq(vocabularyChange.panelId, panelId));
  return row?.version ?? 0;
}

/** Locks the panel, so that changes of its vocabulary go one after another. */
export async function lockPanel(db: Db, panelId: string): Promise<void> {
  await db.select({ id: panel.id }).from(panel).where(eq(panel.id, panelId)).for('update');
}

export async function insertVocabularyChange(
  db: Db,
  row: typeof vocabularyChange.$inferInsert,
): Promise<void> {
  await db.insert(vocabularyChange).values(row);
}

/** Words of assessors' own in revealed sessions of a panel, as they were written; by wording, not by who wrote them. */
export async function listOwnWords(db: Db, panelId: string): Promise<string[]> {
  const rows = await db
    .select({ answer: ballot.answer })
    .from(ballot)
    .innerJoin(session, eq(session.id, ballot.sessionId))
    .where(
      and(
        eq(session.panelId, panelId),
        eq(session.state, 'revealed'),
        isNull(session.rehearsal),
        sql`jsonb_array_length(${ballot.answer} -> 'ownWords') > 0`,
      ),
    );
  return rows.flatMap(({ answer }) => (answer.kind === 'description' ? answer.ownWords : [])).sort();
}
