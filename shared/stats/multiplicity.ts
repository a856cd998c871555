import { integerIn, probability, StatsInputError } from '../ground/input.ts';
import type { MethodFacts } from './method.ts';

export interface AdjustedP extends MethodFacts {
  /** In the order given; null where p was null. */
  adjusted: (number | null)[];
  /** m, the number of tests the adjustment is for. */
  tests: number;
}

/** A family of tests. */
interface Family {
  /** One p per test; null where a test could not be made. */
  p: readonly (number | null)[];
  /**
   * m: all planned tests, significant or not, made or not. Left out: those with a p. A test may leave the family
   * only when that was decided without seeing its result.
   */
  planned?: number;
}

/**
 * Holm's step-down p: none of the claims made at alpha is false, with probability 1 - alpha. For pairs of samples and
 * for few confirmatory claims; for screening many descriptors see benjaminiHochberg.
 * p sorted upwards: adjusted_(i) = max over j <= i of min(1, (m - j + 1) p_(j)). Holds for any dependence.
 * p from 0 to 1 or null, planned at least the number of p. Errors: StatsInputError.
 * Source: Holm 1979, Scand. J. Stat. 6:65.
 * Example: `holm({ p: [0.01, 0.04, 0.03] }).adjusted[2]` is 0.06
 */
export function holm(family: Family): AdjustedP {
  const { order, tests } = ascending(family);
  const adjusted: (number | null)[] = family.p.map(() => null);
  let reached = 0;
  order.forEach(({ p, index }, step) => {
    reached = Math.max(reached, Math.min(1, (tests - step) * p));
    adjusted[index] = reached;
  });
  return {
    adjusted,
    tests,
    method: 'Holm adjustment',
    assumption: 'All planned tests of the family are counted; they may depend on each other in any way.',
    source: 'Holm 1979',
  };
}

/**
 * Benjamini and Hochberg's p: of the finds claimed at alpha, at most the share alpha is false on average. For
 * screening many descriptors, and to be labelled as exploratory; not for a claim that has to stand alone.
 * p sorted upwards: adjusted_(i) = min over j >= i of min(1, m p_(j) / j).
 * p from 0 to 1 or null, planned at least the number of p. Errors: StatsInputError.
 * Source: Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289.
 * Example: `benjaminiHochberg({ p: [0.01, 0.04, 0.03] }).adjusted[1]` is 0.04
 */
export function benjaminiHochberg(family: Family): AdjustedP {
  const { order, tests } = ascending(family);
  const adjusted: (number | null)[] = family.p.map(() => null);
  let reached = 1;
  for (let rank = order.length; rank > 0; rank -= 1) {
    const one = order[rank - 1];
    if (!one) continue;
    reached = Math.min(reached, (tests * one.p) / rank);
    adjusted[one.index] = reached;
  }
  return {
    adjusted,
    tests,
    method: 'Benjamini-Hochberg adjustment',
    assumption:
      'All planned tests of the family are counted; they are independent or depend on each other positively.',
    source: 'Benjamini & Hochberg 1995',
  };
}

/**
 * Bonferroni's p, min(1, m p): safe, and never smaller than Holm's, which needs no further assumption; for tables that
 * ask for it. p from 0 to 1 or null, planned at least the number of p. Errors: StatsInputError.
 * Source: Dunn 1961, J. Am. Stat. Assoc. 56:52 (from memory).
 * Example: `bonferroni({ p: [0.01, 0.04, 0.03] }).adjusted[1]` is 0.12
 */
export function bonferroni(family: Family): AdjustedP {
  const { tests } = ascending(family);
  return {
    adjusted: family.p.map((p) => (p === null ? null : Math.min(1, tests * p))),
    tests,
    method: 'Bonferroni adjustment',
    assumption: 'All planned tests of the family are counted; they may depend on each other in any way.',
    source: 'Dunn 1961',
  };
}

function ascending({ p, planned }: Family): { order: { p: number; index: number }[]; tests: number } {
  const order: { p: number; index: number }[] = [];
  p.forEach((value, index) => {
    if (value !== null) order.push({ p: probability(`p[${index}]`, value), index });
  });
  order.sort((a, b) => a.p - b.p || a.index - b.index);
  if (planned === undefined) return { order, tests: order.length };
  integerIn('planned', planned, 0, Number.MAX_SAFE_INTEGER);
  if (planned < order.length) {
    throw new StatsInputError('planned', planned, `at least ${order.length}, the number of p`);
  }
  return { order, tests: planned };
}
