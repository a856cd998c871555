import type { AssessorRows } from '../complete-rows.ts';
import { integerIn, properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalCdf } from '../normal.ts';
import { rankTable } from './ranks.ts';

export interface PageTest extends MethodFacts {
  assessors: number;
  samples: number;
  excluded: number[];
  /** In the order of the columns given. */
  rankSums: number[];
  /** L, the sum of (place predicted) x (rank sum); null without data. */
  l: number | null;
  mean: number | null;
  /** By the ties seen; 0 when everything is tied. */
  standardDeviation: number | null;
  /** (L - mean) / standard deviation; null where that is 0. */
  z: number | null;
  /** One-sided: for the order predicted. */
  p: number;
  route: 'exact' | 'normal';
  /** The normal approximation, whatever route p took. */
  pNormal: number;
}

/** Additions allowed for the exact distribution, about 50 ms. Our own bound; no source. */
const MAX_STEPS = 20_000_000;
/** Samples up to which one assessor's distribution is made exactly. Our own bound; no source. */
const MAX_SAMPLES = 12;

/**
 * Do the samples rise in the order that was predicted before the session?
 * L = sum over places j of j R_j, R_j the rank sum of the sample predicted at place j of k; mean n k (k + 1)^2 / 4, variance
 * n k^2 (k + 1)^2 (k - 1) / 144, with ties the sum over assessors of (k^3 - k) / 12 x (sum of squared deviations of their
 * ranks) / (k - 1). One-sided; p exact, by convolution of the assessors' distributions, wherever feasible, else normal.
 * Not for an order chosen after seeing the data, nor for the opposite order.
 *
 * rows: values or ranks, one row per assessor, finite or null; assessors with a null are left out and listed.
 * predicted: the columns (0-based) from lowest to highest, each once. No data, all tied: p = 1. Errors: StatsInputError.
 * Source: Page 1963, J. Am. Stat. Assoc. 58:216; ISO 8587.
 * Example: `page({ rows: [[1, 2, 3], [1, 2, 3]], predicted: [0, 1, 2] }).p` is 0.0277777777778
 */
export function page({ rows, predicted }: { rows: AssessorRows; predicted: readonly number[] }): PageTest {
  const { ranks, rankSums, assessors: n, samples: k, excluded } = rankTable(rows);
  checkOrder(predicted, k);
  const l = predicted.reduce((sum, column, place) => sum + (place + 1) * (rankSums[column] ?? 0), 0);
  const mean = (n * k * (k + 1) ** 2) / 4;
  const squares = ranks.flat().reduce((sum, rank) => sum + (rank - (k + 1) / 2) ** 2, 0);
  const standardDeviation = n === 0 ? 0 : Math.sqrt((((k ** 3 - k) / 12) * squares) / (k - 1));
  const z = standardDeviation === 0 ? null : (l - mean) / standardDeviation;
  const pNormal = z === null ? 1 : normalCdf(-z);
  const exact = exactPage(ranks, l);
  return {
    assessors: n,
    samples: k,
    excluded,
    rankSums,
    l: n === 0 ? null : l,
    mean: n === 0 ? null : mean,
    standardDeviation: n === 0 ? null : standardDeviation,
    z,
    p: exact ?? pNormal,
    route: exact === null ? 'normal' : 'exact',
    pNormal,
    method: `Page test for an order predicted, one-sided, ${exact === null ? 'normal approximation' : 'exact p'}`,
    assumption:
      'The order was written down before the session; assessors are independent, and each ranked all samples once.',
    source: 'Page 1963; ISO 8587',
  };
}

/**
 * Smallest L significant at one-sided alpha without ties: min{L : P(L' >= L) <= alpha}, from the exact distribution; null when
 * none is. samples whole from 2 to 8, assessors whole from 1 to 50, alpha between 0 and 1. Errors: StatsInputError.
 * Source: Page 1963. Example: `pageCritical({ samples: 4, assessors: 10, alpha: 0.05 })` is 266
 */
export function pageCritical({
  samples,
  assessors,
  alpha,
}: {
  samples: number;
  assessors: number;
  alpha: number;
}): number | null {
  integerIn('samples', samples, 2, 8);
  integerIn('assessors', assessors, 1, 50);
  properProbability('alpha', alpha);
  const row = Array.from({ length: samples }, (_, j) => j + 1);
  const { least, masses } = convolve(Array.from({ length: assessors }, () => row));
  let tail = 0;
  let critical: number | null = null;
  for (let at = masses.length - 1; at >= 0; at -= 1) {
    tail += masses[at] ?? 0;
    if (tail > alpha * (1 + 1e-12)) break;
    if ((masses[at] ?? 0) > 0) critical = least + at;
  }
  return critical;
}

