import type { VocabularyChangeInput } from '@oddglass/shared/contracts/vocabulary.ts';
import { vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { normalKey } from '@oddglass/shared/vocabulary/normal-form.ts';
import {
  extendVocabulary,
  ownerOfName,
  resolveWord,
  VocabularyRefusal,
} from '@oddglass/shared/vocabulary/panel-vocabulary.ts';
import { placeFreeWord, searchWords } from '@oddglass/shared/vocabulary/search.ts';
import { wordsForSeat } from '@oddglass/shared/vocabulary/seat-words.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const wetHay: VocabularyChangeInput = {
  kind: 'word-added',
  id: 'wet-hay',
  word: 'wet hay bale',
  family: 'herb-green',
  usually: 'depends',
  definition: 'Hay that was brought in too early and warms itself.',
  synonyms: ['warm bale'],
  similes: ['silage clamp'],
};
const reference = {
  how: 'Steep dried chamomile in hot water.',
  dose: { amount: 2, unit: 'g', per: '100 mL of water' },
  caution: 'Daisy-family allergy.',
  allergens: [],
};

function refusalOf(work: () => unknown): VocabularyRefusal {
  try {
    work();
  } catch (error) {
    if (error instanceof VocabularyRefusal) return error;
    throw error;
  }
  throw new Error('Nothing was refused.');
}

describe('a panel’s changes', () => {
  test('add a family and a word in it, found by its names', () => {
    const extended = extendVocabulary(BUILT_IN, [
      { kind: 'family-added', id: 'our-own', name: 'Our own' },
      { ...wetHay, family: 'our-own' },
    ]);
    expect(extended.version).toBe('built-in-2+2');
    expect(extended.changes).toBe(2);
    expect(resolveWord(extended, 'wet-hay')?.sources).toEqual([
      { what: 'definition', source: 'this panel', fromMemory: false },
    ]);
    expect(placeFreeWord(extended, 'Silage Clamps')).toEqual({ id: 'wet-hay' });
    expect(wordsForSeat(extended).at(-1)).toMatchObject({ id: 'wet-hay', family: 'Our own' });
    expect(vocabulary.parse(extended)).toEqual(extended);
  });

  test('add synonyms, similes and references to a word', () => {
    const extended = extendVocabulary(BUILT_IN, [
      { kind: 'synonym-added', id: 'mousy', synonym: 'hamster breath' },
      { kind: 'simile-added', id: 'mousy', simile: 'our old shed' },
      { kind: 'reference-added', id: 'hay', reference },
    ]);
    expect(searchWords(extended, 'hamster breath', 1)).toMatchObject([
      { id: 'mousy', matched: { kind: 'synonym', text: 'hamster breath' } },
    ]);
    expect(placeFreeWord(extended, 'our old shed')).toEqual({ id: 'mousy' });
    expect(resolveWord(extended, 'hay')?.ownReferences).toEqual([reference]);
    expect(resolveWord(extended, 'hay')?.reference).toEqual(resolveWord(BUILT_IN, 'hay')?.reference);
  });

  test('merge words: old ids, names and compounds lead to the word that took them in, however far', () => {
    const extended = extendVocabulary(BUILT_IN, [
      { kind: 'words-merged', from: 'glue', into: 'paint' },
      { kind: 'words-merged', from: 'paint', into: 'solvent' },
    ]);
    for (const id of ['glue', 'paint', 'solvent']) expect(resolveWord(extended, id)?.id).toBe('solvent');
    expect(placeFreeWord(extended, 'contact cement')).toEqual({ id: 'solvent' });
    expect(placeFreeWord(extended, 'oil paint')).toEqual({ id: 'solvent' });
    expect(wordsForSeat(extended, ['glue']).map(({ id }) => id)).toEqual(['solvent']);
    const words = extended.words.map(({ id }) => id);
    expect(words).not.toContain('glue');
    for (const { id, confusedWith } of extended.words) {
      expect(confusedWith.filter((other) => !words.includes(other) || other === id)).toEqual([]);
    }
    expect(resolveWord(extended, 'no-such-word')).toBeUndefined();
  });

  test('of no number leave the base as it is', () => {
    expect(extendVocabulary(BUILT_IN, [])).toEqual(BUILT_IN);
  });

  test.each<[string, VocabularyChangeInput[], Partial<VocabularyRefusal>]>([
    [
      'a synonym that another word has',
      [{ kind: 'synonym-added', id: 'mousy', synonym: 'Pear Drop' }],
      { reason: 'name-taken', field: 'synonym', change: 0 },
    ],
    [
      'a synonym the word has already',
      [{ kind: 'synonym-added', id: 'banana', synonym: 'pear drops' }],
      { reason: 'name-taken', field: 'synonym' },
    ],
    [
      'an unknown word',
      [{ kind: 'simile-added', id: 'nowhere', simile: 'our shed' }],
      { reason: 'unknown-word', field: 'id', value: 'nowhere' },
    ],
    ['an unknown family', [{ ...wetHay, family: 'nowhere' }], { reason: 'unknown-family', field: 'family' }],
    ['an id twice', [wetHay, { ...wetHay, word: 'else' }], { reason: 'id-taken', field: 'id', change: 1 }],
    ['a word that is there', [{ ...wetHay, word: 'Butter' }], { reason: 'name-taken', field: 'word' }],
    [
      'a synonym given twice in one word',
      [{ ...wetHay, synonyms: ['warm bale', 'Warm bales'] }],
      { reason: 'name-taken', field: 'synonyms.1' },
    ],
    [
      'a family that is there',
      [{ kind: 'family-added', id: 'taste', name: 'Else' }],
      { reason: 'id-taken', field: 'id' },
    ],
    [
      'a family name that is there',
      [{ kind: 'family-added', id: 'else', name: 'on the Tongue' }],
      { reason: 'name-taken', field: 'name' },
    ],
    [
      'a merge into itself',
      [{ kind: 'words-merged', from: 'hay', into: 'hay' }],
      { reason: 'merged-into-itself', field: 'into' },
    ],
    [
      'a merge in a circle',
      [
        { kind: 'words-merged', from: 'hay', into: 'tea' },
        { kind: 'words-merged', from: 'tea', into: 'hay' },
      ],
      { reason: 'merge-circle', field: 'into', change: 1 },
    ],
    [
      'a wider circle',
      [
        { kind: 'words-merged', from: 'hay', into: 'tea' },
        { kind: 'words-merged', from: 'tea', into: 'tobacco' },
        { kind: 'words-merged', from: 'tobacco', into: 'hay' },
      ],
      { reason: 'merge-circle', field: 'into', change: 2 },
    ],
    [
      'a second merge of a word',
      [
        { kind: 'words-merged', from: 'hay', into: 'tea' },
        { kind: 'words-merged', from: 'hay', into: 'grassy' },
      ],
      { reason: 'merged-away', field: 'from', change: 1 },
    ],
    [
      'a synonym for a word merged away',
      [
        { kind: 'words-merged', from: 'hay', into: 'tea' },
        { kind: 'synonym-added', id: 'hay', synonym: 'our shed' },
      ],
      { reason: 'merged-away', field: 'id', change: 1 },
    ],
    [
      'an id of a word merged away',
      [
        { kind: 'words-merged', from: 'hay', into: 'tea' },
        { ...wetHay, id: 'hay' },
      ],
      { reason: 'id-taken', field: 'id', change: 1 },
    ],
    ['an id with capitals', [{ ...wetHay, id: 'Wet Hay' }], { reason: 'malformed', field: 'id' }],
    ['a name without letters', [{ ...wetHay, word: '!!!' }], { reason: 'malformed', field: 'word' }],
  ])('are refused for %s, and say where', (_, changes, expected) => {
    const before = JSON.stringify(BUILT_IN);
    expect(refusalOf(() => extendVocabulary(BUILT_IN, changes))).toMatchObject(expected);
    expect(JSON.stringify(BUILT_IN)).toBe(before);
  });
});

