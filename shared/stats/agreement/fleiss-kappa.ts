import { integerIn, MAX_ANSWERS, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalCdf } from '../normal.ts';
import { bootstrapLimits, type BootstrapLimits, type BootstrapSettings } from './bootstrap.ts';

/** One row per unit: how many assessors put it into each category. */
export type CategoryCounts = readonly (readonly number[])[];

export interface FleissKappa extends MethodFacts {
  /** Null without units, or when only one category was used. */
  kappa: number | null;
  /** Share of agreeing pairs of ratings, and what chance gives; null without units. Show it beside kappa. */
  observedAgreement: number | null;
  expectedAgreement: number | null;
  /** Share of each category. */
  shares: number[];
  /** Kappa of each category against all others; null where it was never or always used. */
  byCategory: (number | null)[];
  /** Standard error if agreement is by chance only: for the test, not for an interval. */
  nullStandardError: number | null;
  z: number | null;
  /** Two-sided, by the normal distribution. */
  p: number | null;
  units: number;
  ratingsPerUnit: number | null;
}

/**
 * Agreement in naming categories when every unit has the same number m of ratings, corrected for chance; the assessors
 * may be others from unit to unit.
 *
 * kappa = (P - Pe) / (1 - Pe), P = mean of (sum n_ij^2 - m) / (m (m - 1)), Pe = sum p_j^2. Test:
 * SE0^2 = 2 [(sum p q)^2 - sum p q (q - p)] / [N m (m - 1) (sum p q)^2], q = 1 - p. The standard error printed in 1971 is
 * another and gives another z. With two ratings per unit it is Scott's pi.
 * Not for missing ratings (krippendorffAlpha, gwetAc1) nor ordered categories. When nearly all ratings are of one
 * category kappa may be near 0 although nearly all agree. Counts whole from 0, rows of one length and one sum of
 * at least 2. Errors: StatsInputError. Source: Fleiss 1971, Psychol. Bull. 76:378; Fleiss, Nee & Landis 1979,
 * Psychol. Bull. 86:974 (standard error).
 * Example: `fleissKappa({ counts: [[4, 0], [3, 1], [0, 4]] }).kappa` is 0.657142857143
 */
export function fleissKappa({ counts }: { counts: CategoryCounts }): FleissKappa {
  const m = ratingsPerUnit(counts);
  const { observed, shares } = agreement(counts);
  const expected = shares.reduce((sum, share) => sum + share ** 2, 0);
  const varied = shares.filter((share) => share > 0).length > 1;
  const kappa = varied ? (observed - expected) / (1 - expected) : null;
  const standardError = varied ? nullError(shares, counts.length, m ?? NaN) : null;
  const z = kappa !== null && standardError ? kappa / standardError : null;
  return {
    kappa,
    observedAgreement: counts.length > 0 ? observed : null,
    expectedAgreement: counts.length > 0 ? expected : null,
    shares,
    byCategory: shares.map((share, category) => categoryKappa(counts, category, share)),
    nullStandardError: standardError,
    z,
    p: z === null ? null : 2 * normalCdf(-Math.abs(z)),
    units: counts.length,
    ratingsPerUnit: m,
    method: "Fleiss' kappa",
    assumption: 'Ratings of a unit are independent of each other; each unit has the same number of them.',
    source: 'Fleiss 1971; Fleiss, Nee & Landis 1979',
  };
}

/**
 * Bootstrap interval for Fleiss' kappa, over units; see bootstrapLimits for settings and limits.
 * Errors: StatsInputError. Source: Fleiss 1971 (kappa); Efron 1979 (percentile bootstrap).
 * Example: `fleissKappaInterval({ counts: [[2, 0], [0, 2]], level: 0.95, resamples: 100, random: { bytes: (count) => new Uint8Array(count) } }).undefinedResamples` is 100
 */
export function fleissKappaInterval({
  counts,
  ...settings
}: BootstrapSettings & { counts: CategoryCounts }): BootstrapLimits & MethodFacts {
  ratingsPerUnit(counts);
  const statistic = (drawn: readonly number[]): number | null => {
    const { observed, shares } = agreement(drawn.map((at) => counts[at] ?? []));
    if (shares.filter((share) => share > 0).length < 2) return null;
    const expected = shares.reduce((sum, share) => sum + share ** 2, 0);
    return (observed - expected) / (1 - expected);
  };
  return {
    ...bootstrapLimits({ count: counts.length, statistic, ...settings }),
    method: "Bootstrap percentile interval for Fleiss' kappa",
    assumption: 'Units are a random sample of those to be rated. Too narrow below about 20 units.',
    source: 'Fleiss 1971; Efron 1979',
  };
}

/** Checks the counts and gives the ratings per unit; null without units. */
function ratingsPerUnit(counts: CategoryCounts): number | null {
  const [first] = counts;
  if (!first) return null;
  const m = first.reduce((sum, count) => sum + count, 0);
  for (const row of counts) {
    if (row.length !== first.length) {
      throw new StatsInputError('counts', `a row of ${row.length}`, `rows of ${first.length} categories`);
    }
    for (const count of row) integerIn('counts', count, 0, MAX_ANSWERS);
    const sum = row.reduce((total, count) => total + count, 0);
    if (sum !== m || m < 2) {
      throw new StatsInputError(
        'counts',
        `a row with ${sum} ratings`,
        'the same number of at least 2 in each row',
      );
    }
  }
  return m;
}

function agreement(counts: CategoryCounts): { observed: number; shares: number[] } {
  const totals = (counts[0] ?? []).map((_, category) =>
    counts.reduce((sum, row) => sum + (row[category] ?? 0), 0),
  );
  const all = totals.reduce((sum, total) => sum + total, 0);
  const m = all / counts.length;
  const squares = counts.reduce((sum, row) => sum + row.reduce((own, count) => own + count ** 2, 0), 0);
  return { observed: (squares - all) / (all * (m - 1)), shares: totals.map((total) => total / all) };
}

function nullError(shares: readonly number[], units: number, m: number): number {
  const spread = shares.reduce((sum, p) => sum + p * (1 - p), 0);
  const skew = shares.reduce((sum, p) => sum + p * (1 - p) * (1 - 2 * p), 0);
  return Math.sqrt((2 * (spread ** 2 - skew)) / (units * m * (m - 1))) / spread;
}

function categoryKappa(counts: CategoryCounts, category: number, share: number): number | null {
  if (share === 0 || share === 1) return null;
  const m = (counts[0] ?? []).reduce((sum, count) => sum + count, 0);
  const apart = counts.reduce((sum, row) => sum + (row[category] ?? 0) * (m - (row[category] ?? 0)), 0);
  return 1 - apart / (counts.length * m * (m - 1) * share * (1 - share));
}
