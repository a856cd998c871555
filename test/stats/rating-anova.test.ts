import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { balancedAnova } from '@oddglass/shared/stats/rating/anova.ts';
import { lsd } from '@oddglass/shared/stats/rating/lsd.ts';
import { ratingTable, type Rating } from '@oddglass/shared/stats/rating/ratings.ts';
import { tukey } from '@oddglass/shared/stats/rating/tukey.ts';
import { studentTwoSidedP } from '@oddglass/shared/stats/student-t.ts';
import { fullTable, ratingsOf, wineResponses } from './rating-data.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

// The file gives twelve digits, so that relative comparisons to 1e-11 are possible where its tolerance is wider.
const DIGITS = 1e-11;

describe('analysis of variance', () => {
  const replicated = referenceCase<
    unknown,
    Record<`${'F' | 'p'}_${'product_fixed' | 'product_mixed' | 'judge' | 'inter'}`, number> & {
      SS: number[];
      df: number[];
      MS: number[];
      means: Record<string, number>;
    }
  >('anova-wine-replicated');

  it(named(replicated), () => {
    const { expected } = replicated;
    const ours = balancedAnova({ ratings: wineResponses() });
    expect(ours.rows.map(({ source }) => source)).toEqual(['sample', 'assessor', 'interaction', 'residual']);
    ours.rows.forEach((row, index) => {
      expectRelative(row.ss, expected.SS[index] ?? NaN, DIGITS);
      expectRelative(row.ms, expected.MS[index] ?? NaN, DIGITS);
      expect(row.df).toBe(expected.df[index]);
    });
    const tests = [
      [ours.sampleTest, expected.F_product_mixed, expected.p_product_mixed],
      [ours.sampleTestTheseAssessors, expected.F_product_fixed, expected.p_product_fixed],
      [ours.assessorTest, expected.F_judge, expected.p_judge],
      [ours.interactionTest, expected.F_inter, expected.p_inter],
    ] as const;
    for (const [test, f, p] of tests) {
      expectRelative(test?.f ?? null, f, DIGITS);
      expectRelative(test?.p ?? null, p, 1e-10);
    }
    for (const { sample, mean, n } of ours.means) {
      expectRelative(mean, expected.means[sample] ?? NaN, DIGITS);
      expect(n).toBe(18);
    }
    expect(ours).toMatchObject({ replicates: 2, n: 72, reason: null, error: { df: 24 } });
    // From the sums of squares of the case: 12883.44 / (12883.44 + 4100.06), and 3 (F - 1) / (3 F + 24).
    expectRelative(ours.partialEtaSquared, 12883.4444444 / (12883.4444444 + 4100.05555556), 1e-9);
    expectRelative(ours.partialEpsilonSquared, (3 * 24.1380875598) / (3 * 25.1380875598 + 24), 1e-9);
  });

  const single = referenceCase<
    { judge_by_product_means: [number, string, number][] },
    { SS: number[]; df: number[]; MS: number[]; F: number[]; p: number[] }
  >('anova-wine-unreplicated');

  it(named(single), () => {
    const ours = balancedAnova({ ratings: ratingsOf(single.input.judge_by_product_means) });
    expect(ours.rows.map(({ source }) => source)).toEqual(['sample', 'assessor', 'residual']);
    ours.rows.forEach((row, index) => {
      expectRelative(row.ss, single.expected.SS[index] ?? NaN, DIGITS);
      expectRelative(row.ms, single.expected.MS[index] ?? NaN, DIGITS);
      expect(row.df).toBe(single.expected.df[index]);
    });
    [ours.sampleTest, ours.assessorTest].forEach((test, index) => {
      expectRelative(test?.f ?? null, single.expected.F[index] ?? NaN, DIGITS);
      expectRelative(test?.p ?? null, single.expected.p[index] ?? NaN, 1e-10);
    });
    expect(ours.sampleTestTheseAssessors).toBeNull();
    expect(ours.interactionTest).toBeNull();
  });

  it('of two samples is the paired t test of assessor means', () => {
    fc.assert(
      fc.property(fullTable({ assessors: 9, samples: 2, replicates: 3 }), (ratings) => {
        const { cells, assessors } = ratingTable(ratings);
        const average = (values: number[] = []) => values.reduce((a, b) => a + b, 0) / values.length;
        const gaps = assessors.map((_, j) => average(cells[0]?.[j]) - average(cells[1]?.[j]));
        const middle = average(gaps);
        const spread = gaps.reduce((total, gap) => total + (gap - middle) ** 2, 0) / (gaps.length - 1);
        fc.pre(spread > 1e-6);
        const t = middle / Math.sqrt(spread / gaps.length);
        const ours = balancedAnova({ ratings }).sampleTest;
        expectWithin(ours?.f ?? null, t * t, 1e-8 * (1 + t * t));
        expectWithin(ours?.p ?? null, studentTwoSidedP(t, gaps.length - 1), 1e-8);
      }),
    );
  });

  it('does not mind the order of rows, other names, nor a move or stretch of the scale', () => {
    fc.assert(
      fc.property(
        fullTable({ assessors: 6, samples: 5, replicates: 2 }),
        fc.infiniteStream(fc.nat()),
        (ratings, keys) => {
          const ours = balancedAnova({ ratings });
          fc.pre(ours.sampleTest !== null);
          const shuffled = ratings
            .map((rating) => ({ rating, key: Number(keys.next().value) }))
            .sort((a, b) => a.key - b.key)
            .map(({ rating }) => rating);
          expect(balancedAnova({ ratings: shuffled })).toEqual(ours);
          const renamed = ratings.map(({ assessor, sample, value }): Rating => ({
            assessor: `z${9 - Number(assessor.slice(1))}`,
            sample: `z${9 - Number(sample.slice(1))}`,
            value: 7 - 2 * value,
          }));
          const other = balancedAnova({ ratings: renamed });
          expectWithin(other.sampleTest?.p ?? null, ours.sampleTest?.p ?? NaN, 1e-9);
          expectWithin(other.partialEtaSquared, ours.partialEtaSquared ?? NaN, 1e-9);
          // Parts add up to the whole.
          const all = ours.rows.reduce((total, { ss }) => total + ss, 0);
          const middle = ratings.reduce((total, { value }) => total + value, 0) / ratings.length;
          expectWithin(
            all,
            ratings.reduce((total, { value }) => total + (value - middle) ** 2, 0),
            1e-8,
          );
          expect(ours.rows.reduce((total, { df }) => total + df, 0)).toBe(ratings.length - 1);
        },
      ),
    );
  });

  it('says why there is no test', () => {
    const grid = (rows: number[][]) =>
      balancedAnova({
        ratings: rows.flatMap((row, i) =>
          row.map((value, j) => ({ assessor: `a${i}`, sample: `s${j}`, value })),
        ),
      });
    expect(balancedAnova({ ratings: [] })).toMatchObject({ sampleTest: null, reason: 'no data', means: [] });
    expect(grid([[3.1], [4.2]])).toMatchObject({ sampleTest: null, reason: 'one sample' });
    expect(grid([[3.1, 4.2]])).toMatchObject({ sampleTest: null, reason: 'one assessor' });
    // The same answers from everyone, with values that are not exact in binary.
    const alike = grid([
      [0.1, 0.7, 0.3],
      [0.1, 0.7, 0.3],
      [0.1, 0.7, 0.3],
    ]);
    expect(alike).toMatchObject({ sampleTest: null, reason: 'no error variation', error: null });
    expect(alike.means.map(({ mean }) => mean.toFixed(6))).toEqual(['0.100000', '0.700000', '0.300000']);
    expect(
      grid([
        [0.1, 0.1],
        [0.1, 0.1],
      ]),
    ).toMatchObject({ sampleTest: null, partialEtaSquared: null });
  });

  it('refuses a missing or unequal cell by name, and values that are no numbers', () => {
    const ratings = wineResponses();
    expect(() => balancedAnova({ ratings: ratings.slice(1) })).toThrowError(StatsInputError);
    expect(() => balancedAnova({ ratings: ratings.slice(1) })).toThrowError(/sample cold no by assessor 2/);
    const [first] = ratings;
    expect(() => balancedAnova({ ratings: [{ assessor: 'a', sample: 's', value: NaN }] })).toThrowError(
      expect.objectContaining({ field: 'ratings[0].value' }),
    );
    expect(() => ratingTable([{ assessor: '', sample: first?.sample ?? '', value: 1 }])).toThrowError(
      expect.objectContaining({ field: 'ratings[0].assessor' }),
    );
  });
});

