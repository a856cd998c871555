import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { slips } from '@oddglass/shared/vocabulary/edit-distance.ts';
import { normalKey, normalTokens } from '@oddglass/shared/vocabulary/normal-form.ts';
import {
  indexSeatWords,
  indexVocabulary,
  placeFreeWord,
  searchWords,
} from '@oddglass/shared/vocabulary/search.ts';
import { wordsForSeat } from '@oddglass/shared/vocabulary/seat-words.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const index = indexVocabulary(BUILT_IN);
const first = (query: string) => searchWords(index, query)[0]?.id;
const anyWord = fc.constantFrom(...BUILT_IN.words);

describe('normal form', () => {
  test.each([
    ['Smells like Pear-Drops', 'drop pear'],
    ['crème brûlée', 'brulee creme'],
    ['BERRIES', 'berry'],
    ['peaches', 'peach'],
    ['grass', 'grass'],
    ['citrus', 'citrus'],
    ['sulfury', 'sulphury'],
    ['a little moldy', 'mouldy'],
    ['horse’s blanket', 'blanket horse'],
    ['not buttery', 'buttery not'],
    ['very', 'very'],
    ['!?', ''],
  ])('%s is %s', (text, key) => {
    expect(normalKey(text)).toBe(key);
  });

  test('is its own normal form', () => {
    fc.assert(
      fc.property(anyWord, ({ synonyms, word }) => {
        for (const text of [word, ...synonyms]) expect(normalKey(normalKey(text))).toBe(normalKey(text));
      }),
    );
  });
});

describe('slips', () => {
  // Levenshtein's own textbook pairs, and swaps as Damerau 1964 counts them (from memory).
  test.each([
    ['kitten', 'sitting', 3],
    ['saturday', 'sunday', 3],
    ['cardbord', 'cardboard', 1],
    ['ab', 'ba', 1],
    ['', 'abc', 3],
    ['abc', '', 3],
    ['same', 'same', 0],
  ])('%s to %s is %d', (typed, target, whole) => {
    expect(slips(typed, target).whole).toBe(whole);
  });

  test('to a beginning are never more than to the whole, and none for a true beginning', () => {
    const letters = fc.string({ unit: fc.constantFrom('a', 'b', 'c'), maxLength: 8 });
    fc.assert(
      fc.property(letters, letters, (typed, rest) => {
        expect(slips(typed, typed + rest)).toEqual({ whole: rest.length, begun: 0 });
        const { whole, begun } = slips(typed, rest);
        expect(begun).toBeLessThanOrEqual(whole);
        expect(slips(rest, typed).whole).toBe(whole);
      }),
    );
  });
});

