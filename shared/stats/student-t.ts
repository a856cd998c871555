import { degreesOfFreedom, fUpperTail } from './f-ratio.ts';
import { properProbability, StatsInputError } from '../ground/input.ts';
import { normalCdf, normalPdf, normalQuantile } from './normal.ts';
import { crossing } from './root.ts';
import { stirlingError } from './saddle-point.ts';

/**
 * Student's t for real degrees of freedom above 0 and for Infinity (the normal distribution); the only door to it.
 * T^2 is F(1, df), so tails keep the digits of our F: within 1e-10 relative of 40-digit arithmetic for tails down to
 * 1e-200 (test/stats/student-t.test.ts).
 */

/**
 * P(T > t). Errors: StatsInputError. Source: Abramowitz & Stegun 26.7.1 (from memory).
 * Example: `studentUpperTail(2.0638985616280205, 24)` is 0.025
 */
export function studentUpperTail(t: number, df: number): number {
  check(t, df);
  if (df === Infinity) return normalCdf(-t);
  const outside = fUpperTail(t * t, 1, df) / 2;
  return t < 0 ? 1 - outside : outside;
}

/**
 * P(|T| > |t|), the p of a two-sided test. Errors: StatsInputError. Source: as studentUpperTail.
 * Example: `studentTwoSidedP(-2.67363403466, 50.2419089306)` is 0.010095512267
 */
export function studentTwoSidedP(t: number, df: number): number {
  check(t, df);
  return df === Infinity ? 2 * normalCdf(-Math.abs(t)) : fUpperTail(t * t, 1, df);
}

/**
 * t with P(T <= t) = p, 0 < p < 1; inverted from the tail to 1e-12 relative.
 * For the critical value of a small tail pass the tail and turn the sign: 1 - tail has lost its digits.
 * Errors: StatsInputError. Source: as studentUpperTail, inverted.
 * Example: `studentQuantile(0.975, 24)` is 2.06389856163
 */
export function studentQuantile(p: number, df: number): number {
  properProbability('p', p);
  if (df === Infinity) return normalQuantile(p);
  degreesOfFreedom('df', df);
  if (p === 0.5) return 0;
  if (p > 0.5) return -studentQuantile(1 - p, df);
  // In log t and log tail the curve is nearly straight, also where the tail falls like a power.
  const goal = Math.log(p);
  const logTail = (u: number) => Math.log(studentUpperTail(Math.exp(u), df));
  const start = Math.log(-normalQuantile(p));
  let high = start + 1;
  while (high < 350 && logTail(high) > goal) high += high - start;
  const root = crossing({
    // t is never nearer to 0 than z.
    low: start - 0.1,
    high,
    start,
    value: (u) => goal - logTail(u),
    slope: (u) => (studentPdf(Math.exp(u), df) * Math.exp(u)) / Math.exp(logTail(u)),
  });
  return -Math.exp(root);
}

/**
 * Density at t. Errors: StatsInputError. Source: Abramowitz & Stegun 26.7.1 (from memory), in saddle-point form.
 * Example: `studentPdf(0, 1)` is 0.318309886184
 */
export function studentPdf(t: number, df: number): number {
  check(t, df);
  if (df === Infinity) return normalPdf(t);
  // Gamma((df + 1) / 2) / [Gamma(df / 2) sqrt(df / 2)] by Stirling's formula and its errors.
  const n = df / 2;
  const gammas = n * Math.log1p(0.5 / n) - 0.5 + stirlingError(n + 0.5) - stirlingError(n);
  return Math.exp(gammas - (n + 0.5) * Math.log1p((t * t) / df)) / Math.sqrt(2 * Math.PI);
}

function check(t: number, df: number): void {
  if (Number.isNaN(t)) throw new StatsInputError('t', t, 'a number');
  if (df !== Infinity) degreesOfFreedom('df', df);
}
