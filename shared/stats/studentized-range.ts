import { chebyshevTable } from './chebyshev.ts';
import { falling } from './falling.ts';
import { degreesOfFreedom } from './f-ratio.ts';
import { integerIn, properProbability, StatsInputError } from '../ground/input.ts';
import { normalCdf, normalPdf, normalQuantile } from './normal.ts';
import { studentTwoSidedP } from './student-t.ts';
import { studentized } from './studentized.ts';

/**
 * The studentized range, the only door to it: Q = (largest - smallest of k means) / their estimated standard error.
 * jstat's cumulative is right to 2e-10 absolute, so that a p of 1e-8 would keep two digits, and does not know df below
 * 2; so the upper tail is integrated here. Within 1e-10 relative of 30-digit quadrature for tails down to 1e-30
 * (test/stats/studentized-range.test.ts).
 */

/** Most means compared at once. A bound of our own; no source. */
const MAX_MEANS = 500;
/** A range of normal means beyond this has a probability below the smallest double. */
const FARTHEST = 52;

/**
 * P(Q > q) for k means, real df above 0 or Infinity; the p of Tukey's test. k = 2 is the two-sided t of q / sqrt(2).
 * q from 0, k whole from 2 to 500. Errors: StatsInputError.
 * Source: H. O. Hartley 1942, Biometrika 32:309 (range of normal variables); Tukey 1953.
 * Example: `studentizedRangeUpperTail(4, 4, 24)` is 0.0430367331869
 */
export function studentizedRangeUpperTail(q: number, k: number, df: number): number {
  if (!(q >= 0)) throw new StatsInputError('q', q, 'a number of at least 0');
  check(k, df);
  if (q === 0) return 1;
  if (q === Infinity) return 0;
  if (k === 2) return studentTwoSidedP(q / Math.SQRT2, df);
  return studentized(rangeTail(k), q, df);
}

/**
 * Critical value: q with P(Q > q) = tail, to 1e-11 relative.
 * tail between 0 and 1, k whole from 2 to 500, df above 0 or Infinity. Errors: StatsInputError.
 * Source: as studentizedRangeUpperTail, inverted.
 * Example: `studentizedRangeCritical(0.05, 4, 24)` is 3.9012621967
 */
export function studentizedRangeCritical(tail: number, k: number, df: number): number {
  properProbability('tail', tail);
  check(k, df);
  const goal = Math.log(tail);
  // In logs of both the tail is nearly straight far out. Two means are never farther apart than k of them.
  const start = Math.log(Math.max(1e-3, -Math.SQRT2 * normalQuantile(tail / 2)));
  return Math.exp(falling((u) => Math.log(studentizedRangeUpperTail(Math.exp(u), k, df)) - goal, start));
}

function check(k: number, df: number): void {
  integerIn('k', k, 2, MAX_MEANS);
  if (df !== Infinity) degreesOfFreedom('df', df);
}

const known = new Map<number, (r: number) => number>();

/** P(range of k standard normals > r), read from a table of its logarithm made once for each k. */
function rangeTail(k: number): (r: number) => number {
  const found = known.get(k);
  if (found) return found;
  const log = chebyshevTable((r) => Math.log(rangeTailAt(r, k)), {
    low: 0,
    high: FARTHEST,
    pieces: 52,
    nodes: 16,
  });
  // The table ends a few units of rounding above 1 near nothing.
  const tail = (r: number) => (r >= FARTHEST ? 0 : Math.min(1, Math.exp(log(r))));
  known.set(k, tail);
  return tail;
}

/**
 * With z the largest: k int phi(z) [Phi(z)^(k-1) - (Phi(z) - Phi(z - r))^(k-1)] dz. The bracket is taken without
 * cancellation, so that far tails keep their digits. The integrand is smooth and dies out like a normal density:
 * the trapezoid rule has all digits at this step.
 */
function rangeTailAt(r: number, k: number): number {
  if (r === 0) return 1;
  const step = 0.15;
  let sum = 0;
  for (let z = r / 2 - 9; z <= r / 2 + 9; z += step) {
    const below = normalCdf(z);
    if (below === 0) continue;
    const all = (k - 1) * Math.log(below);
    const left = Math.min(1, normalCdf(z - r) / below);
    sum -= normalPdf(z) * Math.exp(all) * Math.expm1((k - 1) * Math.log1p(-left));
  }
  return k * step * sum;
}