describe('pairs after the analysis of variance', () => {
  const wine = referenceCase<
    { means: Record<string, number>; n_per_mean: number; MS_error: number; df: number },
    { q: number; HSD: number; LSD: number; pairs: string[]; absdiff: number[]; p: number[] }
  >('tukey-wine');
  const input = {
    means: Object.entries(wine.input.means).map(([sample, mean]) => ({
      sample,
      mean,
      n: wine.input.n_per_mean,
    })),
    msError: wine.input.MS_error,
    df: wine.input.df,
    alpha: 0.05,
  };

  it(named(wine), () => {
    const ours = tukey(input);
    expectWithin(ours.q, wine.expected.q, wine.tolerance);
    expectWithin(ours.hsd, wine.expected.HSD, wine.tolerance);
    ours.pairs.forEach((pair, index) => {
      expect(`${pair.first} - ${pair.second}`).toBe(wine.expected.pairs[index]);
      expectWithin(Math.abs(pair.difference), wine.expected.absdiff[index] ?? NaN, 1e-9);
      expectWithin(pair.p, wine.expected.p[index] ?? NaN, wine.tolerance);
      expect(pair.significant).toBe(pair.p <= 0.05);
      expectRelative(pair.upper - pair.lower, 2 * (ours.hsd ?? NaN), 1e-12);
      expect(pair.significant).toBe(pair.lower > 0 || pair.upper < 0);
    });
    const unadjusted = lsd({ ...input, overallP: 1.39e-7 });
    expectWithin(unadjusted.lsd, wine.expected.LSD, wine.tolerance);
    unadjusted.pairs.forEach(({ p }, index) => expect(p).toBeLessThan(ours.pairs[index]?.p ?? NaN));
  });

  it('tukey-wine, small p relative to SciPy 1.17.1 studentized_range.sf, the tolerance being larger than the value', () => {
    const last = tukey(input).pairs[2];
    expectRelative(last?.p ?? null, 9.178565674172745e-8, 1e-8);
  });

  it('of two means is the t test', () => {
    const two = { ...input, means: input.means.slice(0, 2) };
    const [pair] = tukey(two).pairs;
    const t = 9.5 / Math.sqrt((2 * input.msError) / 18);
    expectRelative(pair?.p ?? null, studentTwoSidedP(t, 24), 1e-10);
    expectRelative(lsd({ ...two, overallP: 0.01 }).pairs[0]?.p ?? null, pair?.p ?? NaN, 1e-10);
  });

  it('of unequal numbers is Tukey-Kramer: no single difference, wider for the smaller group', () => {
    const uneven = tukey({
      ...input,
      means: [
        { sample: 'a', mean: 5, n: 4 },
        { sample: 'b', mean: 5, n: 9 },
        { sample: 'c', mean: 5, n: 16 },
      ],
    });
    expect(uneven.hsd).toBeNull();
    expect(uneven.method).toContain('Kramer');
    const widths = uneven.pairs.map(({ lower, upper }) => upper - lower);
    // sqrt(1/4 + 1/9), sqrt(1/4 + 1/16), sqrt(1/9 + 1/16).
    expectRelative((widths[0] ?? NaN) / (widths[1] ?? NaN), Math.sqrt(13 / 36 / (5 / 16)), 1e-12);
    expect(uneven.pairs.every(({ p }) => p === 1)).toBe(true);
  });

  it('LSD claims nothing without a significant F test', () => {
    expect(lsd({ ...input, overallP: 0.06 })).toMatchObject({ allowed: false, pairs: [] });
  });

  it('refuses one mean, no error and no degrees of freedom', () => {
    expect(() => tukey({ ...input, means: input.means.slice(0, 1) })).toThrowError(
      expect.objectContaining({ field: 'means.length' }),
    );
    expect(() => tukey({ ...input, msError: 0 })).toThrowError(expect.objectContaining({ field: 'msError' }));
    expect(() => tukey({ ...input, df: 0 })).toThrowError(expect.objectContaining({ field: 'df' }));
    expect(() => lsd({ ...input, overallP: 2 })).toThrowError(expect.objectContaining({ field: 'overallP' }));
  });
});
