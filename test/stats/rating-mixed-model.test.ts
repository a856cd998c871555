import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { balancedAnova } from '@oddglass/shared/stats/rating/anova.ts';
import {
  cholesky,
  inverse,
  logDeterminant,
  multiply,
  type Matrix,
} from '@oddglass/shared/stats/rating/matrix.ts';
import { fitDesign, mixedDesign, type RatingInContext } from '@oddglass/shared/stats/rating/mixed-design.ts';
import { mixedModel } from '@oddglass/shared/stats/rating/mixed-model.ts';
import { nesting, solveV, spread, traces } from '@oddglass/shared/stats/rating/nested-variance.ts';
import { residualChecks } from '@oddglass/shared/stats/rating/residual-checks.ts';
import { contrast } from '@oddglass/shared/stats/rating/satterthwaite.ts';
import { studentTwoSidedP } from '@oddglass/shared/stats/student-t.ts';
import { normalQuantile } from '@oddglass/shared/stats/normal.ts';
import { fullTable, ratingsOf, wineRatings, wineResponses } from './rating-data.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

type Coefficient = [estimate: number, standardError: number, df: number, t: number, p: number];
const fit = (ratings: readonly RatingInContext[], interaction = false) =>
  mixedModel({ ratings, interaction, level: 0.95 });

