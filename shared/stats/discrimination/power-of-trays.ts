import { answerCount, integerIn, probability, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { binomialPmf, upperTail } from '../binomial.ts';
import { criticalNumber } from './critical-number.ts';
import { proportionCorrect } from './guessing.ts';
import { smallestReaching } from './power.ts';
import { twoSidedCriticalNumber } from './preference.ts';

interface TraysPlan {
  /** Trays of each assessor. */
  trays: number;
  alpha: number;
  /** Share of discriminators. */
  pd: number;
  guessRate: number;
  /** Against one half on both sides, where no direction was written down; discriminators all name one arm. */
  twoSided?: boolean;
}

export interface PowerOfTrays extends MethodFacts {
  /** Chance that the planned test of all answers shows a difference: the smaller of the two below. */
  power: number;
  /** The same, persons differing as far as they can: a share always tells, the rest always guess. */
  differing: number;
  /** The same, all answers independent. */
  independent: number;
  /** Fewest right answers of all that are significant; null when none. */
  critical: number | null;
}

/**
 * Chance that a test of difference succeeds when each of n assessors gets several trays and persons differ: a share pd always
 * tells, tray after tray, the rest always guess. So the number who tell is binomial, and the answers of one person hang
 * together as much as they can for this pd. Were answers independent, it would be powerOfDifference of n x trays answers; the
 * truth lies between, and the smaller one is what a plan may count on: a good chance is less with persons who differ, a
 * poor one more. With one tray both are the same.
 * differing = sum over K of P(K | n, pd) P(X >= c - trays K | trays (n - K), p0), c the critical number of all answers.
 * assessors whole from 0 to 2,000, trays 1 to 10; alpha and guessRate between 0 and 1, pd from 0 to 1. Errors: StatsInputError.
 * Source: by the definition; on the need: Brockhoff & Schlich 1998, Food Qual. Pref. 9:303 (from memory).
 * Example: `powerOfTrays({ assessors: 4, trays: 4, alpha: 0.05, pd: 0.5, guessRate: 1 / 3 }).power` is 0.768110560616
 */
export function powerOfTrays({
  assessors: n,
  trays,
  alpha,
  pd,
  guessRate,
  twoSided = false,
}: TraysPlan & { assessors: number }): PowerOfTrays {
  answerCount('assessors', n);
  integerIn('trays', trays, 1, 10);
  properProbability('alpha', alpha);
  properProbability('guessRate', guessRate);
  probability('pd', pd);
  const answers = n * trays;
  const critical = twoSided
    ? twoSidedCriticalNumber({ n: answers, alpha })
    : criticalNumber({ n: answers, alpha, guessRate });
  const facts = {
    critical,
    method: 'Exact power of the binomial test of repeated trays, persons differing as far as they can',
    assumption:
      'A share of people always tells, the rest guess; orders of one person’s trays are independent.',
    source: 'Brockhoff & Schlich 1998 (from memory)',
  };
  if (critical === null) return { ...facts, power: 0, differing: 0, independent: 0 };
  let differing = 0;
  for (let knowing = 0; knowing <= n; knowing += 1) {
    const weight = binomialPmf(knowing, n, pd);
    if (weight === 0) continue;
    const right = trays * knowing;
    const left = answers - right;
    const above = upperTail(Math.max(0, critical - right), left, guessRate);
    // For the other arm there are only guesses.
    const below = twoSided ? upperTail(critical, left, 1 - guessRate) : 0;
    differing += weight * (above + below);
  }
  const right = proportionCorrect(pd, guessRate);
  const independent =
    upperTail(critical, answers, right) + (twoSided ? upperTail(critical, answers, 1 - right) : 0);
  return { ...facts, differing, independent, power: Math.min(1, differing, independent) };
}

// A session seats no more.
const MAX_ASSESSORS = 400;

/**
 * Smallest numbers of assessors who reach power of at least 1 - beta with so many trays each: `first`, and `stable` from which
 * on every larger number does. Null when not within 400. Errors as powerOfTrays.
 * Example: `smallestForTrays({ trays: 3, alpha: 0.05, beta: 0.2, pd: 0.5, guessRate: 1 / 3 }).first` is 6
 */
export function smallestForTrays({
  beta,
  ...plan
}: TraysPlan & { beta: number }): { first: number; stable: number } | null {
  properProbability('beta', beta);
  if (plan.pd === 0) return null;
  return smallestReaching((assessors) => powerOfTrays({ ...plan, assessors }).power, 1 - beta, MAX_ASSESSORS);
}
