import type { Word } from '../contracts/seat.ts';
import type { Vocabulary } from '../contracts/vocabulary.ts';
import { resolveWord } from './panel-vocabulary.ts';

/**
 * The words a seat needs to choose from and to search without network, in vocabulary order; all of them without
 * `ids`. Ids that were merged stand for the word they went into; unknown ids are left out.
 */
export function wordsForSeat(vocabulary: Vocabulary, ids?: readonly string[]): Word[] {
  const families = new Map(vocabulary.families.map(({ id, name }) => [id, name]));
  const wanted = ids && new Set(ids.map((id) => resolveWord(vocabulary, id)?.id));
  return vocabulary.words
    .filter(({ id }) => !wanted || wanted.has(id))
    .map(({ id, word, family, definition, synonyms, similes, compounds }) => ({
      id,
      word,
      family: families.get(family) ?? family,
      meaning: definition,
      found: [...synonyms, ...similes, ...compounds],
    }));
}
