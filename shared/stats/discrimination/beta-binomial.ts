import { answerCount, integerIn, MAX_ANSWERS, probability, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalCdf } from '../normal.ts';
import { fitBetaBinomial, groupAnswers, type AnswerGroup } from './beta-binomial-likelihood.ts';
import type { AssessorAnswers } from './replicated.ts';

export interface BetaBinomial extends MethodFacts {
  /** Mean proportion correct of the assessors; null without data. */
  mu: number | null;
  /** Variation between assessors on the scale of pc, 0 to 1; null when it cannot be known. */
  gamma: number | null;
  /** From the observed information; null at gamma = 0 or 1 and where gamma is null. */
  standardErrorMu: number | null;
  standardErrorGamma: number | null;
  /** With binomial coefficients; null with gamma. */
  logLikelihood: number | null;
  logLikelihoodBinomial: number | null;
  /** Likelihood ratio against the binomial, 2 (ln L - ln L at gamma = 0), from 0; null with gamma. */
  likelihoodRatio: number | null;
  /** P of at least this ratio when assessors are alike; 1 for a ratio of 0; null with gamma. */
  p: number | null;
  assessors: number;
  n: number;
  correct: number;
}

/**
 * Do assessors who answered repeatedly differ from each other, and by how much?
 * pc_i ~ Beta(a, b), mu = a / (a + b), gamma = 1 / (a + b + 1); P(x) = C(m, x) B(x + a, m - x + b) / B(a, b), by maximum
 * likelihood, any numbers of answers. Likelihood ratio against gamma = 0; since that lies at the end of the range,
 * p = 1/2 P(chi-square(1) > LR), and 1 for LR = 0.
 * Not for the test of difference, which may count all answers (exactP). pc_i may fall below guessing here; where that
 * makes no sense see chanceCorrectedBetaBinomial, whose gamma is on another scale. Small panels seldom show variation.
 *
 * Each answers whole from 0 (up to 50), correct 0..answers. gamma is null for one answer each, all right and all wrong.
 * Estimates within 1e-6. Errors: StatsInputError.
 * Source: Ennis & Bi 1998, J. Sens. Stud. 13:389; boundary: Self & Liang 1987, J. Am. Stat. Assoc. 82:605 (from memory).
 * Example: `betaBinomial([4, 4, 3, 1, 2, 0, 1, 4, 2, 1, 3, 4, 1, 2, 4].map((correct) => ({ answers: 4, correct }))).gamma` is 0.313638
 */
export function betaBinomial(clusters: readonly AssessorAnswers[]): BetaBinomial {
  const groups = groupAnswers(clusters);
  const fit = fitBetaBinomial({ groups, guessRate: 0 });
  const totals = countAnswers(groups);
  return {
    mu: fit?.mu ?? (totals.n === 0 ? null : totals.correct / totals.n),
    gamma: fit?.gamma ?? null,
    standardErrorMu: fit?.standardErrorMu ?? null,
    standardErrorGamma: fit?.standardErrorGamma ?? null,
    logLikelihood: fit?.logLikelihood ?? null,
    logLikelihoodBinomial: fit?.logLikelihoodBinomial ?? null,
    ...againstBinomial(fit),
    ...totals,
    method: 'Beta-binomial by maximum likelihood, likelihood-ratio test against the binomial',
    assumption:
      'Assessors are independent and their chances of a right answer follow a beta distribution; the p is a large-sample one.',
    source: 'Ennis & Bi 1998; Self & Liang 1987',
  };
}

/**
 * Assessors, answers and right answers of the groups. Errors: none.
 * Example: `countAnswers([{ answers: 4, correct: 3, assessors: 2 }]).n` is 8
 */
export function countAnswers(groups: readonly AnswerGroup[]): {
  assessors: number;
  n: number;
  correct: number;
} {
  const total = (value: (group: AnswerGroup) => number) =>
    groups.reduce((sum, group) => sum + group.assessors * value(group), 0);
  return {
    assessors: total(() => 1),
    n: total(({ answers }) => answers),
    correct: total(({ correct }) => correct),
  };
}

/**
 * Likelihood ratio of a fit against gamma = 0 with its half chi-square p: P(chi-square(1) > LR) / 2 is
 * P(Z > sqrt(LR)). Errors: none. Source: Self & Liang 1987.
 * Example: `againstBinomial({ logLikelihood: -23.3959645802, logLikelihoodBinomial: -26.6876554462 }).p` is 0.005146757515
 */
export function againstBinomial(fit: { logLikelihood: number; logLikelihoodBinomial: number } | null): {
  likelihoodRatio: number | null;
  p: number | null;
} {
  if (fit === null) return { likelihoodRatio: null, p: null };
  const likelihoodRatio = Math.max(0, 2 * (fit.logLikelihood - fit.logLikelihoodBinomial));
  // Differences of rounding are no sign of variation.
  return likelihoodRatio < 1e-10
    ? { likelihoodRatio: 0, p: 1 }
    : { likelihoodRatio, p: normalCdf(-Math.sqrt(likelihoodRatio)) };
}

export interface AdjustedTest extends MethodFacts {
  /** 1 + (m - 1) gamma: answers of repeating palates that say as much as one of a new palate. */
  designEffect: number;
  /** n / designEffect. */
  effectiveN: number;
  z: number;
  /** One-sided: more right than guessing gives. */
  p: number;
}

/**
 * Normal test against guessing that counts answers at their effective number:
 * z = (correct / n - p0) / sqrt(p0 (1 - p0) (1 + (m - 1) gamma) / n), m = n / assessors answers each.
 * Cautious: for "is there any difference" the exact test of all answers is valid (Kunert & Meyners 1999); this one asks
 * whether the difference holds beyond these assessors. Not for small panels nor unequal numbers of answers.
 * assessors and replicates whole from 1, correct 0..assessors * replicates, gamma 0 to 1, guessRate between 0 and 1.
 * Errors: StatsInputError. Source: Ennis & Bi 1998, J. Sens. Stud. 13:389.
 * Example: `adjustedAgainstGuessing({ assessors: 15, replicates: 4, correct: 36, gamma: 0.31363797426, guessRate: 1 / 3 }).z` is 3.14519427637
 */
export function adjustedAgainstGuessing({
  assessors,
  replicates,
  correct,
  gamma,
  guessRate,
}: {
  assessors: number;
  replicates: number;
  correct: number;
  gamma: number;
  guessRate: number;
}): AdjustedTest {
  integerIn('assessors', assessors, 1, MAX_ANSWERS);
  integerIn('replicates', replicates, 1, MAX_ANSWERS);
  const n = answerCount('assessors * replicates', assessors * replicates);
  integerIn('correct', correct, 0, n);
  probability('gamma', gamma);
  properProbability('guessRate', guessRate);
  const designEffect = 1 + (replicates - 1) * gamma;
  const z = (correct / n - guessRate) / Math.sqrt((guessRate * (1 - guessRate) * designEffect) / n);
  return {
    designEffect,
    effectiveN: n / designEffect,
    z,
    p: normalCdf(-z),
    method: 'Normal test against guessing with the beta-binomial design effect, one-sided',
    assumption: 'Every assessor answered equally often, and there are many assessors.',
    source: 'Ennis & Bi 1998',
  };
}