function checkOrder(predicted: readonly number[], k: number): void {
  const allowed = `each column from 0 to ${k - 1} once`;
  if (predicted.length !== k) throw new StatsInputError('predicted', predicted, allowed);
  const seen = new Set(predicted);
  for (let column = 0; column < k; column += 1) {
    if (!seen.has(column)) throw new StatsInputError('predicted', predicted, allowed);
  }
}

function exactPage(ranks: readonly (readonly number[])[], l: number): number | null {
  if (ranks.length === 0) return 1;
  // Doubled, mid-ranks are whole numbers.
  const scale = ranks.flat().every(Number.isInteger) ? 1 : 2;
  const rows = ranks.map((row) => row.map((rank) => scale * rank).sort((a, b) => a - b));
  if (stepsOf(rows) > MAX_STEPS) return null;
  const { least, masses } = convolve(rows);
  let tail = 0;
  for (let at = masses.length - 1; at >= scale * l - least; at -= 1) tail += masses[at] ?? 0;
  return Math.min(1, tail);
}

interface Distribution {
  /** Smallest possible sum. */
  least: number;
  /** Probability of least, least + 1, ... */
  masses: Float64Array;
}

/** Additions that convolve would make; Infinity for too many samples. */
function stepsOf(rows: readonly (readonly number[])[]): number {
  const k = rows[0]?.length ?? 0;
  if (k > MAX_SAMPLES) return Infinity;
  let steps = 0;
  let width = 1;
  for (const row of rows) {
    steps += spanOf(row) * width;
    width += spanOf(row) - 1;
  }
  for (const row of kindsOf(rows).values()) steps += 2 ** (k - 1) * k * spanOf(row);
  return steps;
}

function kindsOf(rows: readonly (readonly number[])[]): Map<string, readonly number[]> {
  return new Map(rows.map((row) => [row.join(), row]));
}

/** Distribution of L, or 2 L, for rows of ranks in random order. */
function convolve(rows: readonly (readonly number[])[]): Distribution {
  const single = new Map([...kindsOf(rows)].map(([name, row]) => [name, distributionOf(row)]));
  let all: Distribution = { least: 0, masses: Float64Array.of(1) };
  for (const row of rows) {
    const one = single.get(row.join());
    if (one) all = add(all, one);
  }
  return all;
}

/** How many values the sum can take, at most, for one assessor. */
function spanOf(row: readonly number[]): number {
  const high = row.reduce((sum, value, j) => sum + (j + 1) * value, 0);
  const low = row.reduce((sum, value, j) => sum + (row.length - j) * value, 0);
  return high - low + 1;
}

function add(a: Distribution, b: Distribution): Distribution {
  const masses = new Float64Array(a.masses.length + b.masses.length - 1);
  b.masses.forEach((weight, shift) => {
    if (weight === 0) return;
    for (let at = 0; at < a.masses.length; at += 1) {
      masses[at + shift] = (masses[at + shift] ?? 0) + weight * (a.masses[at] ?? 0);
    }
  });
  return { least: a.least + b.least, masses };
}

/**
 * One assessor: ranks, sorted, are given to places 1, 2, ... in every order. By sets of ranks already given:
 * the number of orders for each partial sum, 2^k sets instead of k! orders.
 */
function distributionOf(row: readonly number[]): Distribution {
  const k = row.length;
  const least = row.reduce((sum, value, j) => sum + (k - j) * value, 0);
  const most = row.reduce((sum, value, j) => sum + (j + 1) * value, 0);
  const ways = new Map<number, Float64Array>([[0, Float64Array.of(1)]]);
  const full = 2 ** k - 1;
  for (let set = 0; set < full; set += 1) {
    const from = ways.get(set);
    if (!from) continue;
    ways.delete(set);
    const place = 1 + countBits(set);
    for (let j = 0; j < k; j += 1) {
      if (set & (1 << j)) continue;
      const shift = place * (row[j] ?? 0);
      const with1 = set | (1 << j);
      const old = ways.get(with1);
      const length = Math.max(old?.length ?? 0, from.length + shift);
      const to = old && old.length === length ? old : new Float64Array(length);
      if (old && old !== to) to.set(old);
      for (let at = 0; at < from.length; at += 1) to[at + shift] = (to[at + shift] ?? 0) + (from[at] ?? 0);
      ways.set(with1, to);
    }
  }
  const orders = ways.get(full) ?? Float64Array.of(1);
  const total = orders.reduce((sum, count) => sum + count, 0);
  return { least, masses: orders.slice(least, most + 1).map((count) => count / total) };
}

function countBits(set: number): number {
  let bits = 0;
  for (let left = set; left > 0; left &= left - 1) bits += 1;
  return bits;
}
