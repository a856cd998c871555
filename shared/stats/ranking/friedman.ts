import type { RandomSource } from '../../ground/random.ts';
import { chiSquareUpper } from '../chi-square.ts';
import type { AssessorRows } from '../complete-rows.ts';
import { fUpperTail } from '../f-ratio.ts';
import { fastRandom } from '../../ground/fast-random.ts';
import { finiteFrom, integerIn } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { exactTail, exactTailFrom, permutationTail } from '../row-permutation.ts';
import { rankTable, type RankTable } from './ranks.ts';

/** Where a p comes from: every possible outcome, a random part of them, or the chi-square approximation. */
export type PermutationRoute = 'exact' | 'permutation' | 'chi-square';

export interface FriedmanTest extends MethodFacts {
  assessors: number;
  samples: number;
  excluded: number[];
  rankSums: number[];
  /** Corrected for ties; null without data and when every assessor ties everything (no ranking information). */
  chiSquare: number | null;
  /** Without the correction for ties. */
  uncorrected: number | null;
  /** 1 - sum(t^3 - t) / (n (k^3 - k)); 1 without ties, 0 when everything is tied. */
  tieFactor: number | null;
  df: number;
  p: number;
  route: PermutationRoute;
  /** Random orders drawn; null on the other routes. */
  permutations: number | null;
  /** The approximation, whatever route p took. */
  pChiSquare: number;
  /** Iman and Davenport's F; null without data, for one assessor and when all rank alike (F is unbounded). */
  imanDavenport: { f: number; df1: number; df2: number; p: number } | null;
  /** The smallest exact p that a panel of this size could give, all ranking alike without ties; 1 without data. */
  smallestP: number;
}

/**
 * Do the samples differ in what was ranked?
 * chi2 = 12 S / (n k (k + 1) - T / (k - 1)), S = sum of (R_j - n (k + 1) / 2)^2 over rank sums R_j of k samples ranked by
 * n assessors, T = sum(t^3 - t) over ties; df = k - 1. p is exact when all orders within assessors can be gone through
 * (by row-permutation.ts; small panels), else from random orders when a random source is given, else from chi-square,
 * which is rough for few assessors; `route` says which. Iman-Davenport F = (n - 1) chi2 / (n (k - 1) - chi2).
 *
 * Not for planned incomplete blocks, not for replicates counted as assessors. Assessors independent; complete rows only,
 * others are left out and listed. Two samples: the two-sided sign test.
 * rows: values or ranks, one row per assessor, finite or null; permutations whole from 99 to 1,000,000.
 * No data, one assessor, all tied: p = 1. Errors: StatsInputError.
 * Source: Friedman 1937, J. Am. Stat. Assoc. 32:675; Iman & Davenport 1980, Commun. Stat. A9:571; ISO 8587.
 * Example: `friedman({ rows: [[1, 2, 3], [1, 2, 3], [1, 2, 3], [1, 2, 3]] }).p` is 0.00462962962963
 */
export function friedman({
  rows,
  random,
  permutations = 9999,
}: {
  rows: AssessorRows;
  random?: RandomSource;
  permutations?: number;
}): FriedmanTest {
  integerIn('permutations', permutations, 99, 1_000_000);
  const table = rankTable(rows);
  const { assessors: n, samples: k } = table;
  const statistic = friedmanStatistic(table);
  const df = Math.max(0, k - 1);
  const pChiSquare =
    statistic === null || statistic.corrected === null ? 1 : chiSquareUpper(statistic.corrected, df);
  const tail = tailOf(table, pChiSquare, random, permutations);
  return {
    assessors: n,
    samples: k,
    excluded: table.excluded,
    rankSums: table.rankSums,
    chiSquare: statistic?.corrected ?? null,
    uncorrected: statistic?.uncorrected ?? null,
    tieFactor: statistic?.tieFactor ?? null,
    df,
    ...tail,
    pChiSquare,
    imanDavenport: imanDavenport(statistic?.corrected ?? null, n, k),
    smallestP: n === 0 ? 1 : factorial(k) ** (1 - n),
    method: `Friedman test, ${ROUTE_WORDS[tail.route]}`,
    assumption:
      'Assessors are independent of each other, each ranked all samples once; if samples do not differ, every order within an assessor is equally likely.',
    source: 'Friedman 1937; Iman & Davenport 1980; ISO 8587',
  };
}

