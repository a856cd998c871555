import type { VocabularyChange } from '@oddglass/shared/contracts/vocabulary.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { WORDS_OF_EDITION_1 } from '@oddglass/shared/vocabulary/edition-1.ts';
import { builtInBeside, EDITION } from '@oddglass/shared/vocabulary/editions.ts';
import { extendVocabulary, resolveWord } from '@oddglass/shared/vocabulary/panel-vocabulary.ts';
import { wordsForSeat } from '@oddglass/shared/vocabulary/seat-words.ts';
import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';

const digest = (value: unknown): string => createHash('sha256').update(JSON.stringify(value)).digest('hex');
const added = (id: string, word: string, family = 'herb-green'): VocabularyChange => ({
  kind: 'word-added',
  id,
  word,
  family,
  usually: 'depends',
  definition: 'As this panel means it.',
  synonyms: [],
  similes: [],
  perceived: ['nose'],
  drinks: ['beer'],
});

describe('editions of the built-in words', () => {
  test('the first is, letter by letter, what tablets were given when it was the only one', () => {
    // Taken from wordsForSeat(BUILT_IN) as it stood with 'built-in-1'.
    expect(digest(wordsForSeat(builtInBeside(1, [])))).toBe(
      'e086352fe71fc3cbeba9648dd001a67070056ad52e04198c189e520b4b446414',
    );
    expect(builtInBeside(1, []).version).toBe('built-in-1');
    expect(WORDS_OF_EDITION_1).toHaveLength(164);
  });

  test('the newest is the built-in one, has every word of the first and more', () => {
    expect(builtInBeside(EDITION, [])).toBe(BUILT_IN);
    expect(BUILT_IN.version).toBe(`built-in-${EDITION}`);
    const ids = new Set(BUILT_IN.words.map(({ id }) => id));
    expect(WORDS_OF_EDITION_1.filter((id) => !ids.has(id))).toEqual([]);
    expect(ids.size).toBeGreaterThan(WORDS_OF_EDITION_1.length + 20);
  });

  test('the newest is what it was when it was named: whoever changes its words makes another edition', () => {
    expect(digest(wordsForSeat(BUILT_IN))).toBe(
      '7cb4e23f358411c34098767ee85c965f47bdbe889be40a21428c6ba9fb1fd286',
    );
  });

  test('an edition that nobody wrote is no edition', () => {
    expect(() => builtInBeside(EDITION + 1, [])).toThrow(RangeError);
    expect(() => builtInBeside(0, [])).toThrow(RangeError);
  });

  test('mended facts hold in the first too', () => {
    const [first, now] = [builtInBeside(1, []), BUILT_IN].map((one) =>
      one.words.find(({ id }) => id === 'vinegar'),
    );
    expect(first?.reference).toEqual(now?.reference);
    expect(first?.thresholds).toEqual(now?.thresholds);
  });
});

describe('a panel that had such words before the edition', () => {
  const changes: VocabularyChange[] = [
    added('juniper', 'juniper'),
    added('our-lychee', 'lychee'),
    { kind: 'synonym-added', id: 'resin', synonym: 'sweet gale' },
    { kind: 'simile-added', id: 'musty', simile: 'furniture polish' },
    { kind: 'family-added', id: 'look', name: 'To the eye' },
    added('cloudy-one', 'cloudy', 'look'),
  ];

  test('is not refused by it, and keeps its own meaning of each name', () => {
    expect(() => extendVocabulary(BUILT_IN, changes)).toThrow();
    const extended = extendVocabulary(builtInBeside(2, changes), changes);
    expect(extended.version).toBe('built-in-2+6');
    expect(resolveWord(extended, 'juniper')?.definition).toBe('As this panel means it.');
    expect(extended.words.filter(({ word }) => word === 'lychee').map(({ id }) => id)).toEqual([
      'our-lychee',
    ]);
    expect(resolveWord(extended, 'bog-myrtle')?.synonyms).not.toContain('sweet gale');
    expect(resolveWord(extended, 'mothball')?.similes).not.toContain('furniture polish');
    expect(resolveWord(extended, 'bog-myrtle')?.synonyms).toContain('pors');
  });

  test('gets no second family of a name it has, nor words of that family; the others come', () => {
    const extended = extendVocabulary(builtInBeside(2, changes), changes);
    expect(extended.families.filter(({ name }) => name === 'To the eye')).toHaveLength(1);
    expect(resolveWord(extended, 'gushing')).toBeUndefined();
    expect(resolveWord(extended, 'yarrow')?.word).toBe('yarrow');
    const whole: VocabularyChange[] = [{ kind: 'family-added', id: 'whole', name: 'Ours' }];
    const beside = builtInBeside(2, whole);
    expect(beside.words.find(({ id }) => id === 'ester-faded')?.family).toBe('air-age');
    expect(beside.words.some(({ id }) => id === 'balanced')).toBe(false);
    expect(extendVocabulary(beside, whole).families.at(-1)).toEqual({ id: 'whole', name: 'Ours' });
  });

  test('finds no word beside others that leads nowhere', () => {
    const { words, families } = builtInBeside(2, changes);
    const ids = new Set(words.map(({ id }) => id));
    const there = new Set(families.map(({ id }) => id));
    for (const { id, confusedWith, family, alsoIn } of words) {
      expect(
        confusedWith.filter((other) => !ids.has(other)),
        id,
      ).toEqual([]);
      expect(
        [family, ...alsoIn].filter((one) => !there.has(one)),
        id,
      ).toEqual([]);
    }
  });

  test('keeps the first edition as it was in what it sealed with it', () => {
    expect(builtInBeside(1, changes)).toBe(builtInBeside(1, []));
  });
});