describe('mixed model by REML', () => {
  const balanced = referenceCase<
    unknown,
    {
      coef: Coefficient[];
      var_judge: number;
      var_residual: number;
      F: Record<'temp' | 'contact', number>;
      dendf: number[];
      p: number[];
      REMLcrit: number;
    }
  >('lmm-wine-balanced');

  it(named(balanced), () => {
    const { expected } = balanced;
    // 'cold no' is temperature and contact in one name.
    const [temp, contact] = [0, 1].map((own) =>
      fit(
        wineRatings().map((rating) => {
          const parts = rating.sample.split(' ');
          return { ...rating, sample: parts[own] ?? '', also: { other: parts[1 - own] ?? '' } };
        }),
      ),
    );
    // The fit there stopped at 1e-7 or so of the optimum: 61 degrees of freedom came out as 61.0000000895.
    [temp, contact].forEach((model, index) => {
      const [estimate = NaN, standardError = NaN] = expected.coef[index + 1] ?? [];
      const [pair] = model?.pairs ?? [];
      expectRelative(pair?.difference ?? null, -estimate, 1e-10);
      expectRelative(pair?.standardError ?? null, standardError, 1e-8);
      expectRelative(model?.sampleTest?.f ?? null, expected.F[index === 0 ? 'temp' : 'contact'], 1e-8);
      expectWithin(model?.sampleTest?.df2 ?? null, expected.dendf[index] ?? NaN, 1e-6);
      expectRelative(model?.sampleTest?.p ?? null, expected.p[index] ?? NaN, 1e-6);
      expectRelative(model?.variances?.assessor ?? null, expected.var_judge, 1e-6);
      expectRelative(model?.variances?.residual ?? null, expected.var_residual, 1e-6);
      expectWithin(model?.remlCriterion ?? null, expected.REMLcrit, 1e-8);
    });
    // The intercept there is the mean of cold without contact.
    const design = mixedDesign(
      wineRatings().map((rating) => ({
        ...rating,
        also: { contact: rating.sample.split(' ')[1] ?? '' },
        sample: rating.sample.split(' ')[0] ?? '',
      })),
    );
    const model = fitDesign(design, false);
    const intercept = model && contrast(model, [1, 0, 0]);
    const [estimate = NaN, standardError = NaN, df = NaN] = expected.coef[0] ?? [];
    expectRelative(intercept?.estimate ?? null, estimate, 1e-8);
    expectRelative(intercept?.standardError ?? null, standardError, 1e-6);
    expectWithin(intercept?.df ?? null, df, 1e-4);
  });

  const unbalanced = referenceCase<
    { data: [number, string, number][] },
    {
      coef: Coefficient[];
      var_judge: number;
      var_residual: number;
      satterthwaite: { F: number; numdf: number; dendf: number; p: number };
      REMLcrit: number;
      emmeans: Record<'emmean' | 'SE' | 'df' | 'lower.CL' | 'upper.CL', number>[];
      pairs_tukey: (Record<'estimate' | 'SE' | 'df' | 't.ratio' | 'p.value', number> & {
        contrast: string;
      })[];
    }
  >('lmm-wine-unbalanced-rating');

  it(`${named(unbalanced)}: to 1e-6 on estimates and 1e-4 on degrees of freedom`, () => {
    const { expected } = unbalanced;
    const ours = fit(ratingsOf(unbalanced.input.data));
    expectRelative(ours.sampleTest?.f ?? null, expected.satterthwaite.F, 1e-6);
    expect(ours.sampleTest?.df1).toBe(expected.satterthwaite.numdf);
    expectWithin(ours.sampleTest?.df2 ?? null, expected.satterthwaite.dendf, 1e-4);
    expectRelative(ours.sampleTest?.p ?? null, expected.satterthwaite.p, 1e-5);
    expectRelative(ours.variances?.assessor ?? null, expected.var_judge, 1e-6);
    expectRelative(ours.variances?.residual ?? null, expected.var_residual, 1e-6);
    expectWithin(ours.remlCriterion, expected.REMLcrit, 1e-8);
    ours.means.forEach((mean, index) => {
      const wanted = expected.emmeans[index];
      expectRelative(mean.mean, wanted?.emmean ?? NaN, 1e-6);
      expectRelative(mean.standardError, wanted?.SE ?? NaN, 1e-6);
      expectWithin(mean.df, wanted?.df ?? NaN, 1e-4);
      expectRelative(mean.lower, wanted?.['lower.CL'] ?? NaN, 1e-6);
      expectRelative(mean.upper, wanted?.['upper.CL'] ?? NaN, 1e-6);
    });
    ours.pairs.forEach((pair, index) => {
      const wanted = expected.pairs_tukey[index];
      expect(`${pair.first} - ${pair.second}`).toBe(wanted?.contrast);
      expectRelative(pair.difference, wanted?.estimate ?? NaN, 1e-6);
      expectRelative(pair.standardError, wanted?.SE ?? NaN, 1e-6);
      expectWithin(pair.df, wanted?.df ?? NaN, 1e-4);
      expectRelative(pair.t, wanted?.['t.ratio'] ?? NaN, 1e-6);
      expectWithin(pair.tukey, wanted?.['p.value'] ?? NaN, 1e-8);
      expect(pair.holm).toBeGreaterThanOrEqual(pair.p);
      expect(pair.lower > 0 || pair.upper < 0).toBe(pair.tukey <= 0.05);
    });
    expect(ours.means.map(({ n }) => n)).toEqual([17, 16, 14, 15]);
  });

  const equal = referenceCase<
    unknown,
    { F: number; dendf: number; p: number; variances: { grp: string; vcov: number }[] }
  >('lmm-equals-anova');

  it(`${named(equal)}: and the analysis of variance to 1e-9`, () => {
    const { expected, tolerance } = equal;
    const ours = fit(wineResponses(), true);
    expectWithin(ours.sampleTest?.f ?? null, expected.F, tolerance);
    expectWithin(ours.sampleTest?.df2 ?? null, expected.dendf, tolerance);
    const variance = (name: string) => expected.variances.find(({ grp }) => grp === name)?.vcov ?? NaN;
    expectRelative(ours.variances?.interaction ?? null, variance('judge:prod'), tolerance);
    expectRelative(ours.variances?.assessor ?? null, variance('judge'), tolerance);
    expectRelative(ours.variances?.residual ?? null, variance('Residual'), tolerance);
    const table = balancedAnova({ ratings: wineResponses() });
    expectRelative(ours.sampleTest?.f ?? null, table.sampleTest?.f ?? NaN, 1e-9);
    expectWithin(ours.sampleTest?.df2 ?? null, 24, 1e-8);
    // Moment estimates are the REML ones where all are positive: (MS interaction - MS residual) / 2.
    expectRelative(ours.variances?.interaction ?? null, (170.835648148 - 139.583333333) / 2, 1e-9);
  });

  const singular = referenceCase<
    { data: [string, string, number][] },
    { var_residual: number; F_mixed: number; dendf: number; F_two_way_anova: number }
  >('lmm-singular');

  it(named(singular), () => {
    const { expected } = singular;
    const ratings = ratingsOf(singular.input.data);
    const ours = fit(ratings);
    expect(ours.variances).toMatchObject({ assessor: 0, interaction: null });
    expectRelative(ours.variances?.residual ?? null, expected.var_residual, 1e-9);
    expectRelative(ours.sampleTest?.f ?? null, expected.F_mixed, 1e-9);
    expectWithin(ours.sampleTest?.df2 ?? null, expected.dendf, 1e-8);
    expect(ours.cautions.join(' ')).toContain('estimated as zero');
    expectRelative(balancedAnova({ ratings }).sampleTest?.f ?? null, expected.F_two_way_anova, 1e-9);
  });

  it('missing ratings, a further factor and assessor by sample together (R 4.2.2, lmerTest 3.1-3, bobyqa to 1e-10)', () => {
    const dropped = [3, 10, 11, 24, 29, 38, 46, 47, 55, 70];
    // Bottles alternate between the first and the second of their sample.
    const ratings = wineResponses()
      .map((rating, i) => ({ ...rating, also: { bottle: i % 2 === 0 ? 'first' : 'second' } }))
      .filter((_, i) => !dropped.includes(i + 1));
    const ours = fit(ratings, true);
    expectRelative(ours.sampleTest?.f ?? null, 21.0532356532, 1e-7);
    expectWithin(ours.sampleTest?.df2 ?? null, 24.1622958925, 1e-5);
    expectRelative(ours.sampleTest?.p ?? null, 6.33001109696e-7, 1e-6);
    expectRelative(ours.variances?.interaction ?? null, 29.8008156026, 1e-6);
    expectRelative(ours.variances?.assessor ?? null, 62.5437588704, 1e-6);
    expectRelative(ours.variances?.residual ?? null, 122.5446198056, 1e-6);
    expectWithin(ours.remlCriterion, 470.356130063, 1e-8);
    const wanted = [
      [11.486065067534, 4.67397664533, 21.9711539592],
      [18.144563134631, 4.81050808233, 24.530838274],
      [36.916617059739, 4.7426354567, 23.307498538],
    ];
    // The first three pairs are those with the first sample.
    wanted.forEach(([estimate = NaN, standardError = NaN, df = NaN], index) => {
      const pair = ours.pairs[index];
      expectRelative(pair?.difference ?? null, -estimate, 1e-7);
      expectRelative(pair?.standardError ?? null, standardError, 1e-7);
      expectWithin(pair?.df ?? null, df, 1e-5);
    });
  });

  it('gives the F of the analysis of variance on every full table whose variances are above 0', () => {
    fc.assert(
      fc.property(fullTable({ assessors: 7, samples: 4, replicates: 3 }), (ratings) => {
        const table = balancedAnova({ ratings });
        const replicated = table.replicates > 1;
        const ours = fit(ratings, replicated);
        fc.pre(ours.sampleTest !== null && ours.variances !== null && table.sampleTest !== null);
        const { assessor = 0, interaction = null } = ours.variances ?? {};
        fc.pre(assessor > 1e-6 && (interaction === null || interaction > 1e-6));
        const f = table.sampleTest?.f ?? NaN;
        // Equal means give an F of 0 only to rounding.
        expectWithin(ours.sampleTest?.f ?? null, f, Math.max(1e-20, 1e-6 * f));
        expectRelative(ours.sampleTest?.df2 ?? null, table.sampleTest?.df2 ?? NaN, 1e-5);
        ours.means.forEach(({ mean }, index) => expectWithin(mean, table.means[index]?.mean ?? NaN, 1e-8));
      }),
    );
  });

  it('does not mind row order, nor a move or stretch of the scale, when ratings are missing', () => {
    fc.assert(
      fc.property(
        fullTable({ assessors: 8, samples: 4, replicates: 2 }),
        fc.infiniteStream(fc.integer({ min: 0, max: 9 })),
        (full, keys) => {
          const kept = full.filter(() => keys.next().value !== 0);
          fc.pre(kept.length > 8 && new Set(kept.map(({ sample }) => sample)).size > 1);
          const ours = fit(kept, true);
          expect(fit(kept.toReversed(), true)).toEqual(ours);
          fc.pre(ours.sampleTest !== null);
          const moved = fit(
            kept.map((rating) => ({ ...rating, value: 40 - 3 * rating.value })),
            true,
          );
          expectWithin(
            moved.sampleTest?.f ?? null,
            ours.sampleTest?.f ?? NaN,
            1e-5 * (1 + (ours.sampleTest?.f ?? 0)),
          );
          moved.means.forEach(({ mean }, index) => {
            expectWithin(mean, 40 - 3 * (ours.means[index]?.mean ?? NaN), 1e-6);
          });
        },
      ),
      { numRuns: 60 },
    );
  });

  it('of two samples is the paired t test when assessors agree on nothing but the order', () => {
    const gaps = [1.2, 0.4, 2.1, 0.9, 1.7];
    const ratings = gaps.flatMap((gap, i) => [
      { assessor: `a${i}`, sample: 's', value: i * 2 },
      { assessor: `a${i}`, sample: 't', value: i * 2 + gap },
    ]);
    const middle = 6.3 / 5;
    const spreadOf = Math.sqrt(gaps.reduce((sum, gap) => sum + (gap - middle) ** 2, 0) / 4 / 5);
    const [pair] = fit(ratings).pairs;
    expectRelative(pair?.t ?? null, -middle / spreadOf, 1e-8);
    expectRelative(pair?.p ?? null, studentTwoSidedP(middle / spreadOf, 4), 1e-7);
    expectRelative(pair?.tukey ?? null, pair?.p ?? NaN, 1e-9);
  });

  it('says why there is no test, and what to be careful about', () => {
    const rate = (assessor: string, sample: string, value: number) => ({ assessor, sample, value });
    expect(fit([])).toMatchObject({ reason: 'no data', sampleTest: null, means: [], variances: null });
    expect(fit([rate('a', 's', 1), rate('b', 's', 2)]).reason).toBe('one sample');
    expect(fit([rate('a', 's', 1), rate('a', 't', 2)]).reason).toBe('one assessor');
    expect(fit([rate('a', 's', 1), rate('b', 't', 2)]).reason).toBe('too few ratings');
    const flat = wineRatings().map((rating) => ({ ...rating, value: 3 }));
    expect(fit(flat)).toMatchObject({ reason: 'no residual variation', sampleTest: null, pairs: [] });
    // Each assessor shifts all samples alike: nothing is left for the residual.
    const shifted = wineRatings().map((rating) => ({
      ...rating,
      value: Number(rating.assessor) + rating.sample.length,
    }));
    expect(fit(shifted)).toMatchObject({ reason: 'no residual variation', sampleTest: null });
    expect(fit(wineRatings()).cautions.join(' ')).toContain('Replicates count as independent');
    const few = fit([...wineRatings().filter(({ assessor }) => Number(assessor) < 4), rate('1', 'new', 3)]);
    expect(few.cautions.join(' ')).toContain('Only 3 assessors');
    expect(few.cautions.join(' ')).toContain('Sample new was rated by one assessor only');
  });

  it('refuses factors that say the same as samples, and ratings that lack a factor', () => {
    const confounded = wineRatings().map((rating) => ({ ...rating, also: { bottle: rating.sample } }));
    expect(() => fit(confounded)).toThrowError(StatsInputError);
    const [first, ...rest] = confounded;
    expect(() => fit([{ ...first, also: {} } as RatingInContext, ...rest])).toThrowError(/also.bottle/);
    expect(() => mixedModel({ ratings: [], interaction: false, level: 1 })).toThrowError(
      expect.objectContaining({ field: 'level' }),
    );
  });
});

