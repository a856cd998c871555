import cdf from '@stdlib/stats-base-dists-normal-cdf';
import { crossing } from './root.ts';
import { properProbability } from '../ground/input.ts';

/**
 * Standard normal distribution; the only door to @stdlib's cdf.
 * Accuracy measured against 30-digit arithmetic at -37, -20, -8, -3, -1, 0, 1, 3: within 1e-13 relative
 * (the library evaluates erfc, so the lower tail keeps its digits; take the upper tail as normalCdf(-z)).
 */

/** P(Z <= z). Example: `normalCdf(-3)` is 0.00134989803163 */
export function normalCdf(z: number): number {
  return cdf(z, 0, 1);
}

const ROOT_TWO_PI = Math.sqrt(2 * Math.PI);

/** Density at z. Example: `normalPdf(1)` is 0.241970724519 */
export function normalPdf(z: number): number {
  return Math.exp(-0.5 * z * z) / ROOT_TWO_PI;
}

/**
 * z with P(Z <= z) = p, 0 < p < 1; inverted from normalCdf to 1e-14.
 * Errors: StatsInputError. Example: `normalQuantile(0.975)` is 1.95996398454
 */
export function normalQuantile(p: number): number {
  properProbability('p', p);
  if (p === 0.5) return 0;
  // The lower half only: there the cdf has all its digits. In logs the curve is nearly straight for Newton.
  if (p > 0.5) return -normalQuantile(1 - p);
  const goal = Math.log(p);
  return -crossing({
    low: 0,
    high: 39,
    start: Math.sqrt(-2 * Math.log(2 * p)),
    value: (z) => goal - Math.log(normalCdf(-z)),
    slope: (z) => normalPdf(z) / normalCdf(-z),
  });
}
