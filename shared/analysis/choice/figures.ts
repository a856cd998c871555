import type { DifferencePart } from '../../contracts/part.ts';
import type { ChoiceResult } from '../../contracts/result-choice.ts';
import { differenceOf, hasRightAnswer } from '../../kinds/kinds.ts';
import { lowerTail, upperTail } from '../../stats/binomial.ts';
import { sharePosterior } from '../../stats/discrimination/bayesian.ts';
import { criticalNumber } from '../../stats/discrimination/critical-number.ts';
import { dPrimeInterval } from '../../stats/discrimination/d-prime.ts';
import { exactP } from '../../stats/discrimination/exact-p.ts';
import { proportionCorrect } from '../../stats/discrimination/guessing.ts';
import {
  powerOfDifference,
  smallestForDifference,
  smallestReaching,
} from '../../stats/discrimination/power.ts';
import { twoSidedCriticalNumber, twoSidedP } from '../../stats/discrimination/preference.ts';
import { psychometricSlope } from '../../stats/discrimination/psychometric.ts';
import {
  maxCorrect,
  powerOfSimilarity,
  similarityTest,
  smallestForSimilarity,
} from '../../stats/discrimination/similarity.ts';
import { normalQuantile } from '../../stats/normal.ts';
import { firstOfEach, type Judged } from './judge.ts';

/** Half guess in a pair, which is where both sides meet. */
const HALF = 0.5;

/** The planned test of a difference: one-sided against guessing, or two-sided against one half. */
export function testFigures(part: DifferencePart, counted: number, n: number): ChoiceResult['test'] {
  const { guessRate } = differenceOf(part).test;
  const { alpha } = part;
  const common = { guessRate, counted, answers: n, expectedByGuessing: n * guessRate, alpha };
  if (!hasRightAnswer(part)) {
    return {
      ...common,
      side: 'two-sided',
      p: twoSidedP({ count: counted, n }),
      critical: twoSidedCriticalNumber({ n, alpha }),
      smallestP: twoSidedP({ count: n, n }),
    };
  }
  return {
    ...common,
    side: 'greater',
    p: exactP({ correct: counted, n, guessRate }),
    critical: criticalNumber({ n, alpha, guessRate }),
    smallestP: exactP({ correct: n, n, guessRate }),
  };
}

/**
 * Similarity rests on one answer per person: the first tray each answered. Without a direction both arms may be named
 * too often: the larger count is held against the limit, which is the same as testing both sides, each at beta.
 */
export function similarityFigures(
  part: DifferencePart,
  judged: readonly Judged[],
): NonNullable<ChoiceResult['similarity']> {
  const first = firstOfEach(judged);
  const n = first.length;
  const hits = first.filter(({ counted }) => counted).length;
  const counted = hasRightAnswer(part) ? hits : Math.max(hits, n - hits);
  const { meaningfulShare, beta } = part;
  const { p, mostCorrect, upperShare } = similarityTest({
    correct: counted,
    n,
    beta,
    pdMax: meaningfulShare,
    guessRate: differenceOf(part).test.guessRate,
  });
  // Of two sides the larger is at least half: a smaller limit cannot be met.
  const reachable = hasRightAnswer(part) || mostCorrect === null || 2 * mostCorrect >= n;
  return {
    counted,
    answers: n,
    mostCounted: reachable ? mostCorrect : null,
    p,
    beta,
    meaningfulShare,
    upperShare,
  };
}

