import { properProbability, StatsInputError } from '../input.ts';
import { studentTwoSided } from '../jstat.ts';
import type { MethodFacts } from '../method.ts';
import { givenRatings, type Rating, type RatingTable } from './ratings.ts';

export interface GwetAc1 extends MethodFacts {
  /** Null with fewer than two categories, or no unit with two ratings. */
  ac1: number | null;
  /** Share of agreeing pairs, mean over units with two ratings or more, and what chance gives; null with ac1. */
  observedAgreement: number | null;
  expectedAgreement: number | null;
  /** Null with ac1 and for a single unit. */
  standardError: number | null;
  /** ac1 -+ t(n - 1) standard errors, within -1 to 1; null where the standard error is 0 or not defined. */
  lower: number | null;
  upper: number | null;
  level: number;
  /** Units with a rating at all, and with two or more. */
  units: number;
  unitsWithPairs: number;
}

interface Counted {
  total: number;
  counts: number[];
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
export function gwetAc1({
  units,
  categories,
  level,
}: {
  units: RatingTable;
  categories: readonly Rating[];
  level: number;
}): GwetAc1 {
  properProbability('level', level);
  if (new Set(categories).size !== categories.length) {
    throw new StatsInputError('categories', categories.join(), 'each category once');
  }
  const rated = countRatings(units, categories);
  const pairs = rated.filter(({ total }) => total > 1);
  const facts = {
    level,
    units: rated.length,
    unitsWithPairs: pairs.length,
    method: "Gwet's AC1",
    assumption: 'Assessors rated independently; units are a random sample of those to be rated.',
    source: 'Gwet 2008; Gwet 2014',
  };
  if (categories.length < 2 || pairs.length === 0) {
    const nothing = { ac1: null, observedAgreement: null, expectedAgreement: null };
    return { ...facts, ...nothing, standardError: null, lower: null, upper: null };
  }

  const n = rated.length;
  const shares = categories.map(
    (_, k) => rated.reduce((sum, { counts, total }) => sum + (counts[k] ?? 0) / total, 0) / n,
  );
  const chance = (weights: readonly number[]) =>
    weights.reduce((sum, weight, k) => sum + weight * (1 - (shares[k] ?? 0)), 0) / (categories.length - 1);
  const pe = chance(shares);
  const pa = pairs.reduce((sum, unit) => sum + agreeing(unit), 0) / pairs.length;
  const ac1 = (pa - pe) / (1 - pe);

  const squares = rated.reduce((sum, unit) => {
    const own = unit.total > 1 ? ((n / pairs.length) * (agreeing(unit) - pe)) / (1 - pe) : 0;
    const ownChance = chance(unit.counts.map((count) => count / unit.total));
    return sum + (own - (2 * (1 - ac1) * (ownChance - pe)) / (1 - pe) - ac1) ** 2;
  }, 0);
  // What rounding leaves of a variance of 0.
  const standardError = n < 2 ? null : squares < 1e-28 * n ? 0 : Math.sqrt(squares / (n * (n - 1)));
  const reach = standardError ? studentTwoSided(1 - level, n - 1) * standardError : null;
  return {
    ...facts,
    ac1,
    observedAgreement: pa,
    expectedAgreement: pe,
    standardError,
    lower: reach === null ? null : Math.max(-1, ac1 - reach),
    upper: reach === null ? null : Math.min(1, ac1 + reach),
  };
}

function agreeing({ counts, total }: Counted): number {
  return counts.reduce((sum, count) => sum + count * (count - 1), 0) / (total * (total - 1));
}

function countRatings(units: RatingTable, categories: readonly Rating[]): Counted[] {
  const index = new Map(categories.map((category, at) => [category, at]));
  return givenRatings(units, { numbers: false })
    .filter((given) => given.length > 0)
    .map((given) => {
      const counts = categories.map(() => 0);
      for (const rating of given) {
        const at = index.get(rating);
        if (at === undefined) throw new StatsInputError('units', rating, `one of ${categories.join(', ')}`);
        counts[at] = (counts[at] ?? 0) + 1;
      }
      return { total: given.length, counts };
    });
}
