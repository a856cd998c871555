import type { AssessorRows } from '../complete-rows.ts';
import type { RandomSource } from '../../ground/random.ts';
import type { MethodFacts } from '../method.ts';
import { friedman, type PermutationRoute } from './friedman.ts';

export interface Concordance extends MethodFacts {
  /** W corrected for ties, 0 to 1; null for fewer than two assessors and when everything is tied. */
  w: number | null;
  uncorrected: number | null;
  /**
   * (n W - 1) / (n - 1): without ties the mean of Spearman's correlation over all pairs of assessors; with unequal ties near it
   * only (Zar's conversion).
   */
  meanSpearman: number | null;
  chiSquare: number | null;
  df: number;
  /** Test of no agreement: Friedman's, read the other way round. 1 where w is null. */
  p: number;
  route: PermutationRoute;
  pChiSquare: number;
  assessors: number;
  samples: number;
  excluded: number[];
  rankSums: number[];
}

/**
 * How well do assessors agree on the order of the samples? 1: all alike; 0: rank sums all equal.
 * W = chi2 / (n (k - 1)), Friedman's chi-square corrected for ties, n assessors, k samples.
 * Between more than two assessors 0 is not disagreement: W cannot be negative, and its mean without any agreement is 1/n.
 * Not a measure of being right, nor of agreement in level.
 * Input, left-out assessors and the routes of p as in friedman. Errors: StatsInputError.
 * Source: Kendall & Babington Smith 1939, Ann. Math. Stat. 10:275; Legendre 2005, J. Agric. Biol. Environ. Stat. 10:226.
 * Example: `kendallW({ rows: [[1, 2, 3], [1, 3, 2], [1, 2, 3]] }).w` is 0.777777777778
 */
export function kendallW(input: {
  rows: AssessorRows;
  random?: RandomSource;
  permutations?: number;
}): Concordance {
  const test = friedman(input);
  const { assessors: n, samples: k, chiSquare } = test;
  const known = n >= 2 && chiSquare !== null;
  const w = known ? chiSquare / (n * (k - 1)) : null;
  return {
    w,
    uncorrected: known && test.uncorrected !== null ? test.uncorrected / (n * (k - 1)) : null,
    meanSpearman: w === null ? null : (n * w - 1) / (n - 1),
    chiSquare: known ? chiSquare : null,
    df: test.df,
    p: known ? test.p : 1,
    route: test.route,
    pChiSquare: known ? test.pChiSquare : 1,
    assessors: n,
    samples: k,
    excluded: test.excluded,
    rankSums: test.rankSums,
    method: "Kendall's W, coefficient of concordance",
    assumption: 'Assessors ranked the same samples independently of each other.',
    source: 'Kendall & Babington Smith 1939; Legendre 2005',
  };
}
