import { bandOf, pEquals } from '@oddglass/shared/ground/phrases.ts';
import { rareWordsCaveat } from '@oddglass/shared/analysis/description/caveats.ts';
import { analyseDescription } from '@oddglass/shared/analysis/description/description.ts';
import { descriptionMethods } from '@oddglass/shared/analysis/description/methods.ts';
import { descriptionResult, type DescriptionResult } from '@oddglass/shared/contracts/result-description.ts';
import { describe, expect, test } from 'vitest';
import { flightInput, flightTray } from '../analysis/common/flight-input.ts';
import { part as descriptionPart, says, WORDS } from '../analysis/description/description-input.ts';
import { tell, tellIfAny } from './telling.ts';

const PEOPLE = 12;
const asked = descriptionPart(3, { intensity: true, words: ['smoky', 'sour', 'honey', 'bread'] });

/** Twelve people: 'smoky' is said of the first cup by all, 'sour' and 'honey' by some of each, 'bread' by nobody. */
function analysed(): DescriptionResult {
  const trays = Array.from({ length: PEOPLE }, (_, person) =>
    flightTray(
      asked,
      `p${person}`,
      [0, 1, 2],
      [0, 1, 2].map((place) =>
        says(
          [
            ...(place === 0 ? ['smoky'] : []),
            ...(person % 2 === 0 ? ['sour'] : []),
            ...((person + place) % 3 === 0 ? ['honey'] : []),
          ],
          person < 4 ? ['wet slate'] : [],
          2,
        ),
      ),
      1,
      person < 2 ? `Said by ${person}.` : '',
    ),
  );
  const marks = trays.flatMap(({ assessor, cups }, person) =>
    cups.map(({ code }, place) => ({ assessor, replicate: 1, code, value: 3 + ((person + place) % 5) })),
  );
  const result = analyseDescription(flightInput(asked, trays, { words: WORDS }), marks);
  // Nobody had two cups of one sample here; what is told of such cups is asked of these figures.
  const duplicates = [{ sample: 's1', name: 'Cool', people: 5, both: 4, onlyOne: 6, overlap: 0.4 }];
  const beside = { ...result, duplicates };
  return { ...beside, methods: descriptionMethods(beside) };
}

const whole = analysed();
const wordOf = (id: string, result = whole) => {
  const word = result.words.find((one) => one.id === id);
  if (!word) throw new Error(`${id} was checked`);
  return word;
};
const notesWithout = (gone: readonly string[]) => whole.methods.filter(({ id }) => !gone.includes(id));
/** The result with one word changed. */
const withWord = (id: string, change: object): DescriptionResult => ({
  ...whole,
  words: whole.words.map((word) => (word.id === id ? { ...word, ...change } : word)),
});

