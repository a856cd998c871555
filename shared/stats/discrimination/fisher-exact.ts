import { binomialPmf } from '../binomial.ts';
import { integerIn, MAX_ANSWERS } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';

/** Which way a test looks; a property of the plan, never chosen from the data. */
export type TestSide = 'greater' | 'two-sided';

export interface FisherExact extends MethodFacts {
  p: number;
  side: TestSide;
}

// Tables as probable as the one seen differ from it by rounding only and must count.
const TIE = 1 + 1e-10;

/**
 * Is "yes" said more often in the first group than in the second (or, two-sided: not equally often)?
 * Given both margins the count of the first group is hypergeometric: P(k) = C(n1, k) C(n2, m - k) / C(n1 + n2, m).
 * greater: P(K >= first.yes). two-sided: sum of the probabilities of all tables no more probable than the one seen.
 * Both groups must be independent answers; for two answers of the same assessor see a-not-a-paired.ts.
 *
 * Within 1e-12 relative of exact arithmetic: every probability is a product of binomial ones, nothing cancels.
 * yes whole 0..n, n whole from 0. An empty group, or only one kind of answer: p = 1. Errors: StatsInputError.
 * Source: R. A. Fisher 1935, The Design of Experiments (from memory).
 * Example: `fisherExact({ first: { yes: 60, n: 100 }, second: { yes: 35, n: 100 }, side: 'greater' }).p` is 0.00032039602261
 */
export function fisherExact({
  first,
  second,
  side,
}: {
  first: { yes: number; n: number };
  second: { yes: number; n: number };
  side: TestSide;
}): FisherExact {
  integerIn('first.n', first.n, 0, MAX_ANSWERS);
  integerIn('first.yes', first.yes, 0, first.n);
  integerIn('second.n', second.n, 0, MAX_ANSWERS);
  integerIn('second.yes', second.yes, 0, second.n);
  const yes = first.yes + second.yes;
  const all = first.n + second.n;
  const facts = {
    side,
    method: side === 'greater' ? "Fisher's exact test, one-sided" : "Fisher's exact test, two-sided",
    assumption: 'Answers are independent: every assessor gives one answer, to one of the samples.',
    source: 'Fisher 1935',
  };
  if (yes === 0 || yes === all) return { ...facts, p: 1 };
  const low = Math.max(0, yes - second.n);
  const high = Math.min(first.n, yes);
  // With p = m / N the binomial terms are near their modes and the quotient loses nothing.
  const share = yes / all;
  const below = binomialPmf(yes, all, share);
  const chance = (k: number) =>
    (binomialPmf(k, first.n, share) * binomialPmf(yes - k, second.n, share)) / below;
  const seen = chance(first.yes);
  const terms: number[] = [];
  for (let k = low; k <= high; k += 1) {
    const term = chance(k);
    if (side === 'greater' ? k >= first.yes : term <= seen * TIE) terms.push(term);
  }
  // From the smallest, so that small ones are not lost.
  const sum = terms.sort((a, b) => a - b).reduce((total, term) => total + term, 0);
  return { ...facts, p: Math.min(1, sum) };
}
