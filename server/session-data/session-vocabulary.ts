import { listVocabularyChanges, vocabularyVersion } from '@oddglass/db/queries/vocabulary.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { builtInBeside, EDITION } from '@oddglass/shared/vocabulary/editions.ts';
import { extendVocabulary } from '@oddglass/shared/vocabulary/panel-vocabulary.ts';

// A version never changes once it is there, so what was put together stays true; the oldest go first.
const MAX_KEPT = 50;
const kept = new Map<string, Vocabulary>();

/** A point at which a vocabulary stays as it is: the first changes of a panel, on an edition of the built-in words. */
export interface VocabularyPin {
  version: number;
  edition: number;
}

/** The words a session is asked with: null until it is sealed. Sessions sealed before there were editions have the first. */
export function pinOf({
  vocabularyVersion: version,
  vocabularyEdition: edition,
}: Pick<Session, 'vocabularyVersion' | 'vocabularyEdition'>): VocabularyPin | null {
  return version === null ? null : { version, edition: edition ?? 1 };
}

/** The vocabulary of a panel as it is pinned; as it stands now without a pin. */
export async function vocabularyOf(db: Db, panelId: string, pin: VocabularyPin | null): Promise<Vocabulary> {
  const { version, edition } = pin ?? { version: await vocabularyVersion(db, panelId), edition: EDITION };
  if (version === 0) return builtInBeside(edition, []);
  const key = `${panelId} ${edition} ${version}`;
  const known = kept.get(key);
  if (known) return known;
  const changes = (await listVocabularyChanges(db, panelId, version)).map(({ change }) => change);
  const vocabulary = extendVocabulary(builtInBeside(edition, changes), changes);
  kept.set(key, vocabulary);
  const [oldest] = kept.keys();
  if (kept.size > MAX_KEPT && oldest !== undefined) kept.delete(oldest);
  return vocabulary;
}
