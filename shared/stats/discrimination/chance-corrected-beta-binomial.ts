import { properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { fitBetaBinomial, groupAnswers } from './beta-binomial-likelihood.ts';
import { againstBinomial, countAnswers } from './beta-binomial.ts';
import { proportionCorrect } from './guessing.ts';
import { shareFromProportion } from './proportion-interval.ts';
import type { AssessorAnswers } from './replicated.ts';

export interface ChanceCorrectedBetaBinomial extends MethodFacts {
  /** Mean share of discriminators, or how often an assessor discriminates; without a fit pd itself; null without data. */
  muShare: number | null;
  /** Variation between assessors on the scale of pd, 0 to 1; null without a fit. */
  gammaShare: number | null;
  /** p0 + (1 - p0) muShare; null with muShare. */
  proportionCorrect: number | null;
  /** From the observed information; null at the ends of the range of gamma, and without a fit. */
  standardErrorMu: number | null;
  standardErrorGamma: number | null;
  /** With binomial coefficients; null without a fit. */
  logLikelihood: number | null;
  /** Of the binomial whose pc is not below guessing. */
  logLikelihoodBinomial: number | null;
  likelihoodRatio: number | null;
  /** P of at least this ratio when assessors are alike; 1 for a ratio of 0; null without a fit. */
  p: number | null;
  assessors: number;
  n: number;
  correct: number;
}

/**
 * The beta-binomial for repeated forced choices that never lets an assessor's chance fall below guessing:
 * pd_i ~ Beta(a, b), pc_i = p0 + (1 - p0) pd_i;
 * P(x) = C(m, x) (1 - p0)^m sum over i <= x of C(x, i) (p0 / (1 - p0))^(x - i) B(a + i, m + b - x) / B(a, b),
 * by maximum likelihood, any numbers of answers; likelihood ratio against gamma = 0 with half a chi-square (1).
 * Not for the test of difference, which may count all answers (exactP), nor beside a gamma of betaBinomial, which is
 * on the scale of pc. At mu near 0 gamma says little, since nobody discriminates.
 *
 * Each answers whole from 0 (up to 50), correct 0..answers, guessRate between 0 and 1. No fit for one answer
 * each, all right, and where the best share is 0. Estimates within 1e-6. Errors: StatsInputError.
 * Source: Brockhoff 2003, Food Qual. Pref. 14:405.
 * Example: `chanceCorrectedBetaBinomial({ clusters: [4, 4, 3, 1, 2, 0, 1, 4, 2, 1, 3, 4, 1, 2, 4].map((correct) => ({ answers: 4, correct })), guessRate: 1 / 3 }).muShare` is 0.392706
 */
export function chanceCorrectedBetaBinomial({
  clusters,
  guessRate,
}: {
  clusters: readonly AssessorAnswers[];
  guessRate: number;
}): ChanceCorrectedBetaBinomial {
  properProbability('guessRate', guessRate);
  const groups = groupAnswers(clusters);
  const fit = fitBetaBinomial({ groups, guessRate });
  const counts = countAnswers(groups);
  const share =
    counts.n === 0 ? null : Math.max(0, shareFromProportion(counts.correct / counts.n, guessRate));
  const muShare = fit?.mu ?? share;
  return {
    muShare,
    gammaShare: fit?.gamma ?? null,
    proportionCorrect: muShare === null ? null : proportionCorrect(muShare, guessRate),
    standardErrorMu: fit?.standardErrorMu ?? null,
    standardErrorGamma: fit?.standardErrorGamma ?? null,
    logLikelihood: fit?.logLikelihood ?? null,
    logLikelihoodBinomial: fit?.logLikelihoodBinomial ?? null,
    ...againstBinomial(fit),
    ...counts,
    method:
      'Chance-corrected beta-binomial by maximum likelihood, likelihood-ratio test against the binomial',
    assumption:
      'Assessors are independent, guess when they do not discriminate, and discriminate with chances that follow a beta distribution; the p is a large-sample one.',
    source: 'Brockhoff 2003; Self & Liang 1987',
  };
}
