import type { RankingResult } from '../../contracts/result-ranking.ts';
import type { RandomSource } from '../../ground/random.ts';
import { durbin } from '../../stats/ranking/durbin.ts';
import { friedman } from '../../stats/ranking/friedman.ts';
import { kendallW } from '../../stats/ranking/kendall-w.ts';
import { rankSumDifferences } from '../../stats/ranking/rank-sum-differences.ts';
import { sharedLetters } from '../../stats/ranking/shared-letters.ts';
import { ranksOfRow, type RankingTable } from './table.ts';
import { inWords, people, plain } from '../../ground/phrases.ts';

const PERMUTATIONS = 9999;

export interface RankingTests {
  test: RankingResult['test'];
  pairs: RankingResult['pairs'];
  /** One per sample; null when no pairs were compared. */
  letters: string[] | null;
  sign: RankingResult['sign'];
  agreement: RankingResult['agreement'];
}

/** Test, pairs and agreement of the orders given; all null when fewer than two people or samples can be compared. */
export function rankingTests(table: RankingTable, alpha: number, random: RandomSource): RankingTests {
  const none: RankingTests = { test: null, pairs: null, letters: null, sign: null, agreement: null };
  if (table.samples.length < 2 || table.assessors < 2) return none;
  return table.complete ? completeTests(table, alpha, random) : blockTests(table, alpha, random);
}

function completeTests(table: RankingTable, alpha: number, random: RandomSource): RankingTests {
  const { rows, samples } = table;
  const result = friedman({ rows, random, permutations: PERMUTATIONS });
  const two = samples.length === 2;
  const shown = result.p <= alpha;
  const test: RankingTests['test'] = {
    kind: two ? 'sign' : 'friedman',
    chiSquare: result.chiSquare,
    uncorrected: result.uncorrected,
    df: result.df,
    p: result.p,
    route: result.route,
    permutations: result.permutations,
    pChiSquare: result.pChiSquare,
    // Beside an exact sign test an approximation would only confuse.
    imanDavenport: two ? null : result.imanDavenport,
    smallestP: result.smallestP,
    shown,
  };
  const compared = shown && !two ? nemenyiPairs(table, alpha) : { pairs: null, letters: null };
  return { test, ...compared, sign: two ? signOf(table, result.p) : null, agreement: agreementOf(table) };
}

function nemenyiPairs(
  { rows, samples }: RankingTable,
  alpha: number,
): Pick<RankingTests, 'pairs' | 'letters'> {
  const { pairs, critical, rankSums } = rankSumDifferences({ rows, alpha });
  const found = pairs.map((pair) => ({
    first: samples[pair.first]?.key ?? '',
    second: samples[pair.second]?.key ?? '',
    difference: pair.difference,
    pUnadjusted: pair.pUnadjusted,
    pHolm: pair.pHolm,
    pNemenyi: pair.pNemenyi,
    differs: pair.pNemenyi <= alpha,
  }));
  return {
    pairs: {
      method: 'nemenyi',
      critical: critical?.nemenyi ?? null,
      rows: found,
      reading: pairsReading(
        found,
        `rank sums ${plain(critical?.nemenyi ?? 0)} or more apart (Nemenyi, alpha ${alpha})`,
      ),
    },
    letters: lettersOf(pairs, found, rankSums),
  };
}

