import { upperTail } from '../binomial.ts';
import { properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { answers } from './guessing.ts';

/**
 * Exact one-sided p of a test of difference: the chance of at least `correct` of `n` by guessing alone.
 * p = sum over k >= correct of C(n, k) p0^k (1 - p0)^(n - k), summed from the top, never 1 - cdf.
 * Repeated answers of one palate may be counted here, since under guessing they are independent
 * (Kunert & Meyners 1999). Not for paired preference (two-sided) and never a proof of similarity.
 *
 * n whole from 0, correct 0..n, guessRate between 0 and 1. correct = 0 (and n = 0) gives 1. Errors: StatsInputError.
 * Source: ISO 4120; Roessler, Pangborn, Sidel & Stone 1978, J. Food Sci. 43:940.
 * Example: `exactP({ correct: 13, n: 24, guessRate: 1 / 3 })` is 0.0284411280955
 */
export function exactP({ correct, n, guessRate }: { correct: number; n: number; guessRate: number }): number {
  answers({ correct, n });
  properProbability('guessRate', guessRate);
  return upperTail(correct, n, guessRate);
}

export interface DifferenceTest extends MethodFacts {
  p: number;
  /** n p0, the number right that guessing gives on average. */
  expectedByGuessing: number;
  /** Fewer right than guessing gives on average: look at labels and serving; no sign of sameness. */
  belowGuessing: boolean;
  /** p if all n were right: the smallest the design could have given. */
  smallestP: number;
}

/**
 * exactP with what belongs beside it in a report. Same input and errors.
 * Example: `differenceTest({ correct: 13, n: 24, guessRate: 1 / 3 }).expectedByGuessing` is 8
 */
export function differenceTest(input: { correct: number; n: number; guessRate: number }): DifferenceTest {
  const { correct, n, guessRate } = input;
  return {
    p: exactP(input),
    expectedByGuessing: n * guessRate,
    belowGuessing: correct < n * guessRate * (1 - 1e-15),
    smallestP: exactP({ correct: n, n, guessRate }),
    method: 'Exact binomial test, one-sided',
    assumption:
      'Answers are forced, orders balanced and drawn at random, and without a perceptible difference every answer is a guess.',
    source: 'ISO 4120; Roessler, Pangborn, Sidel & Stone 1978',
  };
}
