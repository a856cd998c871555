/// <reference types="./jstat-module.d.ts" />
import jstat from 'jstat';
import { betaCdf, betaPdf } from './incomplete-beta.ts';
import { probability, properProbability, StatsInputError } from '../ground/input.ts';
import { crossing } from './root.ts';

/**
 * The only door to jstat (1.9.6), and how far it can be trusted, measured (test/stats/jstat.test.ts):
 * - ranks and median are exact, and taken as they are;
 * - its beta quantile is off by up to 6e-8 relative over 63 quantiles (shapes 0.5 to 7001, p 0.001 to 0.999), too much
 *   for limits checked to 1e-8: it gives the start and our own incomplete beta the rest;
 * - its percentile does not interpolate between the two largest values, and upper tails of its distributions are 1 less
 *   the lower: quantiles of resamples and tails are our own.
 */

/**
 * Ranks of one assessor's values, ties sharing the mean of their places (mid-ranks). Ranks stay as they are.
 * Values finite. Errors: none. Source: Kendall & Gibbons 1990, Rank Correlation Methods (from memory).
 * Example: `midRanks([3.2, 1, 3.2, 7])[0]` is 2.5
 */
export function midRanks(values: readonly number[]): number[] {
  return jstat.rank(values);
}

/** Middle value, of an even number the mean of the middle two; null of nothing. Example: `median([1, 9, 3, 4])` is 3.5 */
export function median(values: readonly number[]): number | null {
  return values.length === 0 ? null : jstat.median(values);
}

/**
 * Quantile of the beta distribution: x with I_x(a, b) = p, for real a, b > 0 (counts of an effective n included).
 * p = 0 gives 0, p = 1 gives 1. Error below 1e-12 (checked by inverting exact binomial tails and against betaCdf).
 * Errors: StatsInputError. Source: jstat for the start, safeguarded Newton on I_x (DLMF 8.17).
 * Example: `betaQuantile(0.025, 15, 16)` is 0.312970285868
 */
export function betaQuantile(p: number, a: number, b: number): number {
  probability('p', p);
  for (const [field, value] of [
    ['a', a],
    ['b', b],
  ] as const) {
    if (!(value > 0 && Number.isFinite(value))) throw new StatsInputError(field, value, 'a number above 0');
  }
  if (p === 0 || p === 1) return p;
  const start = jstat.beta.inv(p, a, b);
  return crossing({
    low: 0,
    high: 1,
    start: Number.isFinite(start) ? start : a / (a + b),
    value: (x) => betaCdf(x, a, b) - p,
    slope: (x) => betaPdf(x, a, b),
  });
}

/**
 * Two-sided critical value of Student's t: t with P(|T| > t) = tail, for real degrees of freedom above 0.
 * By df / (df + T^2) ~ Beta(df / 2, 1 / 2). Errors: StatsInputError. Source: DLMF 8.17; Abramowitz & Stegun 26.7.1
 * (from memory). Example: `studentTwoSided(0.05, 14)` is 2.14478668792
 */
export function studentTwoSided(tail: number, df: number): number {
  properProbability('tail', tail);
  if (!(df > 0 && Number.isFinite(df))) throw new StatsInputError('df', df, 'a number above 0');
  const x = betaQuantile(tail, df / 2, 0.5);
  return Math.sqrt((df * (1 - x)) / x);
}