describe('search', () => {
  test.each([
    ['pear drops', 'banana'],
    ['Pear Drop', 'banana'],
    ['wet newspaper', 'paper'],
    ['newspaper, wet', 'paper'],
    ['cardbord', 'paper'],
    ['carboard', 'paper'],
    ['cardbo', 'paper'],
    ['buttery', 'butter'],
    ['butery', 'butter'],
    ['diacetyl', 'butter'],
    ['sticking plaster', 'medicinal'],
    ['stickingplaster', 'medicinal'],
    ['Sticking-Plasters', 'medicinal'],
    ['horse blanket', 'barnyard'],
    ['horseblanket', 'barnyard'],
    ['nail varnish', 'solvent'],
    ['nail polish', 'solvent'],
    ['wet dog', 'musty'],
    ['goaty', 'goat'],
    ['skunk', 'lightstruck'],
    ['DMS', 'cooked-corn'],
    ['sweet corn', 'cooked-corn'],
    ['egg', 'rotten-egg'],
    ['rotten eggs', 'rotten-egg'],
    ['sulfur', 'sulphur'],
    ['mouse', 'mousy'],
    ['mouse cage', 'mousy'],
    ['vinegary', 'vinegar'],
    ['salt & vinegar crisps', 'vinegar'],
    ['smells like a hospital', 'medicinal'],
    ['baby sick', 'rancid-butter'],
    ['sweaty feet', 'aged-cheese'],
    ['old socks gym', 'aged-cheese'],
    ['dentist', 'clove'],
    ['christmas tree', 'resin'],
    ['cat pee', 'catty'],
    ['tin can', 'metallic'],
    ['swimming pools', 'chlorine'],
    ['raisins', 'dried-fruit'],
    ['creme brulée', 'caramel'],
    ['liquorise', 'liquorice'],
    ['licorice', 'liquorice'],
    ['grapefriut', 'grapefruit'],
    ['egg white', 'ropy'],
    ['trans-2-nonenal', 'paper'],
  ])('%s leads to %s', (query, id) => {
    expect(first(query)).toBe(id);
  });

  test('tells what matched', () => {
    expect(searchWords(index, 'pear drops', 1)).toEqual([
      {
        id: 'banana',
        word: 'banana',
        family: 'Citrus and warm-country fruit',
        matched: { kind: 'simile', text: 'pear drops' },
      },
    ]);
  });

  test('shows the word early as one types', () => {
    for (const typed of ['van', 'vani', 'vanil', 'vanill', 'vanilla']) expect(first(typed)).toBe('vanilla');
    expect(searchWords(index, 'm').length).toBe(8);
  });

  test('finds nothing for nothing and for nonsense', () => {
    for (const query of ['', '   ', '?!', 'qqqq', 'xyzzyplugh', '🍺'])
      expect(searchWords(index, query)).toEqual([]);
  });

  test('never throws, keeps the limit, and lists each word once', () => {
    const query = fc.oneof(
      fc.string(),
      fc.string({ unit: 'binary' }),
      fc.string({ minLength: 200, maxLength: 3000 }),
    );
    fc.assert(
      fc.property(query, fc.integer({ min: 0, max: 12 }), (text, limit) => {
        const found = searchWords(index, text, limit).map(({ id }) => id);
        expect(found.length).toBeLessThanOrEqual(limit);
        expect(new Set(found).size).toBe(found.length);
        placeFreeWord(index, text);
      }),
    );
  });

  test('finds every word first by its own name, in capitals too', () => {
    for (const { id, word } of BUILT_IN.words) {
      expect(first(word), word).toBe(id);
      expect(first(word.toUpperCase()), word).toBe(id);
    }
  });

  test('finds every word first by each of its synonyms and similes', () => {
    for (const { id, synonyms, similes } of BUILT_IN.words) {
      for (const name of [...synonyms, ...similes]) expect(first(name), name).toBe(id);
    }
  });

  test('finds every word among those that have its compound', () => {
    for (const { id, compounds } of BUILT_IN.words) {
      for (const compound of compounds) {
        expect(
          searchWords(index, compound).map((one) => one.id),
          compound,
        ).toContain(id);
      }
    }
  });

  test('finds a word of six letters or more within the first three, one slip anywhere', () => {
    const long = BUILT_IN.words.filter(({ word }) => normalTokens(word).join('').length >= 6);
    expect(long.length).toBeGreaterThan(80);
    fc.assert(
      fc.property(
        fc.constantFrom(...long),
        fc.nat(),
        fc.nat(),
        fc.nat(),
        ({ id, word }, slip, place, letter) => {
          const typed = slipped(word, slip, place, letter);
          expect(
            searchWords(index, typed, 3).map((one) => one.id),
            typed,
          ).toContain(id);
        },
      ),
      { numRuns: 1500 },
    );
  });

  test('works from the words of a seat as from the vocabulary', () => {
    const seat = indexSeatWords(wordsForSeat(BUILT_IN));
    for (const query of ['pear drops', 'cardbord', 'wet dog', 'diacetyl', 'butt']) {
      expect(searchWords(seat, query)[0]?.id, query).toBe(first(query));
    }
  });
});

/** A word with one slip at a letter: left out, another one, one too many, or swapped with the next. */
function slipped(word: string, slip: number, place: number, letter: number): string {
  const letters = [...word].flatMap((one, at) => (/[a-z]/i.test(one) ? [at] : []));
  const at = letters[place % letters.length] ?? 0;
  const other = String.fromCharCode(97 + (letter % 26));
  const [before, here, after] = [word.slice(0, at), word.slice(at, at + 1), word.slice(at + 1)];
  if (slip % 4 === 0) return before + after;
  if (slip % 4 === 1) return before + other + after;
  if (slip % 4 === 2) return before + here + other + after;
  return before + after.slice(0, 1) + here + after.slice(1);
}

describe('placing a free word', () => {
  test.each([
    ['Pear drops!', 'banana'],
    ['a hint of wet newspaper', 'paper'],
    ['very buttery', 'butter'],
    ['buttary', 'butter'],
    ['cardbord', 'paper'],
    ['diacetyl', 'butter'],
    ['stickingplaster', 'medicinal'],
    ['horse blankets', 'barnyard'],
    ['Nail Polish', 'solvent'],
    ['cherry', 'cherry'],
    ['sherry', 'sherry'],
  ])('%s is %s', (text, id) => {
    expect(placeFreeWord(index, text)).toEqual({ id });
  });

  test.each([
    '',
    '...',
    'not buttery',
    'no diacetyl',
    'less sweet',
    'butter and vinegar',
    'acetaldehyde',
    'lactic acid',
    'nice',
    'weird',
    'frut',
    'something from my childhood',
  ])('%s is left to the host', (text) => {
    expect(placeFreeWord(index, text)).toBeNull();
  });

  test('lands each name on its own word', () => {
    for (const { id, word, synonyms, similes } of BUILT_IN.words) {
      for (const name of [word, ...synonyms, ...similes]) {
        expect(placeFreeWord(BUILT_IN, `smells like ${name}`), name).toEqual({ id });
      }
    }
  });

  test('never places what the search would not find first', () => {
    fc.assert(
      fc.property(anyWord, fc.nat(), fc.nat(), fc.nat(), ({ word }, slip, place, letter) => {
        const typed = slipped(word, slip, place, letter);
        const placed = placeFreeWord(index, typed);
        if (placed)
          expect(
            searchWords(index, typed, 3).map(({ id }) => id),
            typed,
          ).toContain(placed.id);
      }),
    );
  });
});
