import type { MethodFacts } from '../method.ts';
import { normalCdf } from '../normal.ts';
import { groupAnswers } from './beta-binomial-likelihood.ts';
import { countAnswers } from './beta-binomial.ts';
import type { AssessorAnswers } from './replicated.ts';

export interface TaroneTest extends MethodFacts {
  /** Above 0: assessors differ more than chance makes them. Null when it cannot be known. */
  z: number | null;
  /** One-sided; null with z. */
  p: number | null;
}

/**
 * Do assessors differ more than the binomial makes them, without fitting a model?
 * z = [sum (x_i - m_i p)^2 / (p (1 - p)) - sum m_i] / sqrt(2 sum m_i (m_i - 1)), p the pooled proportion.
 * Large-sample: rough for few assessors. Not a measure of how much they differ (betaBinomial).
 * Each answers whole from 0 (up to 50), correct 0..answers. Null for one answer each, all right, all wrong.
 * Errors: StatsInputError. Source: Tarone 1979, Biometrika 66:585.
 * Example: `taroneTest([4, 4, 3, 1, 2, 0, 1, 4, 2, 1, 3, 4, 1, 2, 4].map((correct) => ({ answers: 4, correct }))).z` is 2.89875452182
 */
export function taroneTest(clusters: readonly AssessorAnswers[]): TaroneTest {
  const groups = groupAnswers(clusters);
  const { n, correct } = countAnswers(groups);
  const facts = {
    method: "Tarone's test of overdispersion, one-sided",
    assumption: 'Assessors are independent of each other, and there are many of them.',
    source: 'Tarone 1979',
  };
  const repeats = groups.reduce(
    (sum, { answers, assessors }) => sum + assessors * answers * (answers - 1),
    0,
  );
  if (repeats === 0 || correct === 0 || correct === n) return { z: null, p: null, ...facts };
  const p = correct / n;
  const spread = groups.reduce(
    (sum, group) => sum + group.assessors * (group.correct - group.answers * p) ** 2,
    0,
  );
  const z = (spread / (p * (1 - p)) - n) / Math.sqrt(2 * repeats);
  return { z, p: normalCdf(-z), ...facts };
}
