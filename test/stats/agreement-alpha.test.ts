import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { bootstrapLimits } from '@oddglass/shared/stats/agreement/bootstrap.ts';
import {
  krippendorffAlpha,
  krippendorffInterval,
  type RatingScale,
} from '@oddglass/shared/stats/agreement/krippendorff-alpha.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { seedOf } from '../design/chance.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectWithin } from './within.ts';

const SCALES: RatingScale[] = ['nominal', 'ordinal', 'interval', 'ratio'];

/** By the matrix of coincidences, as Krippendorff 2011 writes it; shares nothing with the code under test. */
function byCoincidences(units: (number | null)[][], scale: RatingScale): number | null {
  const given = units
    .map((unit) => unit.filter((rating) => rating !== null))
    .filter((unit) => unit.length > 1);
  const values = [...new Set(given.flat())].sort((a, b) => a - b);
  const margin = (value: number) => given.flat().filter((rating) => rating === value).length;
  const n = given.flat().length;
  const distance = (c: number, k: number): number => {
    if (c === k) return 0;
    if (scale === 'nominal') return 1;
    if (scale === 'interval') return (c - k) ** 2;
    if (scale === 'ratio') return ((c - k) / (c + k)) ** 2;
    const between = values.filter((value) => value >= Math.min(c, k) && value <= Math.max(c, k));
    return (between.reduce((sum, value) => sum + margin(value), 0) - (margin(c) + margin(k)) / 2) ** 2;
  };
  let observed = 0;
  let expected = 0;
  for (const c of values) {
    for (const k of values) {
      const coincidences = given.reduce((sum, unit) => {
        const [nc, nk] = [c, k].map((value) => unit.filter((rating) => rating === value).length) as [
          number,
          number,
        ];
        return sum + (c === k ? nc * (nc - 1) : nc * nk) / (unit.length - 1);
      }, 0);
      observed += coincidences * distance(c, k);
      expected += margin(c) * margin(k) * distance(c, k);
    }
  }
  return given.length < 2 || values.length < 2 ? null : 1 - ((n - 1) * observed) / expected;
}

const table = (rating: fc.Arbitrary<number>) =>
  fc.array(fc.array(fc.option(rating), { minLength: 1, maxLength: 5 }), { maxLength: 12 });

