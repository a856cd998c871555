import { StatsInputError } from '../../ground/input.ts';
import { chiSquareUpper } from '../chi-square.ts';
import type { MethodFacts } from '../method.ts';
import type { Pull } from './compare-d-prime.ts';
import { dPrimeFromProportion, dPrimeVarianceFactor } from './d-prime.ts';
import { answers, GUESS_RATE } from './guessing.ts';
import { lackOfFit } from './likelihood-interval.ts';

export interface SeveralDPrimes extends MethodFacts {
  /** d' of each pull, not below 0; null without data and, unbounded, when all are right. */
  estimates: (number | null)[];
  /** d' if it is the same in all pulls; null without data and when all are right. */
  common: number | null;
  /** Likelihood ratio of "each its own d'" against "one d'", from 0; null with fewer than two pulls that have data. */
  likelihoodRatio: number | null;
  /** Pulls with data less one. */
  df: number;
  /** By the route named; 1 without a comparison. */
  p: number;
  route: 'exact' | 'chi-square';
  /** P(chi-square(df) > likelihoodRatio), whatever the route; null without a comparison. */
  pChiSquare: number | null;
  /**
   * sum (d'_i - d'_w)^2 / V_i with d'_w the mean weighted by 1 / V_i, and its p; null where a variance does not exist
   * (d' = 0, all right, no data). For hand comparison.
   */
  weighted: { common: number; chiSquare: number; p: number } | null;
}

/** Tables gone through at most for the exact p. Our own bound: some tenths of a second. */
const MAX_TABLES = 200_000;
/** Ratios within rounding of the one observed count as reached. */
const TIE = 1e-9;

/**
 * Is the difference between two samples the same in all of several pulls of one test? Likelihood ratio
 * 2 [sum ln L(d'_i) - sum ln L(d')]; p exact where there are few enough tables (the total right is sufficient for a common
 * d', so tables of the same total and sizes are weighed by the multivariate hypergeometric distribution), else from
 * chi-square(k - 1). Works at d' = 0 and with all right. Beside it the chi-square of d' weighted by their variances.
 * Not for the same assessors in several pulls as if they were others, nor for repeated answers of one assessor.
 *
 * One test in all pulls; n whole from 0, correct 0..n. Errors: StatsInputError.
 * Source: Bi, Ennis & O'Mahony 1997, J. Sens. Stud. 12:87 (weighted; from memory); Pawitan 2001 (likelihood ratio; from memory);
 * Freeman & Halton 1951, Biometrika 38:141 (tables given their margins; from memory).
 * Example: `severalDPrimes([{ test: 'triangle', correct: 20, n: 30 }, { test: 'triangle', correct: 12, n: 30 }]).pChiSquare` is 0.0372433914724
 */
export function severalDPrimes(pulls: readonly Pull[]): SeveralDPrimes {
  pulls.forEach(answers);
  const test = pulls[0]?.test ?? 'triangle';
  const other = pulls.find((pull) => pull.test !== test);
  if (other) throw new StatsInputError('pulls', other.test, `the same test in all pulls, ${test}`);
  const told = pulls.filter(({ n }) => n > 0);
  const right = told.reduce((sum, { correct }) => sum + correct, 0);
  const asked = told.reduce((sum, { n }) => sum + n, 0);
  const facts = {
    estimates: pulls.map(({ correct, n }) => (n === 0 ? null : dPrimeFromProportion(test, correct / n))),
    common: asked === 0 ? null : dPrimeFromProportion(test, right / asked),
    df: Math.max(0, told.length - 1),
    method: 'Likelihood-ratio test of several d-primes',
    assumption:
      'Every answer comes from another assessor, in all pulls; percepts vary normally with equal spread, and assessors use the rule of the method.',
    source: "Bi, Ennis & O'Mahony 1997; Pawitan 2001; Freeman & Halton 1951",
  };
  if (told.length < 2) {
    return { ...facts, likelihoodRatio: null, p: 1, route: 'exact', pChiSquare: null, weighted: null };
  }
  const guess = GUESS_RATE[test];
  const likelihoodRatio = ratioOf(
    told.map(({ correct }) => correct),
    told.map(({ n }) => n),
    guess,
  );
  const pChiSquare = chiSquareUpper(likelihoodRatio, told.length - 1);
  const exact = exactTail(told, likelihoodRatio, guess);
  return {
    ...facts,
    likelihoodRatio,
    p: exact ?? pChiSquare,
    route: exact === null ? 'chi-square' : 'exact',
    pChiSquare,
    weighted: weightedOf(told),
  };
}

/** 2 [ln L(each its own proportion) - ln L(one)], no proportion below guessing. */
function ratioOf(correct: readonly number[], n: readonly number[], guess: number): number {
  const sum = (list: readonly number[]) => list.reduce((a, b) => a + b, 0);
  const common = Math.max(guess, sum(correct) / sum(n));
  const ratio = correct.reduce((total, right, at) => {
    const of = n[at] ?? 0;
    return total + lackOfFit(right, of, common) - lackOfFit(right, of, Math.max(guess, right / of));
  }, 0);
  return Math.max(0, 2 * ratio);
}

/** Chance of a likelihood ratio as large or larger among all tables with these margins; null when there are too many. */
function exactTail(pulls: readonly Pull[], observed: number, guess: number): number | null {
  const sizes = pulls.map(({ n }) => n);
  // The last count follows from the total.
  if (sizes.slice(0, -1).reduce((product, n) => product * (n + 1), 1) > MAX_TABLES) return null;
  const total = pulls.reduce((sum, { correct }) => sum + correct, 0);
  const logOf = logFactorials(sizes.reduce((sum, n) => sum + n, 0));
  const logChoose = (n: number, k: number) => (logOf[n] ?? 0) - (logOf[k] ?? 0) - (logOf[n - k] ?? 0);
  const all = logChoose(
    sizes.reduce((sum, n) => sum + n, 0),
    total,
  );
  let tail = 0;
  const counts = sizes.map(() => 0);
  const walk = (at: number, left: number, weight: number): void => {
    const n = sizes[at] ?? 0;
    if (at === sizes.length - 1) {
      if (left > n) return;
      counts[at] = left;
      if (ratioOf(counts, sizes, guess) >= observed - TIE * (1 + observed))
        tail += Math.exp(weight + logChoose(n, left) - all);
      return;
    }
    for (let right = 0; right <= Math.min(n, left); right += 1) {
      counts[at] = right;
      walk(at + 1, left - right, weight + logChoose(n, right));
    }
  };
  walk(0, total, 0);
  return Math.min(1, tail);
}

function logFactorials(most: number): number[] {
  const logs = [0];
  for (let k = 1; k <= most; k += 1) logs.push((logs[k - 1] ?? 0) + Math.log(k));
  return logs;
}

function weightedOf(pulls: readonly Pull[]): SeveralDPrimes['weighted'] {
  const rows = pulls.flatMap(({ test, correct, n }) => {
    const factor = dPrimeVarianceFactor(test, correct / n);
    const d = dPrimeFromProportion(test, correct / n);
    return factor === null || d === null ? [] : [{ d, weight: n / factor }];
  });
  if (rows.length < pulls.length) return null;
  const weights = rows.reduce((sum, { weight }) => sum + weight, 0);
  const common = rows.reduce((sum, { d, weight }) => sum + d * weight, 0) / weights;
  const chiSquare = rows.reduce((sum, { d, weight }) => sum + weight * (d - common) ** 2, 0);
  return { common, chiSquare, p: chiSquareUpper(chiSquare, rows.length - 1) };
}
