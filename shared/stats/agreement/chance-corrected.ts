import { properProbability, StatsInputError } from '../../ground/input.ts';
import { studentTwoSided } from '../jstat.ts';
import { givenRatings, type Rating, type RatingTable } from './ratings.ts';

/** What all coefficients of this form share, whatever they call chance. */
export interface ChanceCorrected {
  /** Share of agreeing pairs, mean over units with two ratings or more, and what chance gives; null without a coefficient. */
  observedAgreement: number | null;
  expectedAgreement: number | null;
  /** Null without a coefficient and for a single unit. */
  standardError: number | null;
  /** Coefficient -+ t(n - 1) standard errors, within -1 to 1; null where the standard error is 0 or not defined, or the coefficient below -1. */
  lower: number | null;
  upper: number | null;
  level: number;
  /** Units with a rating at all, and with two or more. */
  units: number;
  unitsWithPairs: number;
}

/** Ratings of named categories, with gaps. */
export interface CategoryRatings {
  units: RatingTable;
  /** All that stand on the form, used or not. */
  categories: readonly Rating[];
  /** Share of the interval, between 0 and 1. */
  level: number;
}

interface Counted {
  total: number;
  counts: number[];
}

/**
 * (pa - pe) / (1 - pe) with pe = sum of pi_k w_k, pi_k the mean over all rated units of the share of category k, w_k how
 * likely another rating agrees by chance. Variance over units: sum (k*_i - k)^2 / (n (n - 1)), k*_i = k_i - 2 (1 - k)(pe_i - pe) /
 * (1 - pe), k_i = (n / n2)(pa_i - pe) / (1 - pe), or 0 for a unit with one rating, pe_i = sum (r_ik / r_i) w_k. It holds for w_k
 * linear in pi_k, and for constant w_k, where pe_i is pe. Fewer than two categories, no pair, or pe = 1: value null.
 * Errors: StatsInputError, also for a rating that is none of the categories. Source: Gwet 2008, 2014, as in gwetAc1.
 * Example: `chanceCorrected({ units: [['a', 'a'], ['a', 'b']], categories: ['a', 'b'], level: 0.95 }, () => 0.5).value` is 0
 */
export function chanceCorrected(
  { units, categories, level }: CategoryRatings,
  weight: (share: number) => number,
): ChanceCorrected & { value: number | null } {
  properProbability('level', level);
  if (new Set(categories).size !== categories.length) {
    throw new StatsInputError('categories', categories.join(), 'each category once');
  }
  const rated = countRatings(units, categories);
  const pairs = rated.filter(({ total }) => total > 1);
  const n = rated.length;
  const facts = { level, units: n, unitsWithPairs: pairs.length };
  const shares = categories.map(
    (_, k) => rated.reduce((sum, { counts, total }) => sum + (counts[k] ?? 0) / total, 0) / n,
  );
  const weights = shares.map(weight);
  const chance = (own: readonly number[]) =>
    own.reduce((sum, share, k) => sum + share * (weights[k] ?? 0), 0);
  const pe = chance(shares);
  if (categories.length < 2 || pairs.length === 0 || 1 - pe < 1e-12) {
    const nothing = { value: null, observedAgreement: null, expectedAgreement: null };
    return { ...facts, ...nothing, standardError: null, lower: null, upper: null };
  }

  const pa = pairs.reduce((sum, unit) => sum + agreeing(unit), 0) / pairs.length;
  const value = (pa - pe) / (1 - pe);
  const squares = rated.reduce((sum, unit) => {
    const own = unit.total > 1 ? ((n / pairs.length) * (agreeing(unit) - pe)) / (1 - pe) : 0;
    const ownChance = chance(unit.counts.map((count) => count / unit.total));
    return sum + (own - (2 * (1 - value) * (ownChance - pe)) / (1 - pe) - value) ** 2;
  }, 0);
  // What rounding leaves of a variance of 0.
  const standardError = n < 2 ? null : squares < 1e-28 * n ? 0 : Math.sqrt(squares / (n * (n - 1)));
  // With gaps a coefficient can fall below -1, where limits cut off at -1 would say nothing.
  const bounded = standardError && value >= -1;
  const reach = bounded ? studentTwoSided(1 - level, n - 1) * standardError : null;
  return {
    ...facts,
    value,
    observedAgreement: pa,
    expectedAgreement: pe,
    standardError,
    lower: reach === null ? null : Math.max(-1, value - reach),
    upper: reach === null ? null : Math.min(1, value + reach),
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
