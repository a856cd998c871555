import type { MethodFacts } from '../method.ts';
import { normalCdf } from '../normal.ts';
import { dPrimeFromProportion, dPrimeVarianceFactor, LARGEST_D_PRIME } from './d-prime.ts';
import { GUESS_RATE } from './guessing.ts';
import { lackOfFit, likelihoodInterval } from './likelihood-interval.ts';
import { psychometric, type ThurstonianTest } from './psychometric.ts';

/** Answers of one pull. */
export interface Pull {
  test: ThurstonianTest;
  correct: number;
  n: number;
}

export interface DPrimeComparison extends MethodFacts {
  /** d' of each; null without data or, unbounded, when all are right. */
  first: number | null;
  second: number | null;
  /** first - second; null with either. */
  difference: number | null;
  /** Limits of the difference; null: unbounded on that side, or no data. */
  lower: number | null;
  upper: number | null;
  level: number;
  /** d' if both are the same; null without data in both, and when all answers of both are right. */
  common: number | null;
  /** Likelihood ratio of "two d'" against "one d'", from 0; null without data in one. */
  likelihoodRatio: number | null;
  /** Two-sided, P(chi-square(1) > likelihoodRatio); 1 without data in one. */
  p: number;
  /** Difference over its standard error; null where an SE does not exist (d' = 0, all right). For hand comparison. */
  z: number | null;
  /** Two-sided p of z; null with it. */
  pOfZ: number | null;
}

/**
 * Did the difference between the samples change from one pull to the next (or from one method to another)?
 * Likelihood-ratio test of d'1 = d'2: LR = 2 [ln L(d'1, d'2) - ln L(d', d')], p from chi-square(1); works at d' = 0 and with
 * all right, where the p is cautious. Beside it z = (d'1 - d'2) / sqrt(SE1^2 + SE2^2).
 * Limits of the difference from those of both: first - second -+ sqrt of the squared distances to the likelihood limits.
 * Not for the same assessors in both pulls as if they were others, nor for repeated answers of one assessor, and
 * never from one pull being significant and the other not.
 *
 * n whole from 0, correct 0..n, level between 0 and 1. Errors: StatsInputError.
 * Source: Bi, Ennis & O'Mahony 1997, J. Sens. Stud. 12:87 (z, from memory); likelihood ratio: Pawitan 2001 (from memory);
 * limits: Zou & Donner 2008, Stat. Med. 27:1693 (from memory).
 * Example: `compareDPrimes({ first: { test: 'triangle', correct: 20, n: 30 }, second: { test: 'triangle', correct: 12, n: 30 }, level: 0.95 }).p` is 0.0372433914724
 */
export function compareDPrimes({
  first,
  second,
  level,
}: {
  first: Pull;
  second: Pull;
  level: number;
}): DPrimeComparison {
  const one = likelihoodInterval({ ...first, level });
  const two = likelihoodInterval({ ...second, level });
  const facts = {
    level,
    method: 'Likelihood-ratio test of two d-primes',
    assumption:
      'Every answer comes from another assessor, in both pulls; percepts vary normally with equal spread, and assessors use the rule of the method.',
    source: "Bi, Ennis & O'Mahony 1997; Pawitan 2001; Zou & Donner 2008",
  };
  const estimates = { first: one.estimate, second: two.estimate };
  if (first.n === 0 || second.n === 0) {
    const some = first.n + second.n > 0;
    const common = !some ? null : first.n > 0 ? one.estimate : two.estimate;
    const none = { difference: null, lower: null, upper: null, likelihoodRatio: null, z: null, pOfZ: null };
    return { ...estimates, ...none, common, p: 1, ...facts };
  }
  const best = fit(first, one.estimate ?? LARGEST_D_PRIME) + fit(second, two.estimate ?? LARGEST_D_PRIME);
  const common = commonDPrime(
    first,
    second,
    one.estimate ?? LARGEST_D_PRIME,
    two.estimate ?? LARGEST_D_PRIME,
  );
  const likelihoodRatio = Math.max(0, 2 * (fit(first, common) + fit(second, common) - best));
  const { estimate: a } = one;
  const { estimate: b } = two;
  const difference = a === null || b === null ? null : a - b;
  const z = difference === null ? null : zOf(first, second, difference);
  return {
    ...estimates,
    difference,
    lower:
      difference === null || a === null || b === null || two.upper === null
        ? null
        : difference - Math.hypot(a - one.lower, two.upper - b),
    upper:
      difference === null || a === null || b === null || one.upper === null
        ? null
        : difference + Math.hypot(one.upper - a, b - two.lower),
    common: common >= LARGEST_D_PRIME ? null : common,
    likelihoodRatio,
    p: 2 * normalCdf(-Math.sqrt(likelihoodRatio)),
    z,
    pOfZ: z === null ? null : 2 * normalCdf(-Math.abs(z)),
    ...facts,
  };
}

function fit({ test, correct, n }: Pull, d: number): number {
  return lackOfFit(correct, n, psychometric(test, d));
}

/** Best single d': by the pooled proportion for one method, else sought between the two. */
function commonDPrime(first: Pull, second: Pull, a: number, b: number): number {
  if (a === b) return a;
  if (first.test === second.test) {
    const pooled = (first.correct + second.correct) / (first.n + second.n);
    return dPrimeFromProportion(first.test, Math.max(GUESS_RATE[first.test], pooled)) ?? LARGEST_D_PRIME;
  }
  const poor = (d: number) => fit(first, d) + fit(second, d);
  const low = Math.min(a, b);
  const step = (Math.max(a, b) - low) / GRID;
  let at = 0;
  for (let i = 1; i <= GRID; i += 1) if (poor(low + i * step) < poor(low + at * step)) at = i;
  return lowest(poor, low + Math.max(0, at - 1) * step, low + Math.min(GRID, at + 1) * step);
}

const GRID = 60;

/** Golden section: where a function that falls and then rises is lowest. */
function lowest(value: (x: number) => number, from: number, to: number): number {
  const part = (Math.sqrt(5) - 1) / 2;
  let [low, high] = [from, to];
  let [left, right] = [high - part * (high - low), low + part * (high - low)];
  let [atLeft, atRight] = [value(left), value(right)];
  for (let turn = 0; turn < 60; turn += 1) {
    if (atLeft <= atRight) {
      [high, right, atRight] = [right, left, atLeft];
      left = high - part * (high - low);
      atLeft = value(left);
    } else {
      [low, left, atLeft] = [left, right, atRight];
      right = low + part * (high - low);
      atRight = value(right);
    }
  }
  return (low + high) / 2;
}

function zOf(first: Pull, second: Pull, difference: number): number | null {
  const factors = [first, second].map(({ test, correct, n }) => {
    const factor = dPrimeVarianceFactor(test, correct / n);
    return factor === null ? null : factor / n;
  });
  const [one, two] = factors;
  if (one === null || one === undefined || two === null || two === undefined) return null;
  return difference / Math.sqrt(one + two);
}
