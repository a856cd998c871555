import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { balancedAnova } from '@oddglass/shared/stats/rating/anova.ts';
import {
  compareWithControl,
  meansAgainstControl,
} from '@oddglass/shared/stats/rating/compare-with-control.ts';
import { mixedModel } from '@oddglass/shared/stats/rating/mixed-model.ts';
import { oneFactor } from '@oddglass/shared/stats/rating/one-factor.ts';
import { ratingsOf, wineResponses } from './rating-data.ts';
import { referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

describe('comparison with a control', () => {
  const table = balancedAnova({ ratings: wineResponses() });
  const error = { msError: table.error?.ms ?? NaN, df: table.error?.df ?? NaN };
  const wine = meansAgainstControl({ means: table.means, ...error, control: 'cold no', alpha: 0.05 });

  it('of a full table: differences to the control, p between plain and Bonferroni', () => {
    expect(wine).toMatchObject({ adjustment: 'dunnett', control: 'cold no', reason: null });
    expect(wine.comparisons.map(({ sample }) => sample)).toEqual(['cold yes', 'warm no', 'warm yes']);
    wine.comparisons.forEach(({ difference, p, adjusted, lower, upper, significant }, index) => {
      expectWithin(difference, [9.5, 18.9444444444, 36.2222222222][index] ?? NaN, 1e-9);
      expect(adjusted).toBeGreaterThan(p);
      expect(adjusted).toBeLessThan(3 * p);
      expect(significant).toBe(adjusted <= 0.05);
      expect(significant).toBe(lower > 0 || upper < 0);
    });
    // 24 df, three comparisons, equal numbers: the interval's half-width over its SE is the critical value 2.51.
    const [first] = wine.comparisons;
    expectWithin(
      ((first?.upper ?? NaN) - (first?.lower ?? NaN)) / 2 / (first?.standardError ?? NaN),
      2.51,
      0.01,
    );
  });

  it('by the mixed model of a full table is the same test', () => {
    const ours = compareWithControl({
      ratings: wineResponses(),
      control: 'cold no',
      interaction: true,
      alpha: 0.05,
    });
    expect(ours.adjustment).toBe('dunnett');
    ours.comparisons.forEach((one, index) => {
      const other = wine.comparisons[index];
      expectRelative(one.adjusted, other?.adjusted ?? NaN, 1e-6);
      expectRelative(one.lower, other?.lower ?? NaN, 1e-6);
      expectRelative(one.df, 24, 1e-8);
    });
  });

  it('with missing ratings takes the pairs of the mixed model, each at most as certain as its own t test', () => {
    const { data } = referenceCase<{ data: [number, string, number][] }, unknown>(
      'lmm-wine-unbalanced-rating',
    ).input;
    const ratings = ratingsOf(data);
    const ours = compareWithControl({ ratings, control: 'warm no', interaction: false, alpha: 0.05 });
    const { pairs } = mixedModel({ ratings, interaction: false, level: 0.95 });
    for (const one of ours.comparisons) {
      const pair = pairs.find(
        ({ first, second }) => [first, second].sort().join() === [one.sample, 'warm no'].sort().join(),
      );
      expectRelative(Math.abs(one.t), Math.abs(pair?.t ?? NaN), 1e-12);
      expectRelative(one.p, pair?.p ?? NaN, 1e-10);
      expect(one.adjusted).toBeGreaterThanOrEqual(one.p);
      expect(one.adjusted).toBeLessThan(pair?.tukey ?? NaN);
    }
  });

  it('falls back to Holm where correlations are no products, and says so', () => {
    // Four samples besides the control, two of which were served to other people than the rest.
    const layout = ['cab', 'cab', 'cad', 'cde', 'cde', 'cde', 'cbe', 'cad', 'cab'];
    const ratings = layout.flatMap((set, i) =>
      [...set].map((sample, j) => ({
        assessor: `p${i}`,
        sample,
        value: ((i * 7 + j * 5 + sample.charCodeAt(0)) % 11) + i,
      })),
    );
    const ours = compareWithControl({ ratings, control: 'c', interaction: false, alpha: 0.05 });
    expect(ours.adjustment).toBe('holm');
    expect(ours.method).toContain('Holm');
    const sorted = [...ours.comparisons].sort((a, b) => a.p - b.p);
    expectRelative(sorted[0]?.adjusted ?? null, Math.min(1, 4 * (sorted[0]?.p ?? NaN)), 1e-12);
  });

  it('of two samples is the t test', () => {
    const means = table.means.slice(0, 2);
    const [one] = meansAgainstControl({ means, ...error, control: 'cold yes', alpha: 0.05 }).comparisons;
    expect(one?.adjusted).toBe(one?.p);
    expectWithin(one?.difference ?? null, -9.5, 1e-9);
  });

  it('refuses an unknown or only control, and says why there is no comparison', () => {
    const input = { interaction: false, alpha: 0.05 };
    expect(() =>
      meansAgainstControl({ means: table.means, ...error, control: 'x', alpha: 0.05 }),
    ).toThrowError(StatsInputError);
    expect(() =>
      meansAgainstControl({ means: table.means.slice(0, 1), ...error, control: 'cold no', alpha: 0.05 }),
    ).toThrowError(expect.objectContaining({ field: 'means.length' }));
    expect(() => compareWithControl({ ratings: [], control: 'x', ...input })).toThrowError(
      expect.objectContaining({ field: 'control' }),
    );
    expect(() =>
      compareWithControl({ ratings: [{ assessor: 'a', sample: 'x', value: 1 }], control: 'x', ...input }),
    ).toThrowError(expect.objectContaining({ field: 'ratings' }));
    const flat = wineResponses().map((rating) => ({ ...rating, value: 4 }));
    expect(compareWithControl({ ratings: flat, control: 'cold no', ...input })).toMatchObject({
      reason: 'no residual variation',
      comparisons: [],
    });
    const one = wineResponses().filter(({ assessor }) => assessor === '1');
    expect(compareWithControl({ ratings: one, control: 'cold no', ...input }).reason).toBe('one assessor');
  });

  it('finds loadings only where there are some', () => {
    const products = [0.2, 0.5, 0.9, 0.4];
    const correlation = products.map((a, i) => products.map((b, j) => (i === j ? 1 : a * b)));
    oneFactor(correlation)?.forEach((loading, index) => expectWithin(loading, products[index] ?? NaN, 1e-12));
    expect(
      oneFactor([
        [1, -0.2],
        [-0.2, 1],
      ]),
    ).toBeNull();
    expect(oneFactor([[1]])).toEqual([0]);
    const bent = correlation.map((row, i) => row.map((value, j) => (i + j === 5 ? value + 0.01 : value)));
    expect(oneFactor(bent)).toBeNull();
  });
});
