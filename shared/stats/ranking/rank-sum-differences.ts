import type { AssessorRows } from '../complete-rows.ts';
import { properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { holm } from '../multiplicity.ts';
import { normalCdf, normalQuantile } from '../normal.ts';
import { studentQuantile, studentTwoSidedP } from '../student-t.ts';
import { studentizedRangeCritical, studentizedRangeUpperTail } from '../studentized-range.ts';
import { rankTable } from './ranks.ts';

export interface RankSumPair {
  /** Columns, 0-based, first < second. */
  first: number;
  second: number;
  /** Rank sum of the first less that of the second. */
  difference: number;
  /** Unadjusted, by z: to be used only after a significant Friedman test, and to be called unadjusted. */
  pUnadjusted: number;
  /** Holm's p over all pairs, from pUnadjusted. */
  pHolm: number;
  /** By the range of k normal values; all pairs together. */
  pNemenyi: number;
  /** Unadjusted, by Conover's t; null where its variance is 0 or cannot be had. */
  pConover: number | null;
}

export interface RankSumDifferences extends MethodFacts {
  assessors: number;
  samples: number;
  excluded: number[];
  rankSums: number[];
  alpha: number;
  /** Every pair; empty without data. */
  pairs: RankSumPair[];
  /** Smallest differences of rank sums that are significant at alpha; null without data. */
  critical: {
    /** Least significant difference, unadjusted. */
    lsd: number;
    /** Nemenyi: all pairs together at alpha. */
    nemenyi: number;
    /** The same, of mean ranks. */
    nemenyiMeanRank: number;
    /** Conover, unadjusted; null as pConover. */
    conover: number | null;
  } | null;
}

/**
 * Which samples differ, after a significant Friedman test? All pairs of rank sums.
 * s^2 = 2 / (k - 1) times the sum, over assessors, of squared ranks less their mean: n k (k + 1) / 6 without ties, less with
 * them (all orders within assessors equally likely). Unadjusted: z = d / s, LSD = z(1 - alpha / 2) s. Holm: on these p. Nemenyi:
 * P(Q_k > sqrt(2) d / s), Q_k the range of k standard normals; CD = q(1 - alpha; k) s / sqrt(2). Conover:
 * t with (n - 1)(k - 1) df of d / sqrt(2 (n A - sum R^2) / ((n - 1)(k - 1))), A the sum of squared ranks.
 * For k = 2 take the exact p of friedman instead. All are approximations for few assessors.
 * Not for pairs picked after looking at the rank sums, except by Holm's or Nemenyi's p.
 *
 * rows as in friedman, of 2 to 500 samples; alpha between 0 and 1. Errors: StatsInputError.
 * Source: ISO 8587 (least significant difference); Holm 1979; Nemenyi 1963; Demsar 2006, J. Mach. Learn. Res. 7:1;
 * Conover 1999, Practical Nonparametric Statistics.
 * Example: `rankSumDifferences({ rows: [[1, 2, 3], [1, 2, 3], [1, 3, 2]], alpha: 0.05 }).pairs[0].pUnadjusted` is 0.102470434860
 */
export function rankSumDifferences({
  rows,
  alpha,
}: {
  rows: AssessorRows;
  alpha: number;
}): RankSumDifferences {
  properProbability('alpha', alpha);
  const { ranks, rankSums, assessors: n, samples: k, excluded } = rankTable(rows);
  const scale = Math.sqrt((2 * withinSquares(ranks)) / (k - 1));
  const df = (n - 1) * (k - 1);
  const conoverScale = n < 2 ? 0 : Math.sqrt((2 * leftOver(ranks, rankSums)) / df);
  const bare: Omit<RankSumPair, 'pHolm'>[] = [];
  if (n > 0) {
    for (let first = 0; first < k; first += 1) {
      for (let second = first + 1; second < k; second += 1) {
        const difference = (rankSums[first] ?? 0) - (rankSums[second] ?? 0);
        // Everybody ties everything: no difference, and no scale to hold it against.
        const z = scale === 0 ? 0 : Math.abs(difference) / scale;
        bare.push({
          first,
          second,
          difference,
          pUnadjusted: 2 * normalCdf(-z),
          pNemenyi: studentizedRangeUpperTail(Math.SQRT2 * z, k, Infinity),
          pConover: conoverScale === 0 ? null : studentTwoSidedP(Math.abs(difference) / conoverScale, df),
        });
      }
    }
  }
  const adjusted = holm({ p: bare.map(({ pUnadjusted }) => pUnadjusted) }).adjusted;
  return {
    assessors: n,
    samples: k,
    excluded,
    rankSums,
    alpha,
    pairs: bare.map((pair, index) => ({ ...pair, pHolm: adjusted[index] ?? 1 })),
    critical: n === 0 ? null : criticalDifferences({ n, k, alpha, scale, conoverScale, df }),
    method: 'Pairwise differences of rank sums (unadjusted, Holm, Nemenyi, Conover)',
    assumption:
      'The Friedman test was significant; assessors are independent, each ranked all samples once; the normal approximation holds.',
    source: 'ISO 8587; Holm 1979; Nemenyi 1963; Conover 1999',
  };
}

/**
 * Nemenyi's critical value q(1 - alpha; k) / sqrt(2), to be multiplied by sqrt(n k (k + 1) / 6) for rank sums or
 * sqrt(k (k + 1) / (6 n)) for mean ranks.
 * samples whole from 2 to 500, alpha between 0 and 1. Errors: StatsInputError. Source: Nemenyi 1963; Demsar 2006.
 * Example: `nemenyiQ({ samples: 4, alpha: 0.05 })` is 2.5690318
 */
export function nemenyiQ({ samples, alpha }: { samples: number; alpha: number }): number {
  return studentizedRangeCritical(alpha, samples, Infinity) / Math.SQRT2;
}

function criticalDifferences({
  n,
  k,
  alpha,
  scale,
  conoverScale,
  df,
}: Record<'n' | 'k' | 'alpha' | 'scale' | 'conoverScale' | 'df', number>): RankSumDifferences['critical'] {
  const nemenyi = nemenyiQ({ samples: k, alpha }) * scale;
  return {
    lsd: -normalQuantile(alpha / 2) * scale,
    nemenyi,
    nemenyiMeanRank: nemenyi / n,
    conover: conoverScale === 0 ? null : -studentQuantile(alpha / 2, df) * conoverScale,
  };
}

/** Squared ranks less the mean of their assessor, over all assessors. */
function withinSquares(ranks: readonly (readonly number[])[]): number {
  return ranks.reduce((sum, own) => {
    const middle = (own.length + 1) / 2;
    return sum + own.reduce((squares, rank) => squares + (rank - middle) ** 2, 0);
  }, 0);
}

/** n A - sum R^2, as a sum of squares that cannot turn negative: n sum over cells of (rank - mean rank of the sample)^2. */
function leftOver(ranks: readonly (readonly number[])[], rankSums: readonly number[]): number {
  const n = ranks.length;
  const squares = ranks
    .flat()
    .reduce((sum, rank, at) => sum + (n * rank - (rankSums[at % rankSums.length] ?? 0)) ** 2, 0);
  return squares / n;
}
