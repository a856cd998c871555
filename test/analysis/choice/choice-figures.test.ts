import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import { describe, expect, test } from 'vitest';
import { named, referenceCase } from '../../stats/reference-case.ts';
import {
  ARMS,
  input,
  ORDERS,
  PARTS,
  rightPlaces,
  tray,
  trays,
  wrongPlaces,
  type PartName,
} from './choice-input.ts';

// Figures beside the test: sizes with their limits, and what the plan could show. Values from SciPy 1.17.1 (stats.binom,
// stats.beta) where no other source stands beside them.

const NAMES = Object.keys(PARTS) as PartName[];
const analyse = (name: PartName, n: number, right: number, change = {}) =>
  analyseChoice(input({ ...PARTS[name], ...change }, trays(name, n, right)));

test('guessing gives n times the guessing rate on average', () => {
  const expected = NAMES.map((name) => [name, analyse(name, 30, 15).test.expectedByGuessing]);
  expect(Object.fromEntries(expected)).toEqual({
    triangle: 10,
    'duo-trio': 15,
    tetrad: 10,
    'two-out-of-five': 3,
    'three-afc': 10,
    'directional-pair': 15,
    'open-pair': 15,
  });
});

test('what is counted stands with its share and in words; without a right answer by the names of the arms', () => {
  const triangle = analyse('triangle', 30, 12);
  expect([triangle.proportionCounted, triangle.outcome]).toEqual([
    0.4,
    { counted: 'right', other: 'not right' },
  ]);
  expect(analyse('directional-pair', 16, 12).outcome).toEqual({ counted: 'right', other: 'not right' });
  const pair = analyse('open-pair', 16, 12);
  expect([pair.proportionCounted, pair.outcome]).toEqual([0.75, { counted: 'Cool', other: 'Warm' }]);
});

test('which arm was named how often, with the exact interval where no direction was fixed (Clopper & Pearson 1934)', () => {
  const { stronger } = analyse('open-pair', 16, 12);
  expect(stronger).toMatchObject({
    attribute: 'bitter',
    rows: [
      { armId: ARMS[0], answers: 12 },
      { armId: ARMS[1], answers: 4 },
    ],
    share: { estimate: 0.75, level: 0.95 },
  });
  expect(stronger?.share?.lower).toBeCloseTo(0.4762291801038727, 10);
  expect(stronger?.share?.upper).toBeCloseTo(0.9273379617471178, 10);
  expect(analyse('directional-pair', 16, 12).stronger?.share).toBeNull();
  expect(analyse('three-afc', 16, 12).stronger?.share).toBeNull();
  expect(analyse('triangle', 16, 12).stronger).toBeNull();
});

test.each(NAMES)('%s: where nobody answered there is no figure, and no p below one', (name) => {
  for (const aim of ['difference', 'similarity'] as const) {
    const result = analyse(name, 0, 0, { aim });
    expect(result).toMatchObject({
      proportionCounted: null,
      share: null,
      dPrime: null,
      posterior: null,
      replicates: null,
      power: { answers: 0, power: null },
      test: { answers: 0, counted: 0, p: 1, smallestP: 1, critical: null },
      similarity: aim === 'similarity' ? { answers: 0, counted: 0, mostCounted: null, p: 1 } : null,
    });
    expect(result.stronger?.share ?? null).toBeNull();
    expect(result.finding).toEqual({
      verdict: 'no-data',
      headline: 'Nobody answered, so nothing can be said.',
      lede: 'No ballot came in before the tasting was closed.',
    });
  }
});

describe('d-prime of a pair without a direction', () => {
  const known = referenceCase<
    unknown,
    { dprime: number; se_delta: number; ci95_from_clopper_pearson: [number, number] }
  >('dprime-2-AFC-13-16');

  test(`is that of a 2-AFC with its sign, and as sure either way round: ${named(known)}`, () => {
    const { dprime, se_delta, ci95_from_clopper_pearson: limits } = known.expected;
    for (const [count, sign] of [
      [13, 1],
      [3, -1],
    ] as const) {
      const { dPrime } = analyse('open-pair', 16, count);
      expect(dPrime?.estimate).toBeCloseTo(sign * dprime, 8);
      expect(dPrime?.standardError).toBeCloseTo(se_delta, 8);
      const [low, high] = [dPrime?.lower ?? NaN, dPrime?.upper ?? NaN];
      expect(sign === 1 ? low : -high).toBeCloseTo(limits[0], 8);
      expect(sign === 1 ? high : -low).toBeCloseTo(limits[1], 8);
      expect(dPrime?.level).toBe(0.95);
    }
  });

  test('has no bound on the side where all named one arm, and then no standard error', () => {
    const all = analyse('open-pair', 12, 12).dPrime;
    const none = analyse('open-pair', 12, 0).dPrime;
    expect(all).toMatchObject({ estimate: null, standardError: null, upper: null });
    expect(none).toMatchObject({ estimate: null, standardError: null, lower: null });
    // 12 of 12: the lower limit of the share is 0.025^(1/12) (Clopper & Pearson 1934); sqrt(2) z of it.
    expect(all?.lower).toBeCloseTo(0.8896529158705652, 8);
    expect(none?.upper).toBeCloseTo(-(all?.lower ?? NaN), 10);
  });
});

