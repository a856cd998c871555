import { upperTail } from '../binomial.ts';
import { answerCount, probability, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { criticalNumber, RISK_TOLERANCE } from './critical-number.ts';
import { proportionCorrect } from './guessing.ts';

export interface DifferencePower extends MethodFacts {
  /** Chance that the planned test shows a difference of this size, 0 to 1; 0 where no count is significant. */
  power: number;
  /** Fewest right answers that are significant; null when none. */
  critical: number | null;
  /** Chance of a false alarm the test really has, at most alpha. */
  size: number;
}

/** Largest number of answers a search for a sample size tries. Our own bound; no source. */
export const LARGEST_SEARCHED = 2000;

/**
 * Chance that a planned test of difference succeeds, if a share `pd` of assessors like these discriminates.
 * c = critical number at alpha; power = P(X >= c | n, p0 + (1 - p0) pd); size = P(X >= c | n, p0).
 * For planning only. Afterwards show the interval for pd, never an "observed power".
 *
 * n whole from 0, alpha and guessRate between 0 and 1, pd from 0 to 1. Errors: StatsInputError.
 * Source: ISO 4120; Schlich 1993, Food Qual. Pref. 4:141; Ennis 1993, J. Sens. Stud. 8:353.
 * Example: `powerOfDifference({ n: 24, alpha: 0.05, pd: 0.3, guessRate: 1 / 3 }).power` is 0.550475132489
 */
export function powerOfDifference({
  n,
  alpha,
  pd,
  guessRate,
}: {
  n: number;
  alpha: number;
  pd: number;
  guessRate: number;
}): DifferencePower {
  answerCount('n', n);
  const critical = criticalNumber({ n, alpha, guessRate });
  const proportion = proportionCorrect(pd, guessRate);
  return {
    power: critical === null ? 0 : upperTail(critical, n, proportion),
    critical,
    size: critical === null ? 0 : upperTail(critical, n, guessRate),
    method: 'Exact power of the one-sided binomial test',
    assumption: 'Each answer comes from another assessor, and all are alike in the share that discriminates.',
    source: 'ISO 4120; Ennis 1993; Schlich 1993',
  };
}

/**
 * Smallest numbers of answers that give power of at least 1 - beta.
 * `first`: the smallest n that does. `stable`: the smallest from which on every larger n does too; power goes up
 * and down like a saw, since right answers are whole. Offer `stable` as the cautious choice.
 *
 * `first` is sought up to 2,000 (LARGEST_SEARCHED), else null; pd = 0 is null. `stable` is confirmed up to twice
 * `first` and 100 more: by then the teeth no longer reach down to 1 - beta. Drop-outs come on top.
 * alpha, beta and guessRate between 0 and 1, pd from 0 to 1. Errors: StatsInputError. Source: ISO 4120 ("first").
 * Example: `smallestForDifference({ alpha: 0.05, beta: 0.2, pd: 0.3, guessRate: 1 / 3 }).stable` is 42
 */
export function smallestForDifference({
  alpha,
  beta,
  pd,
  guessRate,
}: {
  alpha: number;
  beta: number;
  pd: number;
  guessRate: number;
}): { first: number; stable: number } | null {
  properProbability('alpha', alpha);
  properProbability('beta', beta);
  properProbability('guessRate', guessRate);
  probability('pd', pd);
  if (pd === 0) return null;
  return smallestReaching((n) => powerOfDifference({ n, alpha, pd, guessRate }).power, 1 - beta);
}

/**
 * First and stable n at which `power` reaches `goal`; null when not within `largest`.
 * Shared by the searches for difference and similarity.
 * Example: `smallestReaching((n) => (n === 5 ? 0.9 : n / 10), 0.8).stable` is 8
 */
export function smallestReaching(
  power: (n: number) => number,
  goal: number,
  largest = LARGEST_SEARCHED,
): { first: number; stable: number } | null {
  const reached = (n: number) => power(n) >= goal * (1 - RISK_TOLERANCE);
  let first = 1;
  while (!reached(first)) {
    first += 1;
    if (first > largest) return null;
  }
  const last = 2 * first + 100;
  let stable = last;
  while (stable > first && reached(stable)) stable -= 1;
  if (stable === last) return null;
  return { first, stable: reached(stable) ? stable : stable + 1 };
}
