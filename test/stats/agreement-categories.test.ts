import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { brennanPrediger } from '@oddglass/shared/stats/agreement/brennan-prediger.ts';
import { cohenKappa } from '@oddglass/shared/stats/agreement/cohen-kappa.ts';
import { fleissKappa, fleissKappaInterval } from '@oddglass/shared/stats/agreement/fleiss-kappa.ts';
import { generalisedKappa } from '@oddglass/shared/stats/agreement/generalised-kappa.ts';
import { gwetAc1 } from '@oddglass/shared/stats/agreement/gwet-ac1.ts';
import { krippendorffAlpha } from '@oddglass/shared/stats/agreement/krippendorff-alpha.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { seedOf } from '../design/chance.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

/** A table of two assessors as the units it came from. */
const unitsOf = (table: number[][]) =>
  table.flatMap((row, i) => row.flatMap((count, j) => Array.from({ length: count }, () => [i, j])));
/** Units as counts of categories 0 to q - 1. */
const countsOf = (units: number[][], q: number) =>
  units.map((unit) => Array.from({ length: q }, (_, k) => unit.filter((rating) => rating === k).length));

describe("Fleiss' kappa", () => {
  const published = referenceCase<
    { counts_subject_by_category: number[][] },
    {
      p: number[];
      Pbar: number;
      Pe: number;
      kappa: number;
      se_null_1979: number;
      z_1979: number;
      se_1971: number;
      kappa_j: number[];
    }
  >('fleiss-kappa-1971');
  const counts = published.input.counts_subject_by_category;
  it(named(published), () => {
    const { expected, tolerance } = published;
    const ours = fleissKappa({ counts });
    expectWithin(ours.kappa, expected.kappa, tolerance);
    expectWithin(ours.observedAgreement, expected.Pbar, tolerance);
    expectWithin(ours.expectedAgreement, expected.Pe, tolerance);
    expectWithin(ours.nullStandardError, expected.se_null_1979, tolerance);
    expectWithin(ours.z, expected.z_1979, tolerance);
    expected.p.forEach((share, at) => expectWithin(ours.shares[at] ?? null, share, tolerance));
    expected.kappa_j.forEach((kappa, at) => expectWithin(ours.byCategory[at] ?? null, kappa, tolerance));
    expect(ours).toMatchObject({ units: 30, ratingsPerUnit: 6 });
    // The standard error printed in 1971 is another one.
    expect(Math.abs((ours.nullStandardError ?? 0) - expected.se_1971)).toBeGreaterThan(0.003);
  });

  it('bootstrap interval: the same from the same seed, around kappa, narrower at a lower level', () => {
    const of = (level: number, seed = 1) =>
      fleissKappaInterval({ counts, level, resamples: 500, random: seededRandom(seedOf(seed)) });
    const wide = of(0.95);
    expect(of(0.95)).toEqual(wide);
    expect(of(0.95, 2)).not.toEqual(wide);
    const narrow = of(0.5);
    const kappa = fleissKappa({ counts }).kappa ?? NaN;
    for (const [left, right] of [
      [wide.lower, narrow.lower],
      [narrow.lower, kappa],
      [kappa, narrow.upper],
      [narrow.upper, wide.upper],
    ]) {
      expect(left).toBeLessThan(right ?? NaN);
    }
  });

  it('no units, one category, full agreement', () => {
    expect(fleissKappa({ counts: [] })).toMatchObject({
      kappa: null,
      observedAgreement: null,
      p: null,
      units: 0,
    });
    const one = fleissKappa({
      counts: [
        [3, 0],
        [3, 0],
      ],
    });
    expect(one).toMatchObject({ kappa: null, observedAgreement: 1, byCategory: [null, null], z: null });
    const full = [
      [3, 0],
      [0, 3],
    ];
    expectRelative(fleissKappa({ counts: full }).kappa, 1, 1e-14);
    const limits = fleissKappaInterval({
      counts: [[3, 0]],
      level: 0.9,
      resamples: 100,
      random: seededRandom(seedOf(1)),
    });
    expect(limits).toMatchObject({ lower: null, upper: null, undefinedResamples: 100 });
  });

  it.each([
    [
      'unequal numbers of ratings',
      [
        [2, 1],
        [1, 1],
      ],
    ],
    ['one rating', [[1, 0]]],
    ['rows of other length', [[2, 0], [2]]],
    ['a fraction', [[1.5, 0.5]]],
    ['a count below 0', [[-1, 3]]],
  ])('refuses %s', (_, bad) => {
    expect(() => fleissKappa({ counts: bad })).toThrowError(StatsInputError);
  });

  it('does not mind the order of units nor the names of categories', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(fc.nat(2), { minLength: 4, maxLength: 4 }), { minLength: 2, maxLength: 12 }),
        (units) => {
          const ours = fleissKappa({ counts: countsOf(units, 3) });
          const turned = fleissKappa({
            counts: countsOf(units.toReversed(), 3).map((row) => row.toReversed()),
          });
          if (ours.kappa === null) expect(turned.kappa).toBeNull();
          else {
            expectWithin(turned.kappa, ours.kappa, 1e-12);
            // Krippendorff's alpha with equal numbers of ratings, by hand: 1 - (1 - kappa)(n - 1) / n.
            const n = 4 * units.length;
            const { alpha } = krippendorffAlpha({ units, scale: 'nominal' });
            expectWithin(alpha, 1 - ((1 - ours.kappa) * (n - 1)) / n, 1e-12);
          }
        },
      ),
    );
  });
});