describe('covariance in blocks', () => {
  const shape = nesting([0, 0, 0, 1, 1, 2, 0, 1], [0, 0, 1, 0, 1, 1, 2, 1]);
  const ratios = [0.7, 1.9] as const;
  const columnsOf = (part: 0 | 1 | 2): Matrix =>
    Array.from({ length: 8 }, (_, i) => [
      ...spread(
        shape,
        part,
        Array.from({ length: 8 }, (_, j) => Number(i === j)),
      ),
    ]);
  const dense = columnsOf(0).map((row, i) =>
    row.map((value, j) => value + 0.7 * (columnsOf(1)[i]?.[j] ?? 0) + 1.9 * (columnsOf(2)[i]?.[j] ?? 0)),
  );
  const l = cholesky(dense) ?? [];

  it('is inverted as the full matrix is', () => {
    const full = inverse(l);
    full.forEach((row, i) => {
      const column = solveV(
        shape,
        ratios,
        Array.from({ length: 8 }, (_, j) => Number(i === j)),
      );
      row.forEach((value, j) => expectWithin(column[j] ?? NaN, value, 1e-13));
    });
  });

  it('has the determinant and the traces of the full matrix', () => {
    const known = traces(shape, ratios);
    expectWithin(known.logDet, logDeterminant(l), 1e-12);
    const trace = (matrix: Matrix) => matrix.reduce((sum, row, i) => sum + (row[i] ?? 0), 0);
    const parts = ([0, 1, 2] as const).map((part) => multiply(inverse(l), columnsOf(part)));
    parts.forEach((one, i) => {
      expectWithin(known.single[i] ?? NaN, trace(one), 1e-12);
      parts.forEach((other, j) => {
        expectWithin(known.double[i]?.[j] ?? NaN, trace(multiply(one, other)), 1e-12);
      });
    });
  });
});