function blockTests(table: RankingTable, alpha: number, random: RandomSource): RankingTests {
  const { rows, samples } = table;
  const result = durbin({ rows, random, permutations: PERMUTATIONS });
  const shown = result.chiSquare !== null && result.p <= alpha;
  const found = result.pairs.map((pair) => ({
    first: samples[pair.first]?.key ?? '',
    second: samples[pair.second]?.key ?? '',
    difference: pair.difference ?? 0,
    pUnadjusted: pair.pUnadjusted ?? 1,
    pHolm: pair.pHolm ?? 1,
    pNemenyi: null,
    differs: (pair.pHolm ?? 1) <= alpha,
  }));
  const means = result.rankSums.map((sum, place) => sum / Math.max(1, result.times[place] ?? 1));
  return {
    test: {
      kind: 'incomplete',
      chiSquare: result.chiSquare,
      uncorrected: null,
      df: result.df,
      p: result.p,
      route: result.route,
      permutations: result.permutations,
      pChiSquare: result.pChiSquare,
      imanDavenport: null,
      smallestP: null,
      shown,
    },
    pairs: shown
      ? {
          method: 'holm',
          critical: null,
          rows: found,
          reading: pairsReading(found, `an adjusted p at or below ${alpha} (Holm)`),
        }
      : null,
    letters: shown ? lettersOf(result.pairs, found, means) : null,
    sign: null,
    agreement: null,
  };
}

function lettersOf(
  places: readonly { first: number; second: number }[],
  pairs: readonly { differs: boolean }[],
  order: readonly number[],
): string[] {
  return sharedLetters({
    samples: order.length,
    different: places.flatMap(({ first, second }, index) =>
      pairs[index]?.differs ? [[first, second] as const] : [],
    ),
    order: order.map((_sum, place) => place).sort((a, b) => (order[b] ?? 0) - (order[a] ?? 0) || a - b),
  });
}

function pairsReading(pairs: readonly { differs: boolean }[], rule: string): string {
  const differing = pairs.filter(({ differs }) => differs).length;
  const found =
    differing === 0
      ? 'No single pair stands out, although the samples differ as a whole'
      : `${inWords(differing)} of ${inWords(pairs.length)} pairs differ`;
  return `${found.charAt(0).toUpperCase()}${found.slice(1)}: a pair differs with ${rule}. Samples with a common letter were not shown to differ, which does not make them alike.`;
}

function signOf({ rows, samples }: RankingTable, p: number): RankingTests['sign'] {
  const sides = rows.map(([first, second]) => Math.sign((first ?? 0) - (second ?? 0)));
  return {
    first: samples[0]?.key ?? '',
    second: samples[1]?.key ?? '',
    firstHigher: sides.filter((side) => side > 0).length,
    secondHigher: sides.filter((side) => side < 0).length,
    tied: sides.filter((side) => side === 0).length,
    p,
  };
}

function agreementOf({ rows }: RankingTable): RankingTests['agreement'] {
  const { w, meanSpearman, assessors, samples } = kendallW({ rows });
  const told =
    w === null
      ? 'Everybody put all samples level, so that there is no order to agree on.'
      : `Kendall’s W = ${plain(w, 2)} between ${people(assessors)} over ${inWords(samples)} samples: 1 is everybody the same order, 0 is rank sums all equal (${plain(1 / assessors, 2)} on average if nobody agreed). ` +
        `Two people’s orders go together with a rank correlation of ${plain(meanSpearman ?? 0, 2)} on average.`;
  return { w, meanSpearman, assessors, samples, reading: told };
}

/** Rank sums, mean ranks and how often each rank was given, sample by sample. */
export function rankSumsOf({ rows, samples }: RankingTable): {
  assessors: number;
  rankSum: number | null;
  meanRank: number | null;
  ranks: { rank: number; people: number }[];
}[] {
  const ranked = rows.map(ranksOfRow);
  return samples.map((_sample, place) => {
    const own = ranked.flatMap((row) => row[place] ?? []);
    const sum = own.reduce((total, rank) => total + rank, 0);
    const counts = new Map<number, number>();
    for (const rank of own) counts.set(rank, (counts.get(rank) ?? 0) + 1);
    return {
      assessors: own.length,
      rankSum: own.length === 0 ? null : sum,
      meanRank: own.length === 0 ? null : sum / own.length,
      ranks: [...counts].sort(([a], [b]) => a - b).map(([rank, count]) => ({ rank, people: count })),
    };
  });
}
