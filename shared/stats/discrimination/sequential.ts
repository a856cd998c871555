import { integerIn, probability, properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { answers, proportionCorrect } from './guessing.ts';

/** Fixed before the first answer: nothing of it may change on the way. */
export interface SequentialPlan {
  guessRate: number;
  /** Share of discriminators that matters, above 0, below 1. */
  pd: number;
  /** Risk of claiming a difference when there is none. */
  alpha: number;
  /** Risk of stopping for "less than pd" when a share pd discriminates. */
  beta: number;
}

export interface SequentialBoundaries extends MethodFacts {
  /** Right answers per answer along both lines. */
  slope: number;
  /** Right answers: `difference` once correct >= upper + slope n. */
  upper: number;
  /** Right answers, below 0: `less` once correct <= lower + slope n. */
  lower: number;
  /** Fewest answers after which either can be claimed: all right, and none right. */
  fewestForDifference: number;
  fewestForLess: number;
  /** Wald's approximate expected number of answers: without a difference, with a share pd, and about the largest. */
  expectedWithout: number;
  expectedWith: number;
  expectedLargest: number;
}

/**
 * Wald's sequential test of a forced choice: answers are looked at one after the other until one of two claims can
 * be made. H0: pc = p0, H1: pc = p1 = p0 + (1 - p0) pd. With A = ln((1 - beta) / alpha), B = ln(beta / (1 - alpha)),
 * D = ln(p1 (1 - p0) / (p0 (1 - p1))): slope = ln((1 - p0) / (1 - p1)) / D, upper = A / D, lower = B / D.
 * Expected numbers by Wald's approximation (both lines hit exactly): E = [L B + (1 - L) A] / E(z), L the chance to stop
 * below; at pc = slope E = -A B / E(z^2). sequentialOperating gives the exact ones.
 * Not for a test that was planned with a fixed n, and not to be stopped for any other reason. After a stop by these
 * lines the usual p and intervals no longer hold.
 *
 * guessRate, pd, alpha, beta between 0 and 1, alpha + beta below 1. Errors: StatsInputError.
 * Source: Wald 1947, Sequential Analysis; ISO 16820.
 * Example: `sequentialBoundaries({ guessRate: 1 / 3, pd: 0.5, alpha: 0.05, beta: 0.1 }).slope` is 0.5
 */
export function sequentialBoundaries(plan: SequentialPlan): SequentialBoundaries {
  const { p0, p1, alpha, beta } = checked(plan);
  const a = Math.log((1 - beta) / alpha);
  const b = Math.log(beta / (1 - alpha));
  const right = Math.log(p1 / p0);
  const wrong = Math.log((1 - p1) / (1 - p0));
  const slope = -wrong / (right - wrong);
  const mean = (p: number) => p * right + (1 - p) * wrong;
  const upper = a / (right - wrong);
  const lower = b / (right - wrong);
  return {
    slope,
    upper,
    lower,
    fewestForDifference: Math.ceil(upper / (1 - slope) - NEAR),
    fewestForLess: Math.ceil(-lower / slope - NEAR),
    expectedWithout: ((1 - alpha) * b + alpha * a) / mean(p0),
    expectedWith: (beta * b + (1 - beta) * a) / mean(p1),
    expectedLargest: (-a * b) / (slope * right ** 2 + (1 - slope) * wrong ** 2),
    method: "Wald's sequential probability ratio test",
    assumption:
      'Plan and lines were fixed before the first answer; answers are independent, one per assessor, and each is looked at in turn.',
    source: 'Wald 1947; ISO 16820',
  };
}

/** A count that lies on a line but for rounding has reached it. */
const NEAR = 1e-9;

function checked({ guessRate, pd, alpha, beta }: SequentialPlan): {
  p0: number;
  p1: number;
  alpha: number;
  beta: number;
} {
  properProbability('guessRate', guessRate);
  properProbability('pd', pd);
  properProbability('alpha', alpha);
  properProbability('beta', beta);
  if (alpha + beta >= 1) throw new StatsInputError('alpha + beta', alpha + beta, 'a number below 1');
  return { p0: guessRate, p1: proportionCorrect(pd, guessRate), alpha, beta };
}

export type SequentialState = 'difference' | 'less' | 'continue';

export interface SequentialStep {
  state: SequentialState;
  /** Fewest right of n that claim a difference; null when even n do not. */
  difference: number | null;
  /** Most right of n that claim less than pd; null when even 0 do not. */
  less: number | null;
}

/**
 * Where the test stands after n answers, by the lines of sequentialBoundaries. The first stop counts: answers that
 * come after it change nothing. `less`: a share pd or more is refuted at risk beta, not "no difference".
 * n whole from 0, correct 0..n. Errors: StatsInputError. Source: Wald 1947; ISO 16820.
 * Example: `sequentialStep({ plan: { guessRate: 1 / 3, pd: 0.5, alpha: 0.05, beta: 0.1 }, correct: 10, n: 12 }).difference` is 9
 */
export function sequentialStep({
  plan,
  correct,
  n,
}: {
  plan: SequentialPlan;
  correct: number;
  n: number;
}): SequentialStep {
  answers({ correct, n });
  return stepOf(sequentialBoundaries(plan), correct, n);
}

function stepOf(
  { slope, upper, lower }: { slope: number; upper: number; lower: number },
  correct: number,
  n: number,
): SequentialStep {
  const difference = Math.ceil(upper + slope * n - NEAR);
  const less = Math.floor(lower + slope * n + NEAR);
  return {
    state: correct >= difference ? 'difference' : correct <= less ? 'less' : 'continue',
    difference: difference > n ? null : difference,
    less: less < 0 ? null : less,
  };
}

export interface SequentialOperating extends MethodFacts {
  /** Chances to stop with each claim by `mostAnswers`, and to have none then; they add up to 1. */
  difference: number;
  less: number;
  undecided: number;
  /** Expected number of answers, those that end at `mostAnswers` undecided included. */
  expected: number;
}

/**
 * What a sequential plan does when a share `pd` of assessors discriminates and nobody goes beyond `mostAnswers`:
 * exact, by following every path between the lines. Lines are crossed, not hit, so both risks come out below alpha
 * and beta or near them; a small `mostAnswers` leaves many tests undecided.
 * pd from 0 to 1, mostAnswers whole from 1 to 5,000. Within 1e-11. Errors: StatsInputError.
 * Source: Wald 1947 (the walk); summing the paths is our own.
 * Example: `sequentialOperating({ plan: { guessRate: 1 / 3, pd: 0.5, alpha: 0.05, beta: 0.1 }, pd: 0, mostAnswers: 60 }).difference` is 0.0293136575982
 */
export function sequentialOperating({
  plan,
  pd,
  mostAnswers,
}: {
  plan: SequentialPlan;
  pd: number;
  mostAnswers: number;
}): SequentialOperating {
  probability('pd', pd);
  integerIn('mostAnswers', mostAnswers, 1, 5000);
  const lines = sequentialBoundaries(plan);
  const p = proportionCorrect(pd, plan.guessRate);
  // going.get(x): chance of x right so far without having stopped.
  let going = new Map([[0, 1]]);
  const stopped = { difference: 0, less: 0 };
  let expected = 0;
  for (let n = 1; n <= mostAnswers && going.size > 0; n += 1) {
    const next = new Map<number, number>();
    for (const [x, chance] of going) {
      expected += chance;
      for (const [count, part] of [
        [x + 1, chance * p],
        [x, chance * (1 - p)],
      ] as const) {
        if (part === 0) continue;
        const { state } = stepOf(lines, count, n);
        if (state === 'continue') next.set(count, (next.get(count) ?? 0) + part);
        else stopped[state] += part;
      }
    }
    going = next;
  }
  return {
    ...stopped,
    undecided: [...going.values()].reduce((sum, chance) => sum + chance, 0),
    expected,
    method: "Exact operating characteristic of Wald's sequential test",
    assumption: 'Answers are independent and all assessors alike in the share that discriminates.',
    source: 'Wald 1947; ISO 16820',
  };
}
