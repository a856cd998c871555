import { binomialPmf, upperTail } from '../binomial.ts';
import { probability, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalQuantile } from '../normal.ts';
import { crossing } from '../root.ts';
import { answers } from './guessing.ts';

export interface ProportionInterval extends MethodFacts {
  /** correct / n; null without data. */
  estimate: number | null;
  lower: number;
  upper: number;
  level: number;
}

interface Counts {
  correct: number;
  n: number;
}

const INDEPENDENT = 'Each answer is independent of the others: one per assessor.';

/**
 * Exact two-sided interval for the proportion correct, made of two one-sided limits of (1 - level) / 2 each.
 * Pairs with a one-sided test at alpha when level = 1 - 2 alpha. No data: [0, 1].
 * Not for repeated answers of the same assessors (replicatedProportion).
 * n whole from 0, correct 0..n, level between 0 and 1. Limits within 1e-12. Errors: StatsInputError.
 * Source: Clopper & Pearson 1934, Biometrika 26:404.
 * Example: `clopperPearson({ correct: 15, n: 30, level: 0.95 }).lower` is 0.312970285868
 */
export function clopperPearson({ correct, n, level }: Counts & { level: number }): ProportionInterval {
  answers({ correct, n });
  properProbability('level', level);
  const risk = (1 - level) / 2;
  return {
    estimate: n === 0 ? null : correct / n,
    lower: exactLowerLimit({ correct, n, risk }),
    upper: exactUpperLimit({ correct, n, risk }),
    level,
    method: 'Clopper-Pearson exact interval',
    assumption: INDEPENDENT,
    source: 'Clopper & Pearson 1934',
  };
}

/**
 * Exact one-sided lower limit for the proportion correct: L with P(X >= correct | n, L) = risk; 0 for none right.
 * Found by inverting the exact tail. Errors: StatsInputError. Source: Clopper & Pearson 1934.
 * Example: `exactLowerLimit({ correct: 15, n: 30, risk: 0.05 })` is 0.33889266161
 */
export function exactLowerLimit({ correct, n, risk }: Counts & { risk: number }): number {
  answers({ correct, n });
  properProbability('risk', risk);
  if (correct === 0) return 0;
  if (correct === n) return risk ** (1 / n);
  // In logs the tail is concave in p and Newton needs few steps.
  const goal = Math.log(risk);
  return crossing({
    low: 0,
    high: 1,
    start: wilsonLimits({ correct, n, risk }).lower,
    value: (p) => Math.log(upperTail(correct, n, p)) - goal,
    // d/dp P(X >= x) = n P(X' = x - 1) with X' on n - 1.
    slope: (p) => (n * binomialPmf(correct - 1, n - 1, p)) / upperTail(correct, n, p),
  });
}

/**
 * Exact one-sided upper limit for the proportion correct: U with P(X <= correct | n, U) = risk; 1 for all right.
 * Errors: StatsInputError. Source: Clopper & Pearson 1934.
 * Example: `exactUpperLimit({ correct: 15, n: 30, risk: 0.05 })` is 0.66110733839
 */
export function exactUpperLimit({ correct, n, risk }: Counts & { risk: number }): number {
  answers({ correct, n });
  properProbability('risk', risk);
  if (correct === n) return 1;
  if (correct === 0) return -Math.expm1(Math.log(risk) / n);
  return 1 - exactLowerLimit({ correct: n - correct, n, risk });
}

/**
 * Score interval for a proportion, without continuity correction: close to its level on average, where
 * Clopper-Pearson never falls below it. No data: [0, 1].
 * With few answers it covers a few points less than its level: simulated at nominal 90 %, 85.7 to 87.8 % for 12 and
 * 24 triangles (test/reference/calibration.txt). Say so where it is shown.
 * (pc + z^2/2n -+ z sqrt(pc(1 - pc)/n + z^2/4n^2)) / (1 + z^2/n).
 * Not for a claim that must hold at its level in every case, nor for repeated answers of one assessor.
 * n whole from 0, correct 0..n, level between 0 and 1. Errors: StatsInputError. Source: Wilson 1927,
 * J. Am. Stat. Assoc. 22:209; Newcombe 1998, Stat. Med. 17:857.
 * Example: `wilson({ correct: 15, n: 30, level: 0.95 }).upper` is 0.668458743595
 */
