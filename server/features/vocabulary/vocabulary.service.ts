import {
  insertVocabularyChange,
  listOwnWords,
  listVocabularyChanges,
  lockPanel,
  vocabularyVersion,
} from '@oddglass/db/queries/vocabulary.ts';
import type { Vocabulary, VocabularyChange, VocabularyView } from '@oddglass/shared/contracts/vocabulary.ts';
import { extendVocabulary, VocabularyRefusal } from '@oddglass/shared/vocabulary/panel-vocabulary.ts';
import { indexVocabulary, placeFreeWord } from '@oddglass/shared/vocabulary/search.ts';
import { onlyHost, panelFor } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { vocabularyOf } from '../../session-data/session-vocabulary.ts';

export async function readVocabulary(deps: Deps, actor: Actor, panelId: string): Promise<VocabularyView> {
  const panel = await panelFor(deps.db, actor, panelId);
  const [vocabulary, changes, ownWords] = await Promise.all([
    vocabularyOf(deps.db, panelId, null),
    listVocabularyChanges(deps.db, panelId),
    listOwnWords(deps.db, panelId),
  ]);
  return {
    panelId,
    panelName: panel.name,
    demo: panel.demo,
    mayChange: panel.role === 'host',
    vocabulary,
    history: changes.map(({ version, change, at }) => ({ version, change, at: at.toISOString() })),
    unplaced: unplaced(vocabulary, ownWords),
  };
}

/** Words nobody can place without a person: those the vocabulary has no word, synonym or likeness for. */
function unplaced(vocabulary: Vocabulary, words: readonly string[]): VocabularyView['unplaced'] {
  const index = indexVocabulary(vocabulary);
  const counts = new Map<string, number>();
  for (const word of words) {
    if (placeFreeWord(index, word) !== null) continue;
    const key = word.trim().toLocaleLowerCase('en');
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return [...counts]
    .map(([word, mentions]) => ({ word, mentions }))
    .sort((a, b) => b.mentions - a.mentions || (a.word < b.word ? -1 : 1));
}

/** Adds one change as the next version. Sessions already sealed keep the version they were asked with. */
export async function changeVocabulary(
  deps: Deps,
  actor: Actor,
  panelId: string,
  { onVersion, change }: { onVersion: number; change: VocabularyChange },
): Promise<VocabularyView> {
  onlyHost(await panelFor(deps.db, actor, panelId));
  await deps.db.transaction(async (tx) => {
    await lockPanel(tx, panelId);
    const version = await vocabularyVersion(tx, panelId);
    if (version !== onVersion) {
      throw problem('vocabulary-moved', { detail: `It is at version ${version} now, not ${onVersion}.` });
    }
    try {
      extendVocabulary(await vocabularyOf(tx, panelId, null), [change]);
    } catch (reason) {
      if (reason instanceof VocabularyRefusal) throw fieldProblem(`#/change/${reason.field}`, reason.message);
      throw reason;
    }
    await insertVocabularyChange(tx, {
      panelId,
      version: version + 1,
      change,
      by: actor.id,
      at: deps.clock(),
    });
  });
  return readVocabulary(deps, actor, panelId);
}
