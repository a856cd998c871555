import { binomialPmf, upperTail } from '../binomial.ts';
import { answerCount, properProbability } from '../../ground/input.ts';

/**
 * How much above a risk a tail may lie and still count as reaching it, relative. Tails are exact to 1e-12, and
 * for p0 = 1/10 some equal alpha exactly (1 of 1 at 0.10); the rule is p <= alpha.
 */
export const RISK_TOLERANCE = 1e-12;

/**
 * Fewest right answers that are significant at one-sided `alpha`: min{c : P(X >= c | n, p0) <= alpha}.
 * Null when even n of n is not significant, and for n = 0.
 *
 * The number needed, not the quantile: qbinom(1 - alpha) is the largest count that is not significant.
 * Not for two-sided questions (paired preference).
 * n whole from 0, alpha and guessRate between 0 and 1. Errors: StatsInputError.
 * Source: ISO 4120; Roessler, Pangborn, Sidel & Stone 1978, J. Food Sci. 43:940.
 * Example: `criticalNumber({ n: 24, alpha: 0.05, guessRate: 1 / 3 })` is 13
 */
export function criticalNumber({
  n,
  alpha,
  guessRate,
}: {
  n: number;
  alpha: number;
  guessRate: number;
}): number | null {
  answerCount('n', n);
  properProbability('alpha', alpha);
  properProbability('guessRate', guessRate);
  const limit = alpha * (1 + RISK_TOLERANCE);
  if (binomialPmf(n, n, guessRate) > limit) return null;
  // Halving: 0 right is never significant, n of n is.
  let not = 0;
  let yes = n;
  while (yes - not > 1) {
    const middle = (not + yes) >> 1;
    if (upperTail(middle, n, guessRate) <= limit) yes = middle;
    else not = middle;
  }
  return yes;
}
