import type { Vocabulary, VocabularyChange, VocabularyWord } from '../contracts/vocabulary.ts';
import { BUILT_IN } from './built-in.ts';
import { WORDING_OF_EDITION_1, WORDS_OF_EDITION_1 } from './edition-1.ts';
import { normalKey } from './normal-form.ts';

/** The edition of the built-in words that panels have now. A session keeps the one it was sealed with. */
export const EDITION = 2;

const byId = new Map(BUILT_IN.words.map((word) => [word.id, word]));

const FIRST: Vocabulary = {
  ...BUILT_IN,
  version: 'built-in-1',
  families: BUILT_IN.families.filter(({ id }) => !['appearance', 'whole'].includes(id)),
  words: WORDS_OF_EDITION_1.flatMap((id) => {
    const word = byId.get(id);
    if (!word) return [];
    const confusedWith = word.confusedWith.filter((other) => WORDS_OF_EDITION_1.includes(other));
    return [{ ...word, alsoIn: [], confusedWith, ...WORDING_OF_EDITION_1[id] }];
  }),
};

/**
 * The built-in words of an edition, beside what a panel changed. Words that came with the edition give way to the panel's
 * own: where the panel has used an id, a name or a family already, the edition's newcomer is left out, so that no panel is
 * refused by an upgrade. The same edition and changes always give the same words. Errors: RangeError for an edition that
 * there is not.
 */
export function builtInBeside(edition: number, changes: readonly VocabularyChange[]): Vocabulary {
  if (edition === 1) return FIRST;
  if (edition !== EDITION) throw new RangeError(`There is no edition ${edition} of the built-in words.`);
  const taken = takenBy(changes);
  if (taken.ids.size === 0 && taken.names.size === 0 && taken.families.size === 0) return BUILT_IN;
  const first = new Map(FIRST.words.map((word) => [word.id, word]));
  const oldFamilies = new Set(FIRST.families.map(({ id }) => id));
  const families = BUILT_IN.families.filter(
    ({ id, name }) => oldFamilies.has(id) || !(taken.families.has(id) || taken.families.has(normalKey(name))),
  );
  const there = new Set(families.map(({ id }) => id));
  const words = BUILT_IN.words.flatMap((word) => {
    const before = first.get(word.id);
    if (before)
      return [
        withoutTaken(there.has(word.family) ? word : { ...word, family: before.family }, before, taken.names),
      ];
    const gone = taken.ids.has(word.id) || taken.names.has(normalKey(word.word)) || !there.has(word.family);
    return gone ? [] : [withoutTaken(word, undefined, taken.names)];
  });
  const left = new Set(words.map(({ id }) => id));
  return {
    ...BUILT_IN,
    families,
    words: words.map((word) => ({
      ...word,
      confusedWith: word.confusedWith.filter((id) => left.has(id)),
      alsoIn: word.alsoIn.filter((id) => there.has(id)),
    })),
  };
}

/** Ids, names (normal keys) and families that a panel's changes have given out. */
function takenBy(changes: readonly VocabularyChange[]): {
  ids: Set<string>;
  names: Set<string>;
  families: Set<string>;
} {
  const added = changes.filter((change) => change.kind === 'word-added');
  const families = changes.filter((change) => change.kind === 'family-added');
  const names = [
    ...added.flatMap(({ word, synonyms, similes }) => [word, ...synonyms, ...similes]),
    ...changes.flatMap((change) => (change.kind === 'synonym-added' ? [change.synonym] : [])),
    ...changes.flatMap((change) => (change.kind === 'simile-added' ? [change.simile] : [])),
  ];
  return {
    ids: new Set(added.map(({ id }) => id)),
    names: new Set(names.map(normalKey)),
    families: new Set(families.flatMap(({ id, name }) => [id, normalKey(name)])),
  };
}

/** The word without synonyms and similes that it did not have in the first edition and the panel uses otherwise. */
function withoutTaken(
  word: VocabularyWord,
  before: VocabularyWord | undefined,
  names: ReadonlySet<string>,
): VocabularyWord {
  const own = new Set([...(before?.synonyms ?? []), ...(before?.similes ?? [])].map(normalKey));
  const free = (name: string): boolean => own.has(normalKey(name)) || !names.has(normalKey(name));
  return { ...word, synonyms: word.synonyms.filter(free), similes: word.similes.filter(free) };
}
