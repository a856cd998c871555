import { properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalQuantile } from '../normal.ts';
import { answers } from './guessing.ts';
import { shareFromProportion } from './proportion-interval.ts';

export interface NormalShareLimits extends MethodFacts {
  /** pd, not truncated; null without data, as all numbers here are. */
  estimate: number | null;
  standardError: number | null;
  /** One-sided limits, each with `risk`; not truncated, so they can leave 0..1. */
  lower: number | null;
  upper: number | null;
}

/**
 * One-sided normal limits for the proportion of discriminators in the form the standards print:
 * (x/n - p0) / (1 - p0) -+ z(1 - risk) SE, SE = sqrt((n x - x^2) / n^3) / (1 - p0).
 * To compare with a hand calculation only: it is narrower than the exact limit (exactUpperLimit) and collapses at
 * 0 and n right. Similarity is judged by the exact limit.
 * correct 0..n, risk and guessRate between 0 and 1. Errors: StatsInputError. Source: ISO 4120; ISO 10399.
 * Example: `normalShareLimits({ correct: 22, n: 66, guessRate: 1 / 3, risk: 0.05 }).upper` is 0.143166131885
 */
export function normalShareLimits({
  correct,
  n,
  guessRate,
  risk,
}: {
  correct: number;
  n: number;
  guessRate: number;
  risk: number;
}): NormalShareLimits {
  answers({ correct, n });
  properProbability('guessRate', guessRate);
  properProbability('risk', risk);
  const facts = {
    method: 'Normal one-sided limits of the proportion of discriminators',
    assumption:
      'Many independent answers, right and wrong ones among them; the exact limit needs no such thing.',
    source: 'ISO 4120; ISO 10399',
  };
  if (n === 0) return { estimate: null, standardError: null, lower: null, upper: null, ...facts };
  const estimate = shareFromProportion(correct / n, guessRate);
  const standardError = Math.sqrt((correct * (n - correct)) / n) / (n * (1 - guessRate));
  const reach = -normalQuantile(risk) * standardError;
  return { estimate, standardError, lower: estimate - reach, upper: estimate + reach, ...facts };
}