describe('a description', () => {
  test('has here what the rules speak of', () => {
    expect(wordOf('smoky').pairs.length).toBe(3);
    expect(whole.liking?.rows.map(({ id }) => id).sort()).toEqual(['honey', 'smoky', 'sour']);
    expect(whole.map?.words.length).toBe(3);
    expect(whole.unchecked).toEqual(['bread']);
    expect(whole.ownWords.length).toBe(1);
    expect(whole.comments.length).toBe(6);
  });

  test('of many people is told to the last figure, without comments and words of their own', () => {
    const { part, orders, withheld } = tell(whole);
    expect(part).toEqual({ ...whole, ownWords: [], comments: [], methods: notesWithout(['own-words']) });
    expect(orders).toEqual([]);
    expect(withheld).toEqual({ cells: 0, words: 0, lines: 0, parts: 0 });
    expect(descriptionResult.parse(part)).toEqual(part);
    expect(tell(whole, { without: ['freeTextOff'] }).part).toEqual(whole);
  });

  test.each(['coarse', 'agreed'] as const)(
    'of a small panel (%s) is told by counts: no pairs, no strengths, no map, no liking, no repeated cups',
    (tier) => {
      const { part, withheld } = tell(whole, { tier });
      expect(part).toEqual({
        ...whole,
        words: whole.words.map((word) => ({
          ...word,
          pairs: [],
          test: word.test && {
            ...word.test,
            q: null,
            p: bandOf(word.test.p),
            pAdjusted: bandOf(word.test.pAdjusted),
            permutations: null,
          },
          shares: word.shares.map((share) => ({ ...share, intensity: null })),
        })),
        bands: true,
        profile: whole.profile && {
          ...whole.profile,
          chiSquare: null,
          p: bandOf(whole.profile.p),
          reading: whole.profile.reading.replace(pEquals(whole.profile.p), 'p at most 0.001'),
        },
        finding: part.finding,
        map: null,
        liking: null,
        duplicates: [],
        ownWords: [],
        comments: [],
        methods: notesWithout(['pairs', 'map', 'liking', 'duplicates', 'own-words']),
      });
      const strengths = whole.words.flatMap(({ shares }) => shares.filter(({ intensity }) => intensity));
      expect(strengths.length).toBe(7);
      // Three pairs of 'smoky', liking of three words, one sample tasted twice.
      expect(withheld.cells).toBe(strengths.length + 3 + 3 + 1);
      const exact = tell(whole, { tier, without: ['panelTiers'] }).part;
      expect(exact).toEqual(tell(whole).part);
    },
  );

  test.each([
    [3, true],
    [2, false],
  ])('strength of a word by %i people: told is %s', (of, told) => {
    const shares = wordOf('sour').shares.map((share, at) => ({
      ...share,
      intensity: at === 1 ? { mean: 2.5, of } : null,
    }));
    const changed = withWord('sour', { shares });
    const { part, withheld } = tell(changed);
    const expected = shares.map((share) => (told ? share : { ...share, intensity: null }));
    expect(wordOf('sour', part).shares).toEqual(expected);
    expect(withheld.cells).toBe(told ? 0 : 1);
    expect(wordOf('sour', tell(changed, { without: ['smallGroups'] }).part).shares).toEqual(shares);
    expect(tell(changed, { tier: 'coarse' }).withheld.cells).toBe(
      tell(whole, { tier: 'coarse' }).withheld.cells - 2,
    );
  });

  test.each([
    [0, 0, true],
    [3, 0, true],
    [0, 3, true],
    [3, 3, true],
    [2, 0, false],
    [0, 2, false],
    [1, 7, false],
    [7, 1, false],
  ])('a pair told apart by %i people one way and %i the other: told is %s', (onlyFirst, onlySecond, told) => {
    const pairs = wordOf('smoky').pairs.map((pair, at) =>
      at === 1 ? { ...pair, onlyFirst, onlySecond } : pair,
    );
    const changed = withWord('smoky', { pairs });
    const { part, withheld } = tell(changed);
    expect(wordOf('smoky', part).pairs).toEqual(told ? pairs : [pairs[0], pairs[2]]);
    expect(withheld.cells).toBe(told ? 0 : 1);
    expect(wordOf('smoky', tell(changed, { without: ['smallGroups'] }).part).pairs).toEqual(pairs);
  });

  test.each([
    [3, 33, true],
    [33, 3, true],
    [2, 34, false],
    [34, 2, false],
  ])('liking of cups with a word (%i) and without it (%i): told is %s', (chosen, notChosen, told) => {
    const rows = (whole.liking?.rows ?? []).map((row, at) =>
      at === 0 ? { ...row, chosen, notChosen } : row,
    );
    const changed = { ...whole, liking: whole.liking && { ...whole.liking, rows } };
    const { part, withheld } = tell(changed);
    expect(part.liking).toEqual({ ...whole.liking, rows: told ? rows : rows.slice(1) });
    expect(withheld.cells).toBe(told ? 0 : 1);
    expect(tell(changed, { without: ['smallGroups'] }).part.liking?.rows).toEqual(rows);
  });

  test('without liking on the same cups nothing is counted of it', () => {
    const { part, withheld } = tell({ ...whole, liking: null });
    expect([part.liking, withheld.cells]).toEqual([null, 0]);
  });

  test.each([
    [5, true],
    [4, false],
  ])('two cups of one sample, tasted by %i people: told is %s', (people, told) => {
    const duplicates = whole.duplicates.map((row) => ({ ...row, people }));
    const { part, withheld } = tell({ ...whole, duplicates });
    expect(part.duplicates).toEqual(told ? duplicates : []);
    expect(withheld.cells).toBe(told ? 0 : 1);
    expect(tell({ ...whole, duplicates }, { without: ['smallGroups'] }).part.duplicates).toEqual(duplicates);
  });
});

