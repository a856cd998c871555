import type { MethodFacts } from '../method.ts';
import { chanceCorrected, type CategoryRatings, type ChanceCorrected } from './chance-corrected.ts';

export interface GwetAc1 extends ChanceCorrected, MethodFacts {
  /** Null with fewer than two categories, or no unit with two ratings. */
  ac1: number | null;
}

/**
 * Agreement in naming categories that keeps its meaning when nearly all ratings are of one category, where kappa drops to 0;
 * ratings may be missing.
 *
 * AC1 = (pa - pe) / (1 - pe). pa: mean over units with r >= 2 ratings of sum r_k (r_k - 1) / (r (r - 1));
 * pe = sum pi_k (1 - pi_k) / (q - 1), pi_k the mean over all rated units of r_k / r, q the number of categories on the
 * form. Variance over units: sum (k*_i - AC1)^2 / (n (n - 1)), k*_i = k_i - 2 (1 - AC1)(pe_i - pe) / (1 - pe),
 * k_i = (n / n2)(pa_i - pe) / (1 - pe), or 0 for a unit with one rating, pe_i = sum (r_ik / r_i)(1 - pi_k) / (q - 1).
 * Full agreement has standard error 0, which is not certainty: no limits then.
 *
 * Fix the categories in the plan: one that nobody used still counts. Not for ordered categories. Speaks of further
 * units rated by these assessors. level between 0 and 1. Errors: StatsInputError, also for a rating that is none of the categories.
 * Source: Gwet 2008, Br. J. Math. Stat. Psychol. 61:29; Gwet 2014, Handbook of Inter-Rater Reliability, 4th ed.
 * Example: `gwetAc1({ units: [['a', 'a'], ['a', 'a'], ['a', 'b']], categories: ['a', 'b'], level: 0.95 }).ac1` is 0.538461538462
 */
export function gwetAc1(ratings: CategoryRatings): GwetAc1 {
  const others = ratings.categories.length - 1;
  const { value, ...rest } = chanceCorrected(ratings, (share) => (1 - share) / others);
  return {
    ac1: value,
    ...rest,
    method: "Gwet's AC1",
    assumption: 'Assessors rated independently; units are a random sample of those to be rated.',
    source: 'Gwet 2008; Gwet 2014',
  };
}
