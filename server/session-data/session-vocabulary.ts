import { listVocabularyChanges, vocabularyVersion } from '@oddglass/db/queries/vocabulary.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { Vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { extendVocabulary } from '@oddglass/shared/vocabulary/panel-vocabulary.ts';

// A version never changes once it is there, so what was put together stays true; the oldest go first.
const MAX_KEPT = 50;
const kept = new Map<string, Vocabulary>();

/** The vocabulary of a panel as it stood at a version; as it stands now without one. */
export async function vocabularyOf(db: Db, panelId: string, version: number | null): Promise<Vocabulary> {
  const wanted = version ?? (await vocabularyVersion(db, panelId));
  if (wanted === 0) return BUILT_IN;
  const key = `${panelId} ${wanted}`;
  const known = kept.get(key);
  if (known) return known;
  const changes = await listVocabularyChanges(db, panelId, wanted);
  const vocabulary = extendVocabulary(
    BUILT_IN,
    changes.map(({ change }) => change),
  );
  kept.set(key, vocabulary);
  const [oldest] = kept.keys();
  if (kept.size > MAX_KEPT && oldest !== undefined) kept.delete(oldest);
  return vocabulary;
}