describe('two assessors', () => {
  interface TwoRaters {
    po: number;
    cohen_kappa: number;
    scott_pi: number;
    AC1: number;
    brennan_prediger: number;
    krippendorff_nominal: number;
  }
  const published = referenceCase<{ table: number[][] }, TwoRaters>('agreement-two-raters-3x3');
  const { table } = published.input;
  const units = unitsOf(table);
  it(named(published), () => {
    const { expected, tolerance } = published;
    const ours = cohenKappa({ table, level: 0.95 });
    expectWithin(ours.kappa, expected.cohen_kappa, tolerance);
    expectWithin(ours.observedAgreement, expected.po, tolerance);
    // Printed in the same documentation.
    expectWithin(ours.standardError, 0.05891072, 1e-8);
    expectWithin(ours.upper, expected.cohen_kappa + 1.959963985 * 0.05891072, 1e-7);
    expectWithin(fleissKappa({ counts: countsOf(units, 3) }).kappa, expected.scott_pi, tolerance);
    const { ac1, standardError } = gwetAc1({ units, categories: [0, 1, 2], level: 0.95 });
    expectWithin(ac1, expected.AC1, tolerance);
    const { coefficient } = brennanPrediger({ units, categories: [0, 1, 2], level: 0.95 });
    expectWithin(coefficient, expected.brennan_prediger, tolerance);
    // The figure printed for a table has n where that for raw ratings (the next case) has n - 1.
    expectWithin(standardError && standardError * Math.sqrt(99 / 100), 0.04321747, 1e-8);
    expectWithin(
      krippendorffAlpha({ units, scale: 'nominal' }).alpha,
      expected.krippendorff_nominal,
      tolerance,
    );
  });

  const paradox = referenceCase<{ table: number[][] }, TwoRaters>('kappa-paradox');
  it(named(paradox), () => {
    const { input, expected, tolerance } = paradox;
    const ours = cohenKappa({ table: input.table, level: 0.95 });
    expectWithin(ours.kappa, expected.cohen_kappa, tolerance);
    expectWithin(ours.observedAgreement, expected.po, tolerance);
    const { ac1 } = gwetAc1({ units: unitsOf(input.table), categories: [0, 1], level: 0.95 });
    expectWithin(ac1, expected.AC1, tolerance);
  });

  it('no units, one category for both, full agreement', () => {
    expect(cohenKappa({ table: [[0]], level: 0.9 })).toMatchObject({
      kappa: null,
      observedAgreement: null,
      n: 0,
    });
    const one = [
      [5, 0],
      [0, 0],
    ];
    expect(cohenKappa({ table: one, level: 0.9 })).toMatchObject({
      kappa: null,
      observedAgreement: 1,
      lower: null,
    });
    const full = [
      [5, 0],
      [0, 4],
    ];
    expect(cohenKappa({ table: full, level: 0.9 })).toMatchObject({
      kappa: 1,
      standardError: 0,
      upper: null,
    });
    const opposite = [
      [0, 5],
      [5, 0],
    ];
    expect(cohenKappa({ table: opposite, level: 0.9 }).kappa).toBe(-1);
  });

  it('does not mind who is first nor how categories are named', () => {
    const tables = fc.array(fc.array(fc.nat(9), { minLength: 3, maxLength: 3 }), {
      minLength: 3,
      maxLength: 3,
    });
    fc.assert(
      fc.property(tables, (some) => {
        const ours = cohenKappa({ table: some, level: 0.9 });
        const swapped = some.map((_, i) => some.map((row) => row[i] ?? 0));
        const renamed = some.map((row) => row.toReversed()).toReversed();
        for (const other of [swapped, renamed]) {
          const { kappa, standardError } = cohenKappa({ table: other, level: 0.9 });
          if (ours.kappa === null) expect(kappa).toBeNull();
          else {
            expectWithin(kappa, ours.kappa, 1e-12);
            expectWithin(standardError, ours.standardError ?? NaN, 1e-7);
          }
        }
      }),
    );
  });

  it('refuses a table that is not square, and levels that are none', () => {
    expect(() => cohenKappa({ table: [[1, 2]], level: 0.9 })).toThrowError(
      expect.objectContaining({ field: 'table' }),
    );
    expect(() => cohenKappa({ table: [[-1]], level: 0.9 })).toThrowError(StatsInputError);
    expect(() => cohenKappa({ table: [[1]], level: 0 })).toThrowError(
      expect.objectContaining({ field: 'level' }),
    );
  });
});