describe('a word that too few people gave', () => {
  test('is nowhere in the part, and no sum or gap gives it away', () => {
    const { part, withheld } = tell(whole, { rare: ['smoky'] });
    expect(JSON.stringify({ ...part, settings: null })).not.toContain('smoky');
    expect(part.words).toEqual(whole.words.filter(({ id }) => id !== 'smoky'));
    expect(part.liking?.rows).toEqual(whole.liking?.rows.filter(({ id }) => id !== 'smoky'));
    expect(part.map?.words).toEqual(whole.map?.words.filter(({ key }) => key !== 'smoky'));
    // What is neither told nor unchecked would be it.
    expect(part.unchecked).toEqual([]);
    const without = whole.samples.map(
      ({ checked }, at) => checked - (wordOf('smoky').shares[at]?.checked ?? 0),
    );
    expect(part.samples.map(({ checked }) => checked)).toEqual(without);
    expect(whole.samples[0]?.checked).toBe((without[0] ?? 0) + PEOPLE);
    // Words are counted as words; the row on liking is a cell.
    expect(withheld.cells).toBe(1);
    expect(part.finding.headline).toBe(
      'The samples were described differently; no single word was shown to differ.',
    );
  });

  test('is not said to have been checked where it was the only one', () => {
    const only = { ...whole, words: [wordOf('smoky')] };
    const { part } = tell(only, { rare: ['smoky'] });
    expect(part.words).toEqual([]);
    expect(part.finding).toEqual({
      headline: 'Twelve people answered; no word was given by enough of them to be shown.',
      lede: 'Words given by fewer than three people are not shown.',
    });
    // Where nobody checked a word, nothing is withheld, and the finding says so.
    const none = tell({ ...whole, words: [] }).part;
    expect(none.finding.headline).toBe('Twelve people answered; no word of the list was checked.');
    expect(none.unchecked).toEqual(whole.unchecked);
  });

  test('leaves the list of words too rare for the map, and its caveat', () => {
    const { map } = whole;
    if (!map) throw new Error('there is a map');
    const caveat = { from: 'design' as const, arm: null, on: null };
    const other = { ...caveat, text: 'Something else.' };
    const mapped = (rare: string[]) => ({ ...map, rare });
    const saying = (rare: string[]) => [other, { ...caveat, text: rareWordsCaveat(mapped(rare)) }, other];
    const given = (rare: string[]) => ({ ...whole, map: mapped(rare), caveats: saying(rare) });

    const some = tell(given(['clove', 'hay']), { rare: ['hay'] }).part;
    expect(some.map?.rare).toEqual(['clove']);
    expect(some.caveats).toEqual(saying(['clove']));
    const all = tell(given(['clove', 'hay']), { rare: ['hay', 'clove'] }).part;
    expect(all.map?.rare).toEqual([]);
    expect(all.caveats).toEqual([other, other]);
    const untouched = tell(given(['clove', 'hay'])).part;
    expect(untouched.caveats).toEqual(saying(['clove', 'hay']));
    // Without a map nothing is said of words that are not on it.
    const coarse = tell(given(['clove', 'hay']), { tier: 'coarse' }).part;
    expect(coarse.caveats).toEqual([other, other]);
    const unmapped = { ...whole, map: null, caveats: [other] };
    expect(tell(unmapped).part.map).toBeNull();
    expect(tell(unmapped).part.caveats).toEqual([other]);
  });
});

describe('a sample that few people had', () => {
  const changed = (answers: number) => ({
    ...whole,
    samples: whole.samples.map((sample, at) => (at === 1 ? { ...sample, answers } : sample)),
  });
  test.each([
    [5, 'full', true],
    [4, 'full', false],
    [5, 'coarse', true],
    [4, 'coarse', false],
    // Everybody of an agreed panel said yes to just that.
    [4, 'agreed', true],
    [1, 'agreed', true],
  ] as const)('%i people in a panel that is %s: the part is told is %s', (answers, tier, told) => {
    const { part, orders, withheld } = tellIfAny(changed(answers), { tier });
    expect(part !== null).toBe(told);
    expect(withheld.parts).toBe(told ? 0 : 1);
    expect(orders).toEqual([]);
    expect(tellIfAny(changed(answers), { tier, without: ['smallGroups'] }).part).not.toBeNull();
  });
});
