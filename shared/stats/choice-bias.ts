import { binomialPmf } from './binomial.ts';
import { answerCount } from '../ground/input.ts';
import type { MethodFacts } from './method.ts';

export interface ChoiceBias extends MethodFacts {
  p: number;
  /** True: p by adding up every possible outcome. False: chi-square approximation. */
  exact: boolean;
  /** Pearson's X^2 against equal thirds, 2 degrees of freedom; null without data. */
  chiSquare: number | null;
}

/** Answers up to which all outcomes are added up: 20,301 of them. Our own bound; no source. */
const MAX_ENUMERATED = 200;
// Outcomes that mirror the one seen have the same probability up to rounding and must count.
const TIE = 1 + 1e-10;

/**
 * Were left, middle and right chosen equally often, as they should be when orders are balanced?
 * Up to 200 answers the exact multinomial test: p = sum of the probabilities of all outcomes no more probable than
 * the one seen, each place 1/3. Above, Pearson's chi-square with 2 degrees of freedom, p = exp(-X^2 / 2).
 * A check of serving, not of the samples. Takes answers as independent, also those of one assessor, whose habit
 * may make p too small. Not for orders out of balance.
 *
 * Counts whole from 0. No data: p = 1. Errors: StatsInputError.
 * Source: W. G. Cochran 1952, Ann. Math. Stat. 23:315 (exact multinomial and chi-square tests; from memory).
 * Example: `choiceBias({ left: 7, middle: 2, right: 3 }).p` is 0.267151010178
 */
export function choiceBias({
  left,
  middle,
  right,
}: {
  left: number;
  middle: number;
  right: number;
}): ChoiceBias {
  answerCount('left', left);
  answerCount('middle', middle);
  answerCount('right', right);
  const n = answerCount('left + middle + right', left + middle + right);
  const exact = n <= MAX_ENUMERATED;
  const chiSquare = n === 0 ? null : (3 * (left ** 2 + middle ** 2 + right ** 2)) / n - n;
  return {
    p: exact ? exactP(left, middle, n) : Math.exp(-(chiSquare ?? 0) / 2),
    exact,
    chiSquare,
    method: exact
      ? 'Exact multinomial test of equal thirds'
      : 'Chi-square test of equal thirds, 2 degrees of freedom',
    assumption: 'Orders are balanced and answers independent.',
    source: 'Cochran 1952',
  };
}

function exactP(left: number, middle: number, n: number): number {
  const seen = outcome(left, middle, n);
  const terms: number[] = [];
  for (let a = 0; a <= n; a += 1) {
    const first = binomialPmf(a, n, 1 / 3);
    for (let b = 0; b <= n - a; b += 1) {
      const term = first * binomialPmf(b, n - a, 1 / 2);
      if (term <= seen * TIE) terms.push(term);
    }
  }
  // From the smallest, so that small ones are not lost.
  const sum = terms.sort((a, b) => a - b).reduce((total, term) => total + term, 0);
  return Math.min(1, sum);
}

/** P(left = a, middle = b) of n with equal thirds. */
function outcome(a: number, b: number, n: number): number {
  return binomialPmf(a, n, 1 / 3) * binomialPmf(b, n - a, 1 / 2);
}
