import type { RandomSource } from '../../ground/random.ts';
import { chiSquareUpper } from '../chi-square.ts';
import type { AssessorRows } from '../complete-rows.ts';
import { fastRandom } from '../../ground/fast-random.ts';
import { integerIn, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { holm } from '../multiplicity.ts';
import { normalCdf } from '../normal.ts';
import { cholesky, inverse } from '../rating/matrix.ts';
import type { PermutationRoute } from './friedman.ts';
import { midRanks } from '../jstat.ts';

export interface BlockRankPair {
  /** Columns, 0-based, first < second. */
  first: number;
  second: number;
  /**
   * Difference of their effects in ranks within a block, freed of the company each sample kept (least squares of ranks on
   * blocks and samples); null when no chain of blocks joins them.
   */
  difference: number | null;
  pUnadjusted: number | null;
  /** Holm's p over all pairs. */
  pHolm: number | null;
}

export interface DurbinTest extends MethodFacts {
  /** Blocks that rank two samples or more. */
  blocks: number;
  samples: number;
  rankSums: number[];
  /** Blocks a sample was ranked in. */
  times: number[];
  /** Null when no block tells any samples apart. */
  chiSquare: number | null;
  /** Samples less groups of samples that no chain of blocks joins. */
  df: number;
  p: number;
  route: PermutationRoute;
  /** Random orders drawn; null on the other route. */
  permutations: number | null;
  pChiSquare: number;
  pairs: BlockRankPair[];
}

interface Block {
  places: number[];
  /** Ranks less their mean. */
  scores: number[];
}

/**
 * Do the samples differ in what was ranked, when nobody ranked all of them?
 * Ranks within each block (assessor or tray) of the samples it holds; A_j = sum of (rank - mean rank of the block);
 * chi2 = A' V^- A, V the covariance of A over all orders within blocks: of a block with m samples and sum of squared scores S,
 * S / m on the diagonal and -S / (m (m - 1)) beside it. df = rank of V. With balanced blocks this is Durbin's statistic
 * (corrected for ties), with complete ones Friedman's; an assessor who left does not spoil it.
 * Pairs: p from differences of V^- A over their standard errors, normal, Holm; told in ranks, as differences of C^- A, C the
 * sum over blocks of I - J / m.
 * p from random orders within blocks when a random source is given, else chi-square, which is rough for few blocks.
 *
 * rows: values or ranks, one row per block, null where the block does not hold the sample; blocks with fewer than two values
 * say nothing. Blocks independent of each other. permutations whole from 99 to 1,000,000. No telling block: chiSquare null,
 * p = 1. Errors: StatsInputError.
 * Source: Durbin 1951, Br. J. Psychol. 4:85; Benard & van Elteren 1953, Indag. Math. 15:358 (blocks of any size); Conover 1999,
 * Practical Nonparametric Statistics (all from memory).
 * Example: `durbin({ rows: [[1, 2, null], [null, 1, 2], [1, null, 2]] }).chiSquare` is 2.66666666666667
 */
export function durbin({
  rows,
  random,
  permutations = 9999,
}: {
  rows: AssessorRows;
  random?: RandomSource;
  permutations?: number;
}): DurbinTest {
  integerIn('permutations', permutations, 99, 1_000_000);
  const k = rows[0]?.length ?? 0;
  const blocks = blocksOf(rows, k);
  const rankSums = new Array<number>(k).fill(0);
  const times = new Array<number>(k).fill(0);
  for (const { places, scores } of blocks) {
    places.forEach((place, at) => {
      rankSums[place] = (rankSums[place] ?? 0) + (scores[at] ?? 0) + (places.length + 1) / 2;
      times[place] = (times[place] ?? 0) + 1;
    });
  }
  const telling = blocks.filter(({ scores }) => scores.some((score) => score !== 0));
  const groups = joined(telling, k);
  const v = covariance(telling, groups, k);
  const factor = telling.length === 0 ? null : cholesky(v);
  const inverted = factor && inverse(factor);
  const sums = adjustedSums(telling, k);
  const chiSquare = inverted && quadratic(inverted, sums);
  const df = k - new Set(groups).size;
  const pChiSquare = chiSquare === null ? 1 : chiSquareUpper(chiSquare, df);
  const drawn = chiSquare !== null && random !== undefined && inverted !== null;
  return {
    blocks: blocks.length,
    samples: k,
    rankSums,
    times,
    chiSquare,
    df,
    p: drawn ? permuted(telling, inverted, chiSquare, permutations, random) : pChiSquare,
    route: drawn ? 'permutation' : 'chi-square',
    permutations: drawn ? permutations : null,
    pChiSquare,
    pairs: pairsOf(inverted, inRanks(telling, groups, k), sums, groups),
    method: `Durbin's test for rankings in incomplete blocks, ${drawn ? 'p by random orders within blocks' : 'p by the chi-square approximation'}`,
    assumption:
      'Blocks are independent of each other and were dealt by chance; if samples do not differ, every order within a block is equally likely.',
    source: 'Durbin 1951; Benard & van Elteren 1953; Conover 1999',
  };
}

function blocksOf(rows: AssessorRows, k: number): Block[] {
  return rows.flatMap((row, index) => {
    if (row.length !== k || k < 2) {
      const allowed = k < 2 ? 'at least 2 samples' : `${k} samples, as in the first row`;
      throw new StatsInputError(`rows[${index}].length`, row.length, allowed);
    }
    const places: number[] = [];
    const values: number[] = [];
    row.forEach((value, column) => {
      if (value === null) return;
      if (!Number.isFinite(value)) {
        throw new StatsInputError(`rows[${index}][${column}]`, value, 'a finite number, or null if missing');
      }
      places.push(column);
      values.push(value);
    });
    const middle = (values.length + 1) / 2;
    return values.length < 2 ? [] : [{ places, scores: midRanks(values).map((rank) => rank - middle) }];
  });
}

/** The group each sample belongs to: samples joined by a chain of blocks that tell samples apart. */
function joined(blocks: readonly Block[], k: number): number[] {
  const group = Array.from({ length: k }, (_, j) => j);
  for (const { places } of blocks) {
    const into = group[places[0] ?? 0] ?? 0;
    const merged = new Set(places.map((place) => group[place] ?? 0));
    group.forEach((value, j) => {
      if (merged.has(value)) group[j] = into;
    });
  }
  return group;
}

/** V of all orders within blocks. */
function covariance(blocks: readonly Block[], groups: readonly number[], k: number): number[][] {
  return gathered(groups, k, blocks, ({ scores, places: { length: m } }) => {
    const squares = scores.reduce((sum, score) => sum + score * score, 0);
    return { diagonal: squares / m, beside: -squares / (m * (m - 1)) };
  });
}

/** Inverse of C, the information on samples after blocks: with it sums of scores become effects in ranks. */
function inRanks(blocks: readonly Block[], groups: readonly number[], k: number): number[][] | null {
  const factor = cholesky(
    gathered(groups, k, blocks, ({ places: { length: m } }) => ({ diagonal: 1 - 1 / m, beside: -1 / m })),
  );
  return factor && inverse(factor);
}

/**
 * A matrix gathered over blocks, with each group's null direction filled up: what lies within groups stays as it is, and the
 * whole can be inverted.
 */
function gathered(
  groups: readonly number[],
  k: number,
  blocks: readonly Block[],
  of: (block: Block) => { diagonal: number; beside: number },
): number[][] {
  const v = Array.from({ length: k }, () => new Array<number>(k).fill(0));
  for (const block of blocks) {
    const { diagonal, beside } = of(block);
    for (const i of block.places) {
      const row = v[i];
      if (!row) continue;
      for (const j of block.places) row[j] = (row[j] ?? 0) + (i === j ? diagonal : beside);
    }
  }
  groups.forEach((group, i) =>
    groups.forEach((other, j) => {
      const row = v[i];
      if (row && group === other) row[j] = (row[j] ?? 0) + 1;
    }),
  );
  return v;
}

function adjustedSums(blocks: readonly Block[], k: number): Float64Array {
  const sums = new Float64Array(k);
  for (const { places, scores } of blocks) {
    places.forEach((place, at) => (sums[place] = (sums[place] ?? 0) + (scores[at] ?? 0)));
  }
  return sums;
}

function quadratic(inverted: readonly (readonly number[])[], sums: Float64Array): number {
  let total = 0;
  for (let i = 0; i < sums.length; i += 1) {
    const row = inverted[i] ?? [];
    let inner = 0;
    for (let j = 0; j < sums.length; j += 1) inner += (row[j] ?? 0) * (sums[j] ?? 0);
    total += (sums[i] ?? 0) * inner;
  }
  return total;
}

// Orders that give the statistic seen once more differ by rounding and must count.
const TIE = 1 - 1e-10;

/** (1 + orders that reach the statistic) / (permutations + 1), Phipson & Smyth 2010. */
function permuted(
  blocks: readonly Block[],
  inverted: readonly (readonly number[])[],
  seen: number,
  permutations: number,
  random: RandomSource,
): number {
  const draw = fastRandom(random);
  const work = blocks.map(({ places, scores }) => ({ places, scores: [...scores] }));
  const sums = new Float64Array(inverted.length);
  let reached = 1;
  for (let turn = 0; turn < permutations; turn += 1) {
    sums.fill(0);
    for (const { places, scores } of work) {
      for (let at = scores.length - 1; at >= 0; at -= 1) {
        const pick = at === 0 ? 0 : draw(at + 1);
        const score = scores[pick] ?? 0;
        scores[pick] = scores[at] ?? 0;
        scores[at] = score;
        const place = places[at] ?? 0;
        sums[place] = (sums[place] ?? 0) + score;
      }
    }
    if (quadratic(inverted, sums) >= seen * TIE) reached += 1;
  }
  return reached / (permutations + 1);
}

function pairsOf(
  inverted: readonly (readonly number[])[] | null,
  ranked: readonly (readonly number[])[] | null,
  sums: Float64Array,
  groups: readonly number[],
): BlockRankPair[] {
  const k = sums.length;
  const effectsBy = (matrix: readonly (readonly number[])[] | null): number[] =>
    Array.from({ length: k }, (_, j) =>
      (matrix?.[j] ?? []).reduce((sum, value, at) => sum + value * (sums[at] ?? 0), 0),
    );
  const [effects, ranks] = [effectsBy(inverted), effectsBy(ranked)];
  const at = (i: number, j: number) => inverted?.[i]?.[j] ?? 0;
  const bare: Omit<BlockRankPair, 'pHolm'>[] = [];
  for (let first = 0; first < k; first += 1) {
    for (let second = first + 1; second < k; second += 1) {
      if (inverted === null || groups[first] !== groups[second]) {
        bare.push({ first, second, difference: null, pUnadjusted: null });
        continue;
      }
      const apart = (effects[first] ?? 0) - (effects[second] ?? 0);
      const error = Math.sqrt(at(first, first) + at(second, second) - 2 * at(first, second));
      bare.push({
        first,
        second,
        difference: (ranks[first] ?? 0) - (ranks[second] ?? 0),
        pUnadjusted: 2 * normalCdf(-Math.abs(apart) / error),
      });
    }
  }
  const { adjusted } = holm({ p: bare.map(({ pUnadjusted }) => pUnadjusted), planned: bare.length });
  return bare.map((pair, index) => ({ ...pair, pHolm: adjusted[index] ?? null }));
}