describe('residual checks', () => {
  const of = (values: number[]) =>
    residualChecks({ residuals: values.map((residual, i) => ({ sample: `s${i % 2}`, residual })) });

  it('agree with SciPy 1.17.1: levene(center="median"), and the squared correlation with Blom scores', () => {
    const ours = of([2, 3, 1, 4, 9, 2, 8, 3, 5, 5, 6, 30]);
    expectRelative(ours.spreadP, 0.5513529841015856, 1e-10);
    expectRelative(ours.straightness, 0.5893950081777396, 1e-10);
    expect(ours.normalP).toBeLessThan(0.001);
    expect(ours.far).toBe(1);
    expect(ours.sayings.join(' ')).toMatch(
      /do not look normal.*no clear difference between samples.*1 of 12 residuals lies beyond/,
    );
  });

  it('find nothing in normal scores, and uneven spread where it is', () => {
    const scores = Array.from({ length: 60 }, (_, i) => normalQuantile((i + 0.5) / 60));
    expect(of(scores).sayings).toEqual([
      'Residuals show no clear departure from a normal shape.',
      'Spread shows no clear difference between samples.',
    ]);
    const uneven = of(scores.map((value, i) => (i % 2 === 0 ? value : value * 8)));
    expect(uneven.spreadP).toBeLessThan(0.01);
    expect(uneven.sayings.join(' ')).toContain('Spread differs');
  });

  it('cannot be made of few or equal residuals, and refuse what is no number', () => {
    expect(of([1, 2, 3])).toMatchObject({ straightness: null, normalP: null });
    expect(of([0, 0, 0, 0, 0, 0])).toMatchObject({ straightness: null, spreadP: null, far: 0 });
    expect(of([]).sayings).toHaveLength(1);
    expect(() => of([1, NaN])).toThrowError(expect.objectContaining({ field: 'residuals[1].residual' }));
  });

  it('are made of the residuals of the model', () => {
    const model = fit(wineRatings());
    expect(model.residuals).toHaveLength(72);
    const total = model.residuals.reduce((sum, { residual }) => sum + residual, 0);
    expectWithin(total, 0, 1e-9);
    expect(residualChecks(model).sayings[0]).toContain('no clear departure');
  });
});
