import { lowerTail } from '../binomial.ts';
import { answerCount, properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { RISK_TOLERANCE } from './critical-number.ts';
import { answers, proportionCorrect } from './guessing.ts';
import { smallestReaching } from './power.ts';
import { exactUpperLimit, shareFromProportion } from './proportion-interval.ts';

/** What a similarity test is planned with. */
interface SimilarityPlan {
  /** Risk of declaring similarity although the share that discriminates is pdMax; between 0 and 1, small. */
  beta: number;
  /** Largest share of discriminators that does not matter, fixed before the session; above 0, up to 1. */
  pdMax: number;
  guessRate: number;
}

export interface SimilarityTest extends MethodFacts {
  /** P(X <= correct) if a share pdMax discriminated; similarity is shown when p <= beta. */
  p: number;
  similar: boolean;
  /** Most right answers that still show similarity; null when no count can. */
  mostCorrect: number | null;
  /** Even the number right that guessing gives on average would fail: the design is too small. */
  tooSmall: boolean;
  /** Exact one-sided (1 - beta) upper limit of pd, not below 0: below pdMax just when similarity is shown. */
  upperShare: number;
  upperShareUntruncated: number;
}

/**
 * Are the samples similar: is the share of discriminators shown to be below a limit fixed beforehand?
 * H0: pd >= pdMax; p = P(X <= correct | n, p0 + (1 - p0) pdMax).
 * A planned test of its own, never read off a test of difference that was not significant. One answer per
 * assessor: repeated answers of one palate may not be pooled here.
 *
 * n whole from 0, correct 0..n; plan as in its fields. No data: p = 1. Errors: StatsInputError.
 * Source: ISO 4120; ASTM E1885.
 * Example: `similarityTest({ correct: 22, n: 66, beta: 0.05, pdMax: 0.3, guessRate: 1 / 3 }).p` is 0.000831309429639
 */
export function similarityTest({
  correct,
  n,
  ...plan
}: SimilarityPlan & { correct: number; n: number }): SimilarityTest {
  answers({ correct, n });
  const { beta, pdMax, guessRate } = plan;
  const mostCorrect = maxCorrect({ n, ...plan });
  const upperShareUntruncated = shareFromProportion(exactUpperLimit({ correct, n, risk: beta }), guessRate);
  return {
    p: lowerTail(correct, n, proportionCorrect(pdMax, guessRate)),
    similar: mostCorrect !== null && correct <= mostCorrect,
    mostCorrect,
    tooSmall: mostCorrect === null || mostCorrect < n * guessRate * (1 - 1e-15),
    upperShare: Math.max(0, upperShareUntruncated),
    upperShareUntruncated,
    method: 'Exact binomial similarity test, one-sided',
    assumption:
      'One answer per assessor; the share that may discriminate and the risk were fixed before the session.',
    source: 'ISO 4120; ASTM E1885',
  };
}

/**
 * Most right answers that still show similarity: max{x : P(X <= x | n, p0 + (1 - p0) pdMax) <= beta}; null when none.
 * n whole from 0; plan as in its fields. Errors: StatsInputError. Source: ISO 4120.
 * Example: `maxCorrect({ n: 66, beta: 0.05, pdMax: 0.3, guessRate: 1 / 3 })` is 28
 */
export function maxCorrect({ n, beta, pdMax, guessRate }: SimilarityPlan & { n: number }): number | null {
  answerCount('n', n);
  properProbability('beta', beta);
  if (!(pdMax > 0 && pdMax <= 1)) throw new StatsInputError('pdMax', pdMax, 'a number above 0, up to 1');
  const proportion = proportionCorrect(pdMax, guessRate);
  const limit = beta * (1 + RISK_TOLERANCE);
  if (n === 0 || lowerTail(0, n, proportion) > limit) return null;
  // Halving: 0 right shows it, n of n never does.
  let yes = 0;
  let not = n;
  while (not - yes > 1) {
    const middle = (not + yes) >> 1;
    if (lowerTail(middle, n, proportion) <= limit) yes = middle;
    else not = middle;
  }
  return yes;
}

export interface SimilarityPower extends MethodFacts {
  /** Chance that similarity is shown, 0 to 1. */
  power: number;
  mostCorrect: number | null;
}

/**
 * Chance that a planned similarity test succeeds when a share `pd` really discriminates; 0, nobody, if not given.
 * power = P(X <= maxCorrect | n, p0 + (1 - p0) pd). For planning only.
 * n whole from 0, pd from 0 to 1. Errors: StatsInputError. Source: ISO 4120; ASTM E1885.
 * Example: `powerOfSimilarity({ n: 66, beta: 0.05, pdMax: 0.3, guessRate: 1 / 3 }).power` is 0.953080109977
 */
export function powerOfSimilarity({
  n,
  pd = 0,
  ...plan
}: SimilarityPlan & { n: number; pd?: number }): SimilarityPower {
  const mostCorrect = maxCorrect({ n, ...plan });
  return {
    power: mostCorrect === null ? 0 : lowerTail(mostCorrect, n, proportionCorrect(pd, plan.guessRate)),
    mostCorrect,
    method: 'Exact power of the one-sided binomial similarity test',
    assumption: 'Each answer comes from another assessor, and all are alike in the share that discriminates.',
    source: 'ISO 4120; ASTM E1885',
  };
}

/**
 * Smallest numbers of assessors for a similarity test: beta is the risk of a wrong claim of similarity, alpha the
 * risk of missing similarity when a share `pd` (0 if not given) discriminates; power reaches 1 - alpha.
 * `first` and `stable` as in smallestForDifference; null when 2,000 are not enough.
 * Errors: StatsInputError. Source: ISO 4120 (the risks swap roles).
 * Example: `smallestForSimilarity({ alpha: 0.1, beta: 0.05, pdMax: 0.3, guessRate: 1 / 3 }).first` is 54
 */
export function smallestForSimilarity({
  alpha,
  pd = 0,
  ...plan
}: SimilarityPlan & { alpha: number; pd?: number }): { first: number; stable: number } | null {
  properProbability('alpha', alpha);
  proportionCorrect(pd, plan.guessRate);
  if (pd >= plan.pdMax) return null;
  return smallestReaching((n) => powerOfSimilarity({ n, pd, ...plan }).power, 1 - alpha);
}
