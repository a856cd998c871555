import { falling } from './falling.ts';
import { betaCdf } from './incomplete-beta.ts';
import { finiteFrom, properProbability, StatsInputError } from '../ground/input.ts';

/**
 * The F distribution, the only door to it. Through our own incomplete beta, since jstat's upper tail is 1 less the lower
 * and loses every digit far out. Within 1e-10 relative of 40-digit arithmetic for tails down to 1e-200 and degrees of
 * freedom from 0.5 to 1e6 (test/stats/f-ratio.test.ts).
 */

/**
 * P(F > f) for real degrees of freedom above 0: I(df2 / (df2 + df1 f); df2 / 2, df1 / 2).
 * f from 0 (Infinity: 0). Not for df2 = Infinity, where df1 F is a chi-square.
 * Errors: StatsInputError. Source: DLMF 8.17; Abramowitz & Stegun 26.6.2 (from memory).
 * Example: `fUpperTail(25.1380875598, 3, 24)` is 1.3919718488e-7
 */
export function fUpperTail(f: number, df1: number, df2: number): number {
  if (!(f >= 0)) throw new StatsInputError('f', f, 'a number of at least 0');
  degreesOfFreedom('df1', df1);
  degreesOfFreedom('df2', df2);
  if (f === 0) return 1;
  if (f === Infinity) return 0;
  const ratio = (df1 / df2) * f;
  const below = ratio === Infinity ? 1 : ratio / (1 + ratio);
  const [a, b] = [df1 / 2, df2 / 2];
  // The side on which the fraction converges, each from the argument that still has all its digits.
  return below < (a + 1) / (a + b + 2) ? 1 - betaCdf(below, a, b) : betaCdf(1 / (1 + ratio), b, a);
}

/**
 * Critical value: f with P(F > f) = tail, for real degrees of freedom above 0.
 * tail between 0 and 1. Errors: StatsInputError. Source: as fUpperTail, inverted.
 * Example: `fCritical(0.05, 3, 24)` is 3.00878657045
 */
export function fCritical(tail: number, df1: number, df2: number): number {
  properProbability('tail', tail);
  degreesOfFreedom('df1', df1);
  degreesOfFreedom('df2', df2);
  // The smaller of the two tails has the digits.
  if (tail > 0.5) return 1 / fCritical(1 - tail, df2, df1);
  const goal = Math.log(tail);
  return Math.exp(falling((u) => Math.log(fUpperTail(Math.exp(u), df1, df2)) - goal, 0));
}

/**
 * Degrees of freedom: a finite number above 0, whole or not.
 * Errors: StatsInputError. Example: `degreesOfFreedom('df', 50.24)` is 50.24
 */
export function degreesOfFreedom(field: string, value: number): number {
  finiteFrom(field, value, 0);
  if (value === 0) throw new StatsInputError(field, value, 'a number above 0');
  return value;
}
