import { answerCount, probability, StatsInputError } from '../ground/input.ts';
import { deviance, stirlingError } from './saddle-point.ts';

/**
 * Exact binomial probabilities and tails. Positive terms are added and nothing is ever taken from 1, so far
 * tails keep their digits: within 1e-12 relative of exact rational arithmetic for n up to 10,000, down to
 * 1e-290 (below, a double cannot hold the terms and the value fades to 0).
 * Not for answers that are not independent: see discrimination/replicated.ts.
 * Source: C. Loader (2000), Fast and Accurate Computation of Binomial Probabilities (the first term);
 * the ratio of neighbouring terms (the rest).
 */

/**
 * P(X = k) for X ~ Binomial(n, p).
 * k whole, n whole from 0, p from 0 to 1. Outside 0..n: 0. Errors: StatsInputError.
 * Example: `binomialPmf(8, 12, 1 / 3)` is 0.0149028772714
 */
export function binomialPmf(k: number, n: number, p: number): number {
  check(k, n, p);
  return k < 0 || k > n ? 0 : pmf(k, n, p, 1 - p);
}

/**
 * P(X >= k) for X ~ Binomial(n, p), added from the top.
 * k whole, n whole from 0, p from 0 to 1. k <= 0: 1; k > n: 0. Errors: StatsInputError.
 * Example: `upperTail(13, 24, 1 / 3)` is 0.0284411280955
 */
export function upperTail(k: number, n: number, p: number): number {
  check(k, n, p);
  return tail(k, n, p, 1 - p);
}

/**
 * P(X <= k) for X ~ Binomial(n, p), added from the bottom.
 * k whole, n whole from 0, p from 0 to 1. k < 0: 0; k >= n: 1. Errors: StatsInputError.
 * Example: `lowerTail(22, 66, 1 / 3 + (2 / 3) * 0.3)` is 0.000831309429639
 */
export function lowerTail(k: number, n: number, p: number): number {
  check(k, n, p);
  // At most k right is at least n - k wrong.
  return tail(n - k, n, 1 - p, p);
}

function check(k: number, n: number, p: number): void {
  if (!Number.isInteger(k)) throw new StatsInputError('k', k, 'a whole number');
  answerCount('n', n);
  probability('p', p);
}

// p and q = 1 - p both travel along, so that the mirrored tail does not lose digits of a small p.
function pmf(k: number, n: number, p: number, q: number): number {
  if (k === 0) return n === 0 || p === 0 ? 1 : p < 0.5 ? Math.exp(n * Math.log1p(-p)) : q ** n;
  if (k === n) return q === 0 ? 1 : q < 0.5 ? Math.exp(n * Math.log1p(-q)) : p ** n;
  if (p === 0 || q === 0) return 0;
  const exponent =
    stirlingError(n) - stirlingError(k) - stirlingError(n - k) - deviance(k, n * p) - deviance(n - k, n * q);
  return Math.exp(exponent) * Math.sqrt(n / (2 * Math.PI * k * (n - k)));
}

/** P(X >= k): from the mode or from k, whichever is higher, in both directions until terms no longer count. */
function tail(k: number, n: number, p: number, q: number): number {
  if (k <= 0) return 1;
  if (k > n) return 0;
  if (p === 0) return 0;
  if (q === 0) return 1;
  const mode = Math.min(n, Math.floor((n + 1) * p));
  const start = Math.max(k, mode);
  const first = pmf(start, n, p, q);
  if (first === 0) return 0;

  // Terms as parts of the first; added from the smallest.
  const above: number[] = [];
  for (let i = start, term = 1; i < n; i += 1) {
    term *= ((n - i) * p) / ((i + 1) * q);
    if (term < 1e-25) break;
    above.push(term);
  }
  const below: number[] = [];
  for (let i = start, term = 1; i > k; i -= 1) {
    term *= (i * q) / ((n - i + 1) * p);
    if (term < 1e-25) break;
    below.push(term);
  }
  const sum = addFromSmallest(above) + addFromSmallest(below) + 1;
  return Math.min(1, sum * first);
}

function addFromSmallest(terms: number[]): number {
  let sum = 0;
  for (let i = terms.length - 1; i >= 0; i -= 1) sum += terms[i] ?? 0;
  return sum;
}