export function wilson({ correct, n, level }: Counts & { level: number }): ProportionInterval {
  answers({ correct, n });
  properProbability('level', level);
  return {
    estimate: n === 0 ? null : correct / n,
    ...wilsonLimits({ correct, n, risk: (1 - level) / 2 }),
    level,
    method: 'Wilson score interval',
    assumption: INDEPENDENT,
    source: 'Wilson 1927; Newcombe 1998',
  };
}

function wilsonLimits({ correct, n, risk }: Counts & { risk: number }): { lower: number; upper: number } {
  if (n === 0) return { lower: 0, upper: 1 };
  const z = normalQuantile(risk);
  const square = z * z;
  const middle = correct + square / 2;
  const reach = Math.abs(z) * Math.sqrt((correct * (n - correct)) / n + square / 4);
  // At the ends the formula gives 0 and 1 only up to rounding.
  return {
    lower: correct === 0 ? 0 : (middle - reach) / (n + square),
    upper: correct === n ? 1 : (middle + reach) / (n + square),
  };
}

export interface ShareOfDiscriminators extends MethodFacts {
  /** pd for display: not below 0. */
  estimate: number;
  /** pd as computed; negative when fewer are right than guessing gives. */
  untruncated: number;
  /** Limits for display: not below 0. */
  lower: number;
  upper: number;
  lowerUntruncated: number;
  upperUntruncated: number;
  /** The whole interval lies below guessing: look for errors in labels or serving. */
  belowGuessing: boolean;
}

/**
 * Proportion of discriminators, pd = (pc - p0) / (1 - p0), with limits carried over from those of pc.
 * Takes the interval for pc, so that independent and repeated answers share one way. No data: null.
 * Holds for the test method used only (the same difference gives other pd by other methods), and is a number of
 * the guessing model, not a head-count.
 * correct 0..n, limits from 0 to 1, guessRate between 0 and 1. Errors: StatsInputError. Source: ISO 4120.
 * Example: `shareOfDiscriminators({ correct: 15, n: 30, lower: 0.33889266161, upper: 0.66110733839, guessRate: 1 / 3 }).upper` is 0.491661007585
 */
export function shareOfDiscriminators({
  correct,
  n,
  lower,
  upper,
  guessRate,
}: Counts & { lower: number; upper: number; guessRate: number }): ShareOfDiscriminators | null {
  answers({ correct, n });
  if (n === 0) return null;
  const untruncated = shareFromProportion(correct / n, guessRate);
  const lowerUntruncated = shareFromProportion(lower, guessRate);
  const upperUntruncated = shareFromProportion(upper, guessRate);
  return {
    estimate: Math.max(0, untruncated),
    untruncated,
    lower: Math.max(0, lowerUntruncated),
    upper: Math.max(0, upperUntruncated),
    lowerUntruncated,
    upperUntruncated,
    belowGuessing: upperUntruncated < 0,
    method: 'Proportion of discriminators by the guessing model',
    assumption:
      'An assessor either discriminates and is right, or guesses. The figure holds for this test method only.',
    source: 'ISO 4120',
  };
}

/**
 * pd for a proportion correct, not truncated. Both from 0 to 1, guessRate strictly.
 * Errors: StatsInputError. Example: `shareFromProportion(0.5, 1 / 3)` is 0.25
 */
export function shareFromProportion(proportion: number, guessRate: number): number {
  probability('proportion', proportion);
  properProbability('guessRate', guessRate);
  return (proportion - guessRate) / (1 - guessRate);
}