describe("Krippendorff's alpha", () => {
  const published = referenceCase<
    { raters_by_units: (number | null)[][] },
    { alpha: Record<RatingScale, number>; n_pairable: number }
  >('krippendorff-4coders');
  const raters = published.input.raters_by_units;
  const units = (raters[0] ?? []).map((_, unit) => raters.map((row) => row[unit] ?? null));
  it.each(SCALES)(`${named(published)}: %s`, (scale) => {
    const { expected, tolerance } = published;
    const ours = krippendorffAlpha({ units, scale });
    expectWithin(ours.alpha, expected.alpha[scale], tolerance);
    expect(ours).toMatchObject({ ratings: expected.n_pairable, units: 11, undefinedBecause: null });
  });

  it.each(SCALES)('%s: as by the matrix of coincidences (Krippendorff 2011)', (scale) => {
    const ratings = scale === 'interval' ? fc.integer({ min: -4, max: 4 }) : fc.nat(6);
    fc.assert(
      fc.property(table(ratings), (some) => {
        const wanted = byCoincidences(some, scale);
        const { alpha } = krippendorffAlpha({ units: some, scale });
        if (wanted === null) expect(alpha).toBeNull();
        else expectWithin(alpha, wanted, 1e-12 * Math.max(1, Math.abs(wanted)));
      }),
    );
  });

  it.each(SCALES)('%s: does not mind the order of units or assessors, nor units with one rating', (scale) => {
    fc.assert(
      fc.property(table(fc.nat(5)), (some) => {
        const ours = krippendorffAlpha({ units: some, scale }).alpha;
        const turned = [...some.map((row) => row.toReversed()).toReversed(), [3, null], [], [null]];
        const { alpha } = krippendorffAlpha({ units: turned, scale });
        if (ours === null) expect(alpha).toBeNull();
        else expectWithin(alpha, ours, 1e-12);
      }),
    );
  });

  it('the scales mind what they should: names, order, unit and zero', () => {
    const changed = (change: (value: number) => number) =>
      units.map((unit) => unit.map((rating) => (rating === null ? null : change(rating))));
    const same = (scale: RatingScale, change: (value: number) => number) =>
      Math.abs(
        (krippendorffAlpha({ units: changed(change), scale }).alpha ?? NaN) -
          (krippendorffAlpha({ units, scale }).alpha ?? NaN),
      ) < 1e-12;
    expect(same('nominal', (value) => (value * 7) % 11)).toBe(true);
    expect(same('ordinal', (value) => Math.exp(value))).toBe(true);
    expect(same('ordinal', (value) => -value)).toBe(true);
    expect(same('interval', (value) => 40 - 3 * value)).toBe(true);
    expect(same('ratio', (value) => 3 * value)).toBe(true);
    expect(same('ordinal', (value) => (value * 7) % 11)).toBe(false);
    expect(same('interval', (value) => value ** 2)).toBe(false);
    expect(same('ratio', (value) => value + 1)).toBe(false);
    const names = units.map((unit) => unit.map((rating) => rating && `category ${rating}`));
    expectWithin(
      krippendorffAlpha({ units: names, scale: 'nominal' }).alpha,
      published.expected.alpha.nominal,
      1e-11,
    );
  });

  it('full agreement is 1; nothing to compare is null', () => {
    for (const scale of SCALES) {
      const of = (some: (number | null)[][]) => krippendorffAlpha({ units: some, scale });
      expect(
        of([
          [1, 1],
          [0.3, 0.3, 0.3],
        ]).alpha,
      ).toBe(1);
      expect(
        of([
          [0.1, 0.1, 0.1],
          [0.1, 0.1],
        ]),
      ).toMatchObject({ alpha: null, undefinedBecause: 'all ratings are the same' });
      for (const few of [[], [[1, 2]], [[1], [2], [3, null]]]) {
        expect(of(few)).toMatchObject({
          alpha: null,
          observedDisagreement: null,
          undefinedBecause: 'fewer than two units with two ratings',
        });
      }
    }
  });

  it('refuses names on a scale of numbers, numbers below 0 on a ratio scale, and what is no number', () => {
    for (const [some, scale] of [
      [[['a', 'b']], 'ordinal'],
      [
        [
          [-1, 2],
          [1, 1],
        ],
        'ratio',
      ],
      [[[NaN, 2]], 'nominal'],
    ] as const) {
      expect(() => krippendorffAlpha({ units: some, scale })).toThrowError(StatsInputError);
    }
  });

  it('bootstrap interval: the same from the same seed, around alpha, and the order of units matters to no limit much', () => {
    const of = (some: (number | null)[][], seed: number) =>
      krippendorffInterval({
        units: some,
        scale: 'ordinal',
        level: 0.95,
        resamples: 2000,
        random: seededRandom(seedOf(seed)),
      });
    const ours = of(units, 1);
    expect(of(units, 1)).toEqual(ours);
    const alpha = krippendorffAlpha({ units, scale: 'ordinal' }).alpha ?? NaN;
    expect(ours.lower).toBeLessThan(alpha);
    expect(ours.upper).toBeGreaterThan(alpha);
    expect(ours).toMatchObject({ undefinedResamples: 0, fewUnits: true });
    const turned = of(units.toReversed(), 2);
    expectWithin(turned.lower, ours.lower ?? NaN, 0.08);
    expectWithin(turned.upper, ours.upper ?? NaN, 0.03);
  });

  it('too many resamples without variation: no limits', () => {
    const ours = krippendorffInterval({
      units: [
        [1, 1],
        [2, 2],
      ],
      scale: 'nominal',
      level: 0.9,
      resamples: 400,
      random: seededRandom(seedOf(1)),
    });
    expect(ours).toMatchObject({ lower: null, upper: null });
    // Both draws of one unit: half of the resamples.
    expect(Math.abs(ours.undefinedResamples - 200)).toBeLessThan(50);
  });
});

describe('bootstrap over units', () => {
  it('of a mean: limits near those of the normal distribution for 400 units', () => {
    const values = Array.from({ length: 400 }, (_, at) => Math.sin(at * 1.7) * 2);
    const mean = values.reduce((sum, value) => sum + value, 0) / 400;
    const error = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0)) / 400;
    const { lower, upper } = bootstrapLimits({
      count: 400,
      statistic: (drawn) => drawn.reduce((sum, at) => sum + (values[at] ?? NaN), 0) / drawn.length,
      level: 0.9,
      resamples: 4000,
      random: seededRandom(seedOf(3)),
    });
    // Monte Carlo error of such a quantile is about 3 per cent of a standard error.
    expectWithin(lower, mean - 1.6449 * error, 0.13 * error);
    expectWithin(upper, mean + 1.6449 * error, 0.13 * error);
  });

  it('has no limits without units, and refuses too few resamples', () => {
    const settings = { statistic: () => 1, level: 0.9, random: seededRandom(seedOf(1)) };
    expect(bootstrapLimits({ ...settings, count: 0, resamples: 100 })).toMatchObject({
      lower: null,
      upper: null,
    });
    expect(() => bootstrapLimits({ ...settings, count: 2, resamples: 99 })).toThrowError(
      expect.objectContaining({ field: 'resamples' }),
    );
  });
});
