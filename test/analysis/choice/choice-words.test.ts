import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import type { ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import { describe, expect, test } from 'vitest';
import { input, ORDERS, PARTS, rightPlaces, tray, trays, wrongPlaces } from './choice-input.ts';

// What stands beside a verdict: words and comments by whether the choice was right, and what repeated trays weigh.

interface Said {
  assessor?: string;
  replicate?: number;
  descriptors?: string[];
  comment?: string;
}
const answer = (index: number, right: boolean, said: Said = {}): ServedTray => {
  const order = ORDERS.triangle[index % 6] ?? '';
  const chosen = right ? rightPlaces('triangle', order) : wrongPlaces('triangle', order);
  return tray(order, chosen, { assessor: `a${index}`, ...said });
};

describe('words after a choice', () => {
  const words = new Map(
    ['apple', 'banana', 'clove', 'dill', 'elder'].map((word) => [word, { word, family: 'f' }]),
  );
  const served = [
    answer(0, true, { descriptors: ['elder', 'dill', 'clove'] }),
    answer(1, true, { descriptors: ['dill', 'banana', 'clove'] }),
    answer(2, true, { descriptors: ['elder'] }),
    answer(3, false, { descriptors: ['banana', 'apple'] }),
    answer(4, false, { descriptors: ['banana', 'clove'] }),
    answer(5, false),
    answer(6, false),
  ];

  test('are counted by whether the choice was right: most right first, then most others, then by the alphabet', () => {
    // Counted by hand from the list above.
    const wanted = {
      countedAnswers: 3,
      otherAnswers: 4,
      rows: [
        { word: 'clove', counted: 2, other: 1 },
        { word: 'dill', counted: 2, other: 0 },
        { word: 'elder', counted: 2, other: 0 },
        { word: 'banana', counted: 1, other: 2 },
        { word: 'apple', counted: 0, other: 1 },
      ],
    };
    const [first, ...others] = served;
    for (const trays of [
      served,
      served.toReversed(),
      [...served.slice(3), ...served.slice(0, 3)],
      // Here dill is met before elder, and above after it.
      [...others, first!],
    ]) {
      expect(analyseChoice({ ...input(PARTS.triangle, trays), words }).descriptors).toEqual(wanted);
    }
  });

  test('of a panel that named none there are no rows', () => {
    expect(analyseChoice(input(PARTS.triangle, trays('triangle', 7, 2))).descriptors).toEqual({
      countedAnswers: 2,
      otherAnswers: 5,
      rows: [],
    });
  });
});

test('comments stand with whether the choice was right, those of right ones first; none where nothing was written', () => {
  const served = [
    answer(0, false, { comment: 'thin' }),
    answer(1, true),
    answer(2, true, { comment: 'warm' }),
    answer(3, false),
    answer(4, true, { comment: 'rich' }),
  ];
  expect(analyseChoice(input(PARTS.triangle, served)).comments).toEqual([
    { counted: true, text: 'rich' },
    { counted: true, text: 'warm' },
    { counted: false, text: 'thin' },
  ]);
});

describe('repeated trays', () => {
  /** One person for each list: right, or not, tray by tray. */
  const panel = (people: readonly (readonly boolean[])[]): ServedTray[] =>
    people.flatMap((trays, person) =>
      trays.map((right, at) => answer(person + at, right, { assessor: `p${person}`, replicate: at + 1 })),
    );
  const ofEach = (counts: readonly number[], of: number): boolean[][] =>
    counts.map((count) => Array.from({ length: of }, (_, at) => at < count));
  const analyse = (served: readonly ServedTray[], change = {}) =>
    analyseChoice({ ...input({ ...PARTS.triangle, replicates: 4 }, served), ...change });
  const counts = [4, 4, 3, 1, 2, 0, 1, 4, 2, 1, 3, 4, 1, 2, 4];
  const known = panel(ofEach(counts, 4));

  test('widen the interval by how alike the answers of one palate are: 15 people of four trays', () => {
    const { replicates, share, test: tested } = analyse(known);
    // The panel of reference case betabinomial-triangle-15x4; limits by SciPy 1.17.1 (stats.beta.ppf, stats.t.ppf).
    expect(tested).toMatchObject({ counted: 36, answers: 60 });
    expect(share?.lower).toBeCloseTo((0.4217629889365 - 1 / 3) / (2 / 3), 9);
    expect(share?.upper).toBeCloseTo((0.7604284168481 - 1 / 3) / (2 / 3), 9);
    expect(share?.level).toBe(0.9);
    expect(replicates?.effectiveAnswers).toBeCloseTo(26.30092513588, 8);
    // 1 + (m - 1) gamma (Ennis & Bi 1998), gamma by moments 0.35119047619.
    expect(replicates?.designEffect).toBeCloseTo(1 + 3 * 0.35119047619, 9);
    expect(replicates?.perAssessor).toEqual([
      { answers: 4, counted: 4, assessors: 5 },
      { answers: 4, counted: 3, assessors: 2 },
      { answers: 4, counted: 2, assessors: 3 },
      { answers: 4, counted: 1, assessors: 4 },
      { answers: 4, counted: 0, assessors: 1 },
    ]);
    expect(replicates?.reading).toMatch(
      /^60 answers came from 15 people: .* For the interval they weigh like 26\.3 answers of different people\.$/,
    );
  });

  test('widen the standard error of d-prime likewise: by the root of 60 over 26.3', () => {
    const widened = Math.sqrt(60 / 26.30092513588);
    const once = analyseChoice(input(PARTS.triangle, trays('triangle', 60, 36))).dPrime;
    const { dPrime } = analyse(known);
    expect(dPrime?.estimate).toBeCloseTo(once?.estimate ?? NaN, 12);
    expect((dPrime?.standardError ?? NaN) / (once?.standardError ?? NaN)).toBeCloseTo(widened, 9);
    // The same panel on pairs without a direction, whose interval of 90 % pairs with alpha 0.1.
    const pair = { ...PARTS['open-pair'], alpha: 0.1 };
    const pairs = known.map(({ assessor, replicate }, index) => {
      const order = ORDERS['open-pair'][index % 2] ?? '';
      const first = counts[Math.floor(index / 4)]! > index % 4;
      const chosen = first ? rightPlaces('open-pair', order) : wrongPlaces('open-pair', order);
      return tray(order, chosen, { assessor, replicate });
    });
    const signed = analyseChoice(input({ ...pair, replicates: 4 }, pairs)).dPrime;
    const single = analyseChoice(input(pair, trays('open-pair', 60, 36))).dPrime;
    expect(signed?.estimate).toBeCloseTo(single?.estimate ?? NaN, 12);
    expect((signed?.standardError ?? NaN) / (single?.standardError ?? NaN)).toBeCloseTo(widened, 9);
  });

  test('are told of as such where some people had one tray only, and not where all had', () => {
    const { replicates } = analyse(panel([[true], [true, false], [false]]));
    expect(replicates?.perAssessor).toEqual([
      { answers: 2, counted: 1, assessors: 1 },
      { answers: 1, counted: 1, assessors: 1 },
      { answers: 1, counted: 0, assessors: 1 },
    ]);
    expect(analyse(panel([[true], [false], [true]])).replicates).toBeNull();
  });

  test('count each palate once where readers are not told how single palates did', () => {
    const words: ReadonlySet<string> = new Set();
    const withheld = analyse(known, { unanalysed: { palates: true, words } });
    // As if each always gave the same answer: 15 people weigh like 15 answers.
    expect(withheld.replicates).toMatchObject({ designEffect: null, effectiveAnswers: 15 });
    expect(withheld.replicates?.reading).toMatch(/is withheld, so each palate counts once\.$/);
    expect(withheld.posterior).toBeNull();
    const told = analyse(known, { unanalysed: { palates: false, words } });
    expect(told).toEqual(analyse(known));
    expect(told.posterior).toMatchObject({ answers: 15 });
  });

  test('weigh the same to the last bit in whatever order people are handed over', () => {
    const people = ofEach([3, 0, 2, 1, 3, 1, 2, 0, 3, 2, 1], 3);
    const { replicates, share, dPrime } = analyse(panel(people));
    for (let first = 1; first < people.length; first++) {
      const turned = panel([...people.slice(first), ...people.slice(0, first)]);
      expect(analyse(turned)).toMatchObject({ replicates, share, dPrime });
    }
  });
});