/**
 * Exact P(Friedman's chi-square >= chiSquare) if samples do not differ, without ties: what the printed tables hold. Null when
 * the panel is too large to go through. Values within 1e-9 of a possible one count as that one.
 * assessors whole from 1, samples whole from 2, chiSquare from 0. Errors: StatsInputError. Source: Friedman 1937.
 * Example: `friedmanExactTail({ assessors: 5, samples: 3, chiSquare: 6.4 })` is 0.0393518518519
 */
export function friedmanExactTail({
  assessors: n,
  samples: k,
  chiSquare,
}: {
  assessors: number;
  samples: number;
  chiSquare: number;
}): number | null {
  integerIn('assessors', n, 1, 1000);
  integerIn('samples', k, 2, 100);
  finiteFrom('chiSquare', chiSquare, 0);
  const row = Array.from({ length: k }, (_, j) => j);
  const spread = (chiSquare * n * k * (k + 1)) / 12;
  return exactTailFrom(
    Array.from({ length: n }, () => row),
    spread * (1 - 1e-9) + k * ((n * (k - 1)) / 2) ** 2,
  );
}

/** How a route is told beside a test's name. */
export const ROUTE_WORDS: Readonly<Record<PermutationRoute, string>> = {
  exact: 'exact p by all orders within assessors',
  permutation: 'p by random orders within assessors',
  'chi-square': 'p by the chi-square approximation',
};

/**
 * The statistic alone: with and without the correction for ties, and the tie factor. Null without data; corrected is
 * null when everything is tied. Errors: none. Source: Friedman 1937.
 * Example: `friedmanStatistic({ ranks: [], rankSums: [2, 4, 6], assessors: 2, samples: 3, excluded: [], ties: 0 }).corrected` is 4
 */
export function friedmanStatistic({
  rankSums,
  assessors: n,
  samples: k,
  ties,
}: RankTable): { corrected: number | null; uncorrected: number; tieFactor: number } | null {
  if (n === 0) return null;
  const spread = rankSums.reduce((sum, total) => sum + (total - (n * (k + 1)) / 2) ** 2, 0);
  // Whole numbers up to the division: full agreement gives exactly n (k - 1), all ties exactly 0 / 0.
  const room = n * k * (k * k - 1) - ties;
  return {
    corrected: room === 0 ? null : (12 * (k - 1) * spread) / room,
    uncorrected: (12 * spread) / (n * k * (k + 1)),
    tieFactor: room / (n * k * (k * k - 1)),
  };
}

function tailOf(
  table: RankTable,
  pChiSquare: number,
  random: RandomSource | undefined,
  permutations: number,
): { p: number; route: PermutationRoute; permutations: number | null } {
  // Doubled, mid-ranks are whole numbers.
  const scale = table.ties === 0 ? 1 : 2;
  const whole = table.ranks.map((row) => row.map((rank) => scale * rank));
  const exact = exactTail(whole);
  if (exact !== null) return { p: exact, route: 'exact', permutations: null };
  if (!random) return { p: pChiSquare, route: 'chi-square', permutations: null };
  return { p: permutationTail(whole, permutations, fastRandom(random)), route: 'permutation', permutations };
}

function imanDavenport(chiSquare: number | null, n: number, k: number): FriedmanTest['imanDavenport'] {
  if (chiSquare === null || n < 2 || chiSquare >= n * (k - 1)) return null;
  const f = ((n - 1) * chiSquare) / (n * (k - 1) - chiSquare);
  const df1 = k - 1;
  const df2 = (k - 1) * (n - 1);
  return { f, df1, df2, p: fUpperTail(f, df1, df2) };
}

function factorial(k: number): number {
  let product = 1;
  for (let i = 2; i <= k; i += 1) product *= i;
  return product;
}