describe('what the plan could show', () => {
  test('a difference: power and the smallest number of answers', () => {
    // Both from min-n-duo-trio-grid and min-n-triangle-grid (SciPy): alpha 0.05, beta 0.2, half discriminators.
    expect(analyse('directional-pair', 12, 6).power.smallestForPlan).toBe(23);
    expect(analyse('duo-trio', 12, 6).power.smallestForPlan).toBe(23);
    expect(analyse('triangle', 12, 6).power.smallestForPlan).toBe(16);
    expect(analyse('open-pair', 12, 6).power.smallestForPlan).toBe(30);
    expect(analyse('open-pair', 30, 6).power.power).toBeCloseTo(0.8034069187820485, 10);
    const known = referenceCase<unknown, { power: number }>('power-duo-trio-40-0.05-0.3');
    expect(analyse('duo-trio', 40, 20, { meaningfulShare: 0.3 }).power.power).toBeCloseTo(
      known.expected.power,
      10,
    );
  });

  const alike = { aim: 'similarity', beta: 0.05 } as const;

  test('likeness: the chance that people who all guess are shown to be within the limit', () => {
    const triangle = analyse('triangle', 66, 22, { ...alike, meaningfulShare: 0.3, alpha: 0.1 }).power;
    // 28 of 66 still show it; both as in the doc comments of shared/stats, from SciPy.
    expect(triangle.power).toBeCloseTo(0.953080109977, 10);
    expect(triangle.smallestForPlan).toBe(54);
    expect(analyse('triangle', 12, 4, alike).power).toMatchObject({
      smallestForPlan: 23,
      meaningfulShare: 0.5,
    });
    expect(analyse('triangle', 12, 4, alike).power.power).toBeCloseTo(0.6315207144349042, 10);
  });

  test('likeness without a direction: neither arm may be named too often', () => {
    // 24 of 40 still show it, so 16 to 24 do; 49 people are the first of whom 95 % of panels would.
    const { power, smallestForPlan } = analyse('open-pair', 40, 20, alike).power;
    expect(power).toBeCloseTo(0.8461400558371673, 10);
    expect(smallestForPlan).toBe(49);
    expect(analyse('open-pair', 40, 20, { ...alike, alpha: 0.2 }).power.smallestForPlan).toBe(33);
    // Of 14 only seven and seven show it: C(14, 7) = 3,432 of 2^14 ways.
    expect(analyse('open-pair', 14, 7, alike).power.power).toBeCloseTo(3432 / 16384, 12);
  });

  test('likeness without a direction cannot be shown where the limit lies below half of the panel', () => {
    // P(X <= x) at three quarters: the limits of 5, 7, 9, 12 and 15 people are 1, 2, 4, 5 and 7.
    for (const n of [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 15]) {
      const { power, similarity, finding } = analyse('open-pair', n, n >> 1, alike);
      expect([n, power.power]).toEqual([n, 0]);
      expect(similarity?.mostCounted).toBeNull();
      expect(finding.verdict).toBe('similarity-not-shown');
    }
    // 16 of 33 at a limit of 0.3: in floating point both tails from 17 on add up to a little less than one.
    expect(analyse('open-pair', 33, 16, { ...alike, meaningfulShare: 0.3 }).power.power).toBe(0);
    // At just half it can.
    for (const [n, most] of [
      [14, 7],
      [16, 8],
      [18, 9],
    ] as const) {
      const { similarity, finding } = analyse('open-pair', n, most, alike);
      expect(similarity?.mostCounted).toBe(most);
      expect(finding.verdict).toBe('similarity-shown');
      expect(analyse('open-pair', n, most + 1, alike).finding.verdict).toBe('similarity-not-shown');
    }
  });

  test('where no panel of 2,000 is enough, no number is named', () => {
    const share = { meaningfulShare: 0.02 };
    for (const name of ['triangle', 'open-pair'] as const) {
      expect(analyse(name, 12, 6, share).power.smallestForPlan).toBeNull();
      expect(analyse(name, 12, 6, { ...share, ...alike }).power.smallestForPlan).toBeNull();
    }
  });

  test('a difference counts answers, likeness people', () => {
    const served = Array.from({ length: 24 }, (_, index) => {
      const order = ORDERS.triangle[index % 6] ?? '';
      const chosen = index % 4 === 0 ? rightPlaces('triangle', order) : wrongPlaces('triangle', order);
      return tray(order, chosen, { assessor: `a${index >> 1}`, replicate: (index % 2) + 1 });
    });
    const powerOf = (aim: 'difference' | 'similarity') =>
      analyseChoice(input({ ...PARTS.triangle, replicates: 2, beta: 0.05, aim }, served)).power;
    expect(powerOf('difference').answers).toBe(24);
    expect(powerOf('similarity').answers).toBe(12);
    expect(powerOf('similarity').power).toBeCloseTo(0.6315207144349042, 10);
    // power-triangle-24 is at 0.3; at half discriminators 13 of 24 are reached in 93.2 % of panels.
    expect(powerOf('difference').power).toBeCloseTo(0.9323412209675686, 10);
  });
});