describe("Gwet's AC1", () => {
  const published = referenceCase<
    { raters_by_units: (number | null)[][] },
    {
      pa: number;
      pe_AC1: number;
      AC1: number;
      AC1_se: number;
      AC1_ci95: [number, number];
      fleiss_generalised: number;
      fleiss_se: number;
      fleiss_ci95: [number, number];
      brennan_prediger: number;
    }
  >('gwet-ac1-4raters');
  const raters = published.input.raters_by_units;
  const units = (raters[0] ?? []).map((_, unit) => raters.map((row) => row[unit] ?? null));
  const categories = [1, 2, 3, 4, 5];
  it(named(published), () => {
    const { expected } = published;
    const ours = gwetAc1({ units, categories, level: 0.95 });
    // Twelve digits are given; the stated tolerance is for the printed ones.
    expectWithin(ours.observedAgreement, expected.pa, 1e-11);
    expectWithin(ours.expectedAgreement, expected.pe_AC1, 1e-11);
    expectWithin(ours.ac1, expected.AC1, 1e-11);
    expectWithin(ours.standardError, expected.AC1_se, 1e-11);
    expectWithin(ours.lower, expected.AC1_ci95[0], 1e-10);
    expect(ours).toMatchObject({ upper: expected.AC1_ci95[1], units: 12, unitsWithPairs: 11 });
  });

  it(`${named(published)}: other meanings of chance`, () => {
    const { expected } = published;
    const kappa = generalisedKappa({ units, categories, level: 0.95 });
    expectWithin(kappa.kappa, expected.fleiss_generalised, 1e-11);
    expectWithin(kappa.standardError, expected.fleiss_se, 1e-11);
    expectWithin(kappa.lower, expected.fleiss_ci95[0], 1e-10);
    expect(kappa.upper).toBe(expected.fleiss_ci95[1]);
    const { coefficient } = brennanPrediger({ units, categories, level: 0.95 });
    expectWithin(coefficient, expected.brennan_prediger, 1e-11);
  });

  it('generalised kappa is that of Fleiss without gaps, and has no value when one category was used', () => {
    const full = fc.array(fc.array(fc.nat(2), { minLength: 3, maxLength: 3 }), {
      minLength: 1,
      maxLength: 12,
    });
    fc.assert(
      fc.property(full, (some) => {
        const { kappa } = generalisedKappa({ units: some, categories: [0, 1, 2], level: 0.9 });
        const fleiss = fleissKappa({ counts: countsOf(some, 3) }).kappa;
        if (fleiss === null) expect(kappa).toBeNull();
        else expectWithin(kappa, fleiss, 1e-12);
      }),
    );
    expect(
      generalisedKappa({
        units: [
          ['a', 'a'],
          ['a', 'a'],
        ],
        categories: ['a', 'b'],
        level: 0.9,
      }).kappa,
    ).toBeNull();
    expect(
      brennanPrediger({
        units: [
          ['a', 'a'],
          ['a', 'a'],
        ],
        categories: ['a', 'b'],
        level: 0.9,
      }).coefficient,
    ).toBe(1);
  });

  it('a category that nobody used still counts', () => {
    const more = gwetAc1({ units, categories: [...categories, 6], level: 0.95 });
    expect(more.ac1).toBeGreaterThan(gwetAc1({ units, categories, level: 0.95 }).ac1 ?? NaN);
  });

  it('one category, no pair, one unit, full agreement', () => {
    const of = (some: (string | null)[][], names = ['a', 'b']) =>
      gwetAc1({ units: some, categories: names, level: 0.9 });
    expect(of([['a', 'a']], ['a']).ac1).toBeNull();
    expect(
      of([
        ['a', null],
        [null, null],
      ]),
    ).toMatchObject({ ac1: null, standardError: null, units: 1, unitsWithPairs: 0 });
    expect(of([])).toMatchObject({ ac1: null, units: 0 });
    expect(of([['a', 'a']])).toMatchObject({ ac1: 1, standardError: null, lower: null });
    expect(
      of([
        ['a', 'a'],
        ['b', 'b'],
        ['a', 'a'],
      ]),
    ).toMatchObject({ ac1: 1, standardError: 0, lower: null });
  });

  it('does not mind the order of units, of assessors, or the names of categories', () => {
    const table = fc.array(fc.array(fc.option(fc.nat(2)), { minLength: 4, maxLength: 4 }), { maxLength: 12 });
    fc.assert(
      fc.property(table, (some) => {
        const names = ['z', 'y', 'x'];
        const ours = gwetAc1({ units: some, categories: [0, 1, 2], level: 0.9 });
        const other = gwetAc1({
          units: some
            .toReversed()
            .map((row) =>
              row.map((rating) => (rating === null ? null : (names[rating] ?? null))).toReversed(),
            ),
          categories: ['x', 'y', 'z'],
          level: 0.9,
        });
        if (ours.ac1 === null) expect(other.ac1).toBeNull();
        else expectWithin(other.ac1, ours.ac1, 1e-12);
        if (ours.standardError !== null) expectWithin(other.standardError, ours.standardError, 1e-7);
      }),
    );
  });

  it('refuses a rating that is no category, and a category given twice', () => {
    expect(() => gwetAc1({ units: [[7, 1]], categories, level: 0.9 })).toThrowError(
      expect.objectContaining({ field: 'units' }),
    );
    expect(() => gwetAc1({ units, categories: [1, 1], level: 0.9 })).toThrowError(
      expect.objectContaining({ field: 'categories' }),
    );
  });
});

it('a coefficient that gaps take below -1 has no limits', () => {
  const { kappa, lower, upper, standardError } = generalisedKappa({
    units: [
      [1, null],
      [null, 1],
      [2, 1],
    ],
    categories: [1, 2, 3],
    level: 0.95,
  });
  expect(kappa).toBeLessThan(-1);
  expect(standardError).toBeGreaterThan(0);
  expect({ lower, upper }).toEqual({ lower: null, upper: null });
});