/** Chance that the answers given show what was planned: a difference of that size, or similarity if there is none. */
export function powerFigures(part: DifferencePart, answers: number, persons: number): ChoiceResult['power'] {
  const { alpha, beta, meaningfulShare, aim } = part;
  const { guessRate } = differenceOf(part).test;
  const directed = hasRightAnswer(part);
  const n = aim === 'similarity' ? persons : answers;
  const frame = { answers: n, meaningfulShare };
  if (aim === 'similarity') {
    const risks = { beta, pdMax: meaningfulShare, guessRate };
    const chance = (size: number) =>
      directed ? powerOfSimilarity({ n: size, ...risks }).power : bothSidesSimilar(size, risks);
    const smallest = directed
      ? smallestForSimilarity({ alpha, ...risks })
      : smallestReaching(chance, 1 - alpha);
    return { ...frame, power: n === 0 ? null : chance(n), smallestForPlan: smallest?.first ?? null };
  }
  const planned = { alpha, pd: meaningfulShare, guessRate };
  const chance = (size: number) =>
    directed
      ? powerOfDifference({ n: size, ...planned }).power
      : eitherSideShown(size, alpha, meaningfulShare);
  const smallest = directed
    ? smallestForDifference({ beta, ...planned })
    : smallestReaching(chance, 1 - beta);
  return { ...frame, power: n === 0 ? null : chance(n), smallestForPlan: smallest?.first ?? null };
}

/** Chance of a significant two-sided result when a share `pd` discriminates in one direction: exact, both tails. */
function eitherSideShown(n: number, alpha: number, pd: number): number {
  const critical = twoSidedCriticalNumber({ n, alpha });
  if (critical === null) return 0;
  const proportion = proportionCorrect(pd, HALF);
  return upperTail(critical, n, proportion) + lowerTail(n - critical, n, proportion);
}

/** Chance that neither arm is named too often when nobody discriminates. */
function bothSidesSimilar(n: number, risks: { beta: number; pdMax: number; guessRate: number }): number {
  const most = maxCorrect({ n, ...risks });
  if (most === null || 2 * most < n) return 0;
  return Math.max(0, 1 - 2 * upperTail(most + 1, n, HALF));
}

/** d-prime with limits carried over from those of the proportion; signed where no direction was fixed. */
export function dPrimeFigures(
  part: DifferencePart,
  counts: { counted: number; n: number; effectiveN: number },
  limits: { lower: number; upper: number; level: number },
): ChoiceResult['dPrime'] {
  const { counted, n, effectiveN } = counts;
  const { lower, upper, level } = limits;
  if (n === 0) return null;
  const { stats: test } = differenceOf(part).test;
  const d = dPrimeInterval({ test, correct: counted, n, lower, upper, effectiveN });
  if (hasRightAnswer(part)) {
    return {
      estimate: d.estimate,
      standardError: d.standardError,
      level,
      lower: d.lower,
      upper: d.upper,
    };
  }
  const proportion = counted / n;
  const slope = d.signed === null ? null : psychometricSlope(test, Math.abs(d.signed));
  return {
    estimate: d.signed,
    standardError: slope === null ? null : Math.sqrt((proportion * (1 - proportion)) / effectiveN) / slope,
    level,
    lower: signedDPrime(lower),
    upper: signedDPrime(upper),
  };
}

/** d' = sqrt(2) z(share) of a pair; null at none and all, where it is unbounded. */
function signedDPrime(share: number): number | null {
  return share <= 0 || share >= 1 ? null : Math.SQRT2 * normalQuantile(share);
}

/** A reading beside the test, from one answer per person and a flat prior that is the same for every tasting. */
export function posteriorFigures(
  part: DifferencePart,
  judged: readonly Judged[],
  level: number,
): ChoiceResult['posterior'] {
  const first = firstOfEach(judged);
  if (first.length === 0 || !hasRightAnswer(part)) return null;
  const { median, lower, upper, exceeds, exceedsBefore } = sharePosterior({
    correct: first.filter(({ counted }) => counted).length,
    n: first.length,
    guessRate: differenceOf(part).test.guessRate,
    matters: part.meaningfulShare,
    level,
    prior: { a: 1, b: 1 },
  });
  return {
    answers: first.length,
    median,
    level,
    lower,
    upper,
    meaningfulShare: part.meaningfulShare,
    exceeds,
    exceedsBefore,
  };
}
