import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { cumulativeLink } from '@oddglass/shared/stats/rating/cumulative-link.ts';
import type { RatingInContext } from '@oddglass/shared/stats/rating/mixed-design.ts';
import { fitOrdinal } from '@oddglass/shared/stats/rating/ordinal-likelihood.ts';
import { wineRatings } from './rating-data.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const FIVE = { lowest: 1, highest: 5 };
const fit = (ratings: readonly RatingInContext[], assessors: 'random' | 'ignored') =>
  cumulativeLink({ ratings, scale: FIVE, assessors, level: 0.95 });

/** The wine with temperature (0) or contact (1) as the sample and the other as a further factor. */
function wineBy(own: 0 | 1): RatingInContext[] {
  return wineRatings().map((rating) => {
    const parts = rating.sample.split(' ');
    return { ...rating, sample: parts[own] ?? '', also: { other: parts[1 - own] ?? '' } };
  });
}

describe('cumulative link model', () => {
  type Name = '1|2' | '2|3' | '3|4' | '4|5' | 'tempwarm' | 'contactyes';
  const wine = referenceCase<
    unknown,
    {
      clm: { coef: Record<Name, number>; se: Record<Name, number>; logLik: number };
      clmm: { coef: Record<Name, number>; sd: number; var: number; logLik: number };
    }
  >('clm-clmm-wine');

  it(`${named(wine)}: without assessors, to 1e-8`, () => {
    const { coef, se, logLik } = wine.expected.clm;
    const [temp, contact] = [fit(wineBy(0), 'ignored'), fit(wineBy(1), 'ignored')];
    for (const { below, above, estimate, standardError } of temp.thresholds) {
      const name = `${below}|${above}` as Name;
      expectRelative(estimate, coef[name], 1e-8);
      expectRelative(standardError, se[name], 1e-7);
    }
    expectRelative(temp.effects[1]?.estimate ?? null, coef.tempwarm, 1e-8);
    expectRelative(temp.effects[1]?.standardError ?? null, se.tempwarm, 1e-7);
    expectRelative(contact.effects[1]?.estimate ?? null, coef.contactyes, 1e-8);
    expectRelative(contact.effects[1]?.standardError ?? null, se.contactyes, 1e-7);
    expectWithin(temp.logLikelihood, logLik, 1e-9);
    expect(temp.assessorSd).toBeNull();
    expect(temp.cautions.join(' ')).toContain('takes ratings as independent');
  });

  it(`${named(wine)}: assessors random`, () => {
    const { expected, tolerance } = wine;
    const { coef, sd, logLik } = expected.clmm;
    const [temp, contact] = [fit(wineBy(0), 'random'), fit(wineBy(1), 'random')];
    for (const { below, above, estimate } of temp.thresholds) {
      expectWithin(estimate, coef[`${below}|${above}` as Name], tolerance);
    }
    expectWithin(temp.effects[1]?.estimate ?? null, coef.tempwarm, tolerance);
    expectWithin(contact.effects[1]?.estimate ?? null, coef.contactyes, tolerance);
    expectWithin(temp.assessorSd, sd, tolerance);
    expectWithin((temp.assessorSd ?? NaN) ** 2, expected.clmm.var, tolerance);
    expectWithin(temp.logLikelihood, logLik, tolerance);
  });

  it('assessors random: the maximum of the Laplace likelihood found by SciPy 1.17.1 (Nelder-Mead, modes to 1e-15)', () => {
    const temp = fit(wineBy(0), 'random');
    const wanted = [-1.62366949, 1.51335688, 4.22852038, 6.08876935];
    temp.thresholds.forEach(({ estimate }, index) => expectWithin(estimate, wanted[index] ?? NaN, 1e-6));
    expectWithin(temp.effects[1]?.estimate ?? null, 3.06300035, 1e-6);
    expectWithin(temp.assessorSd, 1.13113954, 1e-6);
    expectWithin(temp.logLikelihood, -81.56541277649265, 1e-9);
  });

  it('tests samples by the likelihood ratio: both fits against models without the factor', () => {
    const { sampleTest, logLikelihood } = fit(wineBy(0), 'ignored');
    const rows = wineBy(0);
    const without = fitOrdinal({
      y: rows.map(({ value }) => value - 1),
      categories: 5,
      columns: [rows.map(({ also }) => Number(also?.other === 'yes'))],
      people: null,
    });
    const ratio = 2 * ((logLikelihood ?? NaN) - (without?.logLikelihood ?? NaN));
    expectRelative(sampleTest?.chiSquare ?? null, ratio, 1e-9);
    expect(sampleTest?.df).toBe(1);
    expect(sampleTest?.p).toBeLessThan(1e-6);
  });

  it('pairs: odds ratios with limits, adjusted p never below the plain one', () => {
    const { pairs, effects } = fit(wineRatings(), 'random');
    expect(pairs).toHaveLength(6);
    for (const pair of pairs) {
      const effect = (name: string) => effects.find(({ sample }) => sample === name)?.estimate ?? NaN;
      expectWithin(pair.difference, effect(pair.first) - effect(pair.second), 1e-12);
      expectRelative(pair.oddsRatio, Math.exp(pair.difference), 1e-12);
      expect(pair.lower).toBeLessThan(pair.oddsRatio);
      expect(pair.upper).toBeGreaterThan(pair.oddsRatio);
      expect(pair.tukey).toBeGreaterThanOrEqual(pair.p);
      expect(pair.holm).toBeGreaterThanOrEqual(pair.p);
    }
  });

  it('of two categories and two samples is the log of the odds ratio, SE from the counts', () => {
    const counts = [
      { sample: 'a', value: 1, times: 12 },
      { sample: 'a', value: 2, times: 5 },
      { sample: 'b', value: 1, times: 4 },
      { sample: 'b', value: 2, times: 9 },
    ];
    const ratings = counts.flatMap(({ sample, value, times }) =>
      Array.from({ length: times }, (_, i) => ({ assessor: `${sample}${value}${i}`, sample, value })),
    );
    const ours = cumulativeLink({
      ratings,
      scale: { lowest: 1, highest: 2 },
      assessors: 'ignored',
      level: 0.9,
    });
    expectRelative(ours.effects[1]?.estimate ?? null, Math.log((12 * 9) / (5 * 4)), 1e-9);
    expectRelative(ours.effects[1]?.standardError ?? null, Math.sqrt(1 / 12 + 1 / 5 + 1 / 4 + 1 / 9), 1e-7);
    expect(ours.cautions).toEqual([]);
  });

  it('does not mind row order, and turns its sign when the scale is turned', () => {
    const category = fc.integer({ min: 1, max: 5 });
    fc.assert(
      fc.property(
        fc.array(category, { minLength: 30, maxLength: 30 }),
        fc.constantFrom('random', 'ignored'),
        (values, assessors) => {
          const ratings = values.map((value, i) => ({
            assessor: `p${i % 10}`,
            sample: `s${Math.floor(i / 10)}`,
            value,
          }));
          const ours = fit(ratings, assessors);
          expect(fit(ratings.toReversed(), assessors)).toEqual(ours);
          fc.pre(ours.reason === null);
          const turned = fit(
            ratings.map((rating) => ({ ...rating, value: 6 - rating.value })),
            assessors,
          );
          expectWithin(turned.logLikelihood, ours.logLikelihood ?? NaN, 1e-7);
          ours.effects.forEach(({ estimate }, i) => {
            expectWithin(turned.effects[i]?.estimate ?? null, -estimate, 1e-4);
          });
        },
      ),
      { numRuns: 40 },
    );
  });

  it('assessors who do not differ: their variance is 0 and the fit is that without them', () => {
    const values = [1, 2, 3, 2, 3, 3, 3, 1, 2, 1, 2, 3, 2, 2, 1, 3];
    const ratings = values.map((value, i) => ({
      assessor: `p${Math.floor(i / 4)}`,
      sample: `s${i % 2}`,
      value,
    }));
    const [random, plain] = [fit(ratings, 'random'), fit(ratings, 'ignored')];
    expectWithin(random.assessorSd, 0, 1e-3);
    expectWithin(random.logLikelihood, plain.logLikelihood ?? NaN, 1e-6);
    expect(random.cautions.join(' ')).toContain('estimated as zero');
  });

  it('says why there is no fit, and which categories nobody used', () => {
    const rate = (values: number[], samples: number) =>
      values.map((value, i) => ({
        assessor: `p${Math.floor(i / samples)}`,
        sample: `s${i % samples}`,
        value,
      }));
    expect(fit([], 'random')).toMatchObject({ reason: 'no data', unused: [], sampleTest: null });
    expect(fit(rate([1, 2], 1), 'random').reason).toBe('one sample');
    expect(fit(rate([2, 2, 2, 2], 2), 'random')).toMatchObject({ reason: 'one category', thresholds: [] });
    expect(fit(rate([1, 2], 2), 'random').reason).toBe('one assessor');
    // Every rating of one sample below every rating of the other.
    for (const assessors of ['random', 'ignored'] as const) {
      const apart = fit(rate([1, 4, 2, 5, 1, 5, 2, 4], 2), assessors);
      expect(apart).toMatchObject({ reason: 'infinite estimate', effects: [], sampleTest: null });
    }
    const gap = fit(rate([1, 4, 4, 5, 5, 1, 1, 4, 4, 5], 2), 'ignored');
    expect(gap.unused).toEqual([2, 3]);
    expect(gap.thresholds.map(({ below, above }) => [below, above])).toEqual([
      [1, 4],
      [4, 5],
    ]);
    expect(gap.cautions.join(' ')).toContain('Nobody used 2, 3');
  });

  it('refuses what is no category', () => {
    const one = (value: number) => () => fit([{ assessor: 'a', sample: 's', value }], 'random');
    expect(one(6)).toThrowError(StatsInputError);
    expect(one(2.5)).toThrowError(expect.objectContaining({ field: 'ratings[0].value' }));
    expect(() =>
      cumulativeLink({ ratings: [], scale: { lowest: 3, highest: 2 }, assessors: 'random', level: 0.95 }),
    ).toThrowError(expect.objectContaining({ field: 'scale.highest' }));
  });
});
