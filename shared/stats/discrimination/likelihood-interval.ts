import { properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalQuantile } from '../normal.ts';
import { crossing } from '../root.ts';
import { deviance } from '../saddle-point.ts';
import { dPrimeFromProportion, LARGEST_D_PRIME } from './d-prime.ts';
import { answers, GUESS_RATE } from './guessing.ts';
import type { ThurstonianTest } from './psychometric.ts';

export interface LikelihoodInterval extends MethodFacts {
  /** Maximum-likelihood d', not below 0; null without data and, unbounded, when all are right. */
  estimate: number | null;
  lower: number;
  /** Null: unbounded. */
  upper: number | null;
  level: number;
  /** Likelihood at the limits as part of the largest, exp(-z^2 / 2): 0.1465 for 0.95. */
  relativeLikelihood: number;
}

/**
 * Values of d' that the answers do not contradict: all with 2 [ln L(best) - ln L(d')] <= z^2, z = z((1 + level) / 2).
 * Follows the true, skew shape of the likelihood, where d' -+ z SE fails near 0; holds its level only in large samples,
 * unlike the exact limits of dPrimeInterval. In simulated triangles of 12 assessors level 0.9 covers d' = 2 in 86 %; from 24
 * on it is within a point or cautious (npm run calibrate). d' is not below 0: with fewer right than guessing gives the largest
 * likelihood is that of d' = 0. Not for repeated answers of one assessor.
 *
 * n whole from 0, correct 0..n, level between 0 and 1. No data: null and [0, unbounded). Within 1e-9.
 * Errors: StatsInputError. Source: Y. Pawitan 2001, In All Likelihood, chapter 2 (from memory); Brockhoff &
 * Christensen 2010, Food Qual. Pref. 21:330 (from memory).
 * Example: `likelihoodInterval({ test: 'triangle', correct: 15, n: 30, level: 0.95 }).upper` is 2.35722695463
 */
export function likelihoodInterval({
  test,
  correct,
  n,
  level,
}: {
  test: ThurstonianTest;
  correct: number;
  n: number;
  level: number;
}): LikelihoodInterval {
  answers({ correct, n });
  properProbability('level', level);
  const z = normalQuantile((1 + level) / 2);
  const facts = {
    level,
    relativeLikelihood: Math.exp(-(z * z) / 2),
    method: 'Thurstonian d-prime, likelihood interval',
    assumption:
      'One answer per assessor, many of them; percepts vary normally along one dimension with equal spread, assessors are alike and use the rule of the method.',
    source: 'Pawitan 2001; Brockhoff & Christensen 2010',
  };
  if (n === 0) return { estimate: null, lower: 0, upper: null, ...facts };
  const guess = GUESS_RATE[test];
  const best = Math.max(guess, correct / n);
  const goal = lackOfFit(correct, n, best) + (z * z) / 2;
  const slope = (pc: number) => (n - correct) / (1 - pc) - correct / pc;
  const lowest =
    lackOfFit(correct, n, guess) <= goal
      ? guess
      : crossing({
          low: guess,
          high: best,
          start: (guess + best) / 2,
          value: (pc) => goal - lackOfFit(correct, n, pc),
          slope: (pc) => -slope(pc),
        });
  const highest =
    correct === n
      ? 1
      : crossing({
          low: best,
          high: 1,
          start: (1 + best) / 2,
          value: (pc) => (pc === 1 ? Infinity : lackOfFit(correct, n, pc) - goal),
          slope,
        });
  return {
    estimate: dPrimeFromProportion(test, best),
    lower: dPrimeFromProportion(test, lowest) ?? LARGEST_D_PRIME,
    upper: dPrimeFromProportion(test, highest),
    ...facts,
  };
}

/**
 * ln L at the observed proportion less ln L at `pc`: half the deviance of the binomial, from 0.
 * correct 0..n, pc between 0 and 1 (0 and 1 where the counts allow it). Errors: none.
 * Example: `lackOfFit(15, 30, 1 / 3)` is 1.766745535
 */
export function lackOfFit(correct: number, n: number, pc: number): number {
  if ((pc === 0 && correct > 0) || (pc === 1 && correct < n)) return Infinity;
  const right = pc === 0 ? 0 : deviance(correct, n * pc);
  const wrong = pc === 1 ? 0 : deviance(n - correct, n * (1 - pc));
  return right + wrong;
}
