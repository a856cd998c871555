import { integerIn, MAX_ANSWERS, properProbability, StatsInputError } from '../../ground/input.ts';
import { betaQuantile, studentTwoSided } from '../jstat.ts';
import type { MethodFacts } from '../method.ts';

/** One assessor's answers. */
export interface AssessorAnswers {
  answers: number;
  correct: number;
}

export interface ReplicatedProportion extends MethodFacts {
  /** All right answers over all answers; null without data. */
  estimate: number | null;
  lower: number;
  upper: number;
  level: number;
  /** Assessors with at least one answer. */
  assessors: number;
  n: number;
  correct: number;
  /**
   * n / effectiveN: how many answers of the repeating palates say as much as one of a new palate. At least 1; null
   * when between-assessor variation cannot be estimated (one assessor, or all answers right, or all wrong).
   */
  designEffect: number | null;
  /** p (1 - p) / var, at most n; null with designEffect. */
  effectiveN: number | null;
  /** Number of answers the interval rests on: effectiveN less what its own uncertainty costs. 0 without data. */
  intervalN: number;
  /** Beta-binomial gamma by moments, 0 to 1; null when not estimable or when assessors gave unequal numbers of answers. */
  gamma: number | null;
}

/**
 * Proportion correct when assessors answered more than once: replicates are not further people.
 *
 * Variance of the pooled proportion from the spread between assessors, as for a ratio of clusters:
 * var = k / (k - 1) sum (x_i - p m_i)^2 / n^2; effective n = p (1 - p) / var, at most n. The interval is
 * Clopper-Pearson with real counts, L = BetaInv(a/2; p n*, n* - p n* + 1), U = BetaInv(1 - a/2; p n* + 1, n* - p n*),
 * where n* = effective n [t(n - 1) / t(k - 1)]^2 pays for having estimated var from k assessors.
 * Two bounds of ours: effective n is capped at n before t enters, so that an even spread by luck never makes
 * replicates count in full; and n* is not below n^2 / sum m_i^2, what remains if each assessor always gave the same
 * answer, which is also used when var cannot be estimated. With one answer each it is Clopper-Pearson itself.
 *
 * `eachOnce`: the spread between assessors is not looked at, each counts as if they always gave the same answer, and gamma is
 * null: an interval that tells nothing of how single assessors did.
 *
 * gamma = {m S / [(k - 1) p (1 - p)] - 1} / (m - 1), S = sum (x_i / m - p)^2, for equal m above 1.
 * Not for the test of difference, which may count all answers (exactP), nor for similarity (one answer each).
 * Each answers whole from 0, correct 0..answers; level between 0 and 1. No data: [0, 1]. Errors: StatsInputError.
 * Source: Korn & Graubard 1998, Surv. Methodol. 24:193 (effective n); Ennis & Bi 1998, J. Sens. Stud. 13:389 (gamma).
 * Example: `replicatedProportion({ clusters: [4, 4, 3, 1, 2, 0, 1, 4, 2, 1, 3, 4, 1, 2, 4].map((correct) => ({ answers: 4, correct })), level: 0.9 }).gamma` is 0.35119047619
 */
export function replicatedProportion({
  clusters,
  level,
  eachOnce = false,
}: {
  clusters: readonly AssessorAnswers[];
  level: number;
  eachOnce?: boolean;
}): ReplicatedProportion {
  properProbability('level', level);
  for (const { answers, correct } of clusters) {
    integerIn('answers', answers, 0, MAX_ANSWERS);
    integerIn('correct', correct, 0, answers);
  }
  const people = clusters.filter(({ answers }) => answers > 0);
  const k = people.length;
  const n = people.reduce((sum, { answers }) => sum + answers, 0);
  if (n > MAX_ANSWERS) throw new StatsInputError('n', n, `at most ${MAX_ANSWERS} answers`);
  const correct = people.reduce((sum, person) => sum + person.correct, 0);
  const facts = {
    level,
    assessors: k,
    n,
    correct,
    method: 'Clopper-Pearson interval with the effective number of answers',
    assumption:
      'Assessors are independent of each other; answers of one assessor may hang together, estimated from the spread between assessors.',
    source: 'Korn & Graubard 1998; Ennis & Bi 1998',
  };
  if (n === 0) {
    const nothing = { estimate: null, designEffect: null, effectiveN: null, gamma: null };
    return { ...facts, ...nothing, lower: 0, upper: 1, intervalN: 0 };
  }

  const p = correct / n;
  const least = n ** 2 / people.reduce((sum, { answers }) => sum + answers ** 2, 0);
  const tail = (1 - level) / 2;
  const effectiveN = eachOnce ? null : effectiveAnswers(people, correct, n);
  let intervalN = least;
  if (effectiveN !== null) {
    const cost = (studentTwoSided(2 * tail, n - 1) / studentTwoSided(2 * tail, k - 1)) ** 2;
    intervalN = Math.max(least, effectiveN * cost);
  }
  const right = p * intervalN;
  return {
    ...facts,
    estimate: p,
    lower: correct === 0 ? 0 : betaQuantile(tail, right, intervalN - right + 1),
    upper: correct === n ? 1 : betaQuantile(1 - tail, right + 1, intervalN - right),
    designEffect: effectiveN === null ? null : n / effectiveN,
    effectiveN,
    intervalN,
    gamma: eachOnce ? null : momentGamma(people),
  };
}

function effectiveAnswers(people: readonly AssessorAnswers[], correct: number, n: number): number | null {
  const k = people.length;
  if (k < 2 || correct === 0 || correct === n) return null;
  const p = correct / n;
  const spread = people.reduce((sum, person) => sum + (person.correct - p * person.answers) ** 2, 0);
  const variance = ((k / (k - 1)) * spread) / n ** 2;
  return Math.min(n, (p * (1 - p)) / variance);
}

/**
 * Moment estimate of gamma, the beta-binomial share of variation between assessors: 0 (all alike) to 1 (each always
 * right or always wrong), truncated to that range. Null for fewer than two assessors, one answer each, unequal numbers of
 * answers (the moment form does not hold; use the likelihood), and all answers right or all wrong.
 * Refers to pc; a gamma on the scale of pd is another number. Errors: none. Source: Ennis & Bi 1998.
 * Example: `momentGamma([2, 2, 2].map((correct) => ({ answers: 4, correct })))` is 0
 */
export function momentGamma(people: readonly AssessorAnswers[]): number | null {
  const k = people.length;
  const m = people[0]?.answers ?? 0;
  if (k < 2 || m < 2 || people.some(({ answers }) => answers !== m)) return null;
  const p = people.reduce((sum, { correct }) => sum + correct, 0) / (k * m);
  if (p === 0 || p === 1) return null;
  const spread = people.reduce((sum, { correct }) => sum + (correct / m - p) ** 2, 0);
  const gamma = ((m * spread) / ((k - 1) * p * (1 - p)) - 1) / (m - 1);
  return Math.min(1, Math.max(0, gamma));
}