describe('properties of any row of changes', () => {
  const someId = fc.constantFrom(...BUILT_IN.words.map(({ id }) => id));
  const freshName = fc.stringMatching(/^zz[a-z]{3,8}$/);
  const change: fc.Arbitrary<VocabularyChangeInput> = fc.oneof(
    fc.record({ kind: fc.constant('words-merged' as const), from: someId, into: someId }),
    fc.record({ kind: fc.constant('synonym-added' as const), id: someId, synonym: freshName }),
    fc.record({ kind: fc.constant('simile-added' as const), id: someId, simile: freshName }),
    freshName.map((name): VocabularyChangeInput => ({
      ...wetHay,
      id: name,
      word: name,
      synonyms: [],
      similes: [],
    })),
  );

  /** The changes that can be taken one after another. */
  function taken(changes: readonly VocabularyChangeInput[]): VocabularyChangeInput[] {
    return changes.reduce<VocabularyChangeInput[]>((kept, one) => {
      try {
        extendVocabulary(BUILT_IN, [...kept, one]);
        return [...kept, one];
      } catch (error) {
        expect(error).toBeInstanceOf(VocabularyRefusal);
        return kept;
      }
    }, []);
  }

  test('all at once or in two steps is the same; no id is lost; no name has two words; the base stays', () => {
    const before = JSON.stringify(BUILT_IN);
    fc.assert(
      fc.property(fc.array(change, { maxLength: 12 }), fc.nat(12), (changes, cut) => {
        const kept = taken(changes);
        const whole = extendVocabulary(BUILT_IN, kept);
        expect(extendVocabulary(extendVocabulary(BUILT_IN, kept.slice(0, cut)), kept.slice(cut))).toEqual(
          whole,
        );
        expect(whole.changes).toBe(kept.length);
        const live = new Set(whole.words.map(({ id }) => id));
        for (const { id } of BUILT_IN.words) expect(live.has(resolveWord(whole, id)?.id ?? '')).toBe(true);
        const names = whole.words.flatMap((word) => [
          ...new Set([word.word, ...word.synonyms, ...word.similes].map(normalKey)),
        ]);
        expect(new Set(names).size).toBe(names.length);
        expect(JSON.stringify(BUILT_IN)).toBe(before);
      }),
      { numRuns: 40 },
    );
  });

  test('every name still leads to its word, or to the one that took it in', () => {
    fc.assert(
      fc.property(fc.array(change, { maxLength: 6 }), someId, (changes, id) => {
        const extended = extendVocabulary(BUILT_IN, taken(changes));
        const word = resolveWord(BUILT_IN, id)?.word ?? '';
        expect(ownerOfName(extended, word)?.id).toBe(resolveWord(extended, id)?.id);
      }),
      { numRuns: 40 },
    );
  });
});
