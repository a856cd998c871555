import { fastRandom } from '../../ground/fast-random.ts';
import { integerIn, StatsInputError } from '../../ground/input.ts';
import type { RandomSource } from '../../ground/random.ts';
import type { AssessorRows } from '../complete-rows.ts';
import { midRanks } from '../jstat.ts';
import type { MethodFacts } from '../method.ts';
import { cholesky, inverse, type Matrix } from './matrix.ts';

export interface WithinAssessorsTest extends MethodFacts {
  /**
   * How much of what varies within assessors lies between samples, by marks and by ranks: 0 to 1 of the squares; against a
   * control the largest difference from it, in units of the root of all squares. The larger of the two is tested.
   */
  marks: number;
  ranks: number;
  p: number;
  route: 'exact' | 'permutation';
  /** Random orders drawn; null on the exact route. */
  permutations: number | null;
  /** Assessors with values for two samples or more: those whose values can be put in another order. */
  assessors: number;
  leftOut: number;
}

// Orders that are all gone through: some milliseconds. Depends on the data alone, not on the speed of the machine.
const MAX_ORDERS = 50_000;
// So many orders that reach the statistic tell p to 3 % of itself; more would cost time and change nothing.
const ENOUGH = 1000;
// Sums that are the same but for rounding count as the same.
const TIE = 1 - 1e-10;

/**
 * Do the samples differ, each assessor being compared with nobody but herself? The values of each assessor (her means by
 * sample) are put in all orders, or in random ones; p is the share of orders whose statistic reaches the one seen. Exact
 * whatever the scale, floors, ties, and differences between assessors in level, in spread or in what they taste, as long as
 * the samples are alike to begin with: then every order within an assessor is equally likely.
 * Statistic: the sum of squares of samples, assessors taken out, as a share of all squares within assessors, once of the
 * values and once of their ranks within assessors; the larger of the two. Values have more power where errors are normal
 * and samples few, ranks where somebody marks wildly or turns the scale round; chosen together, before the data, they share
 * one alpha. A sample whose means rest on more marks than others' breaks exactness a little: it varies less.
 *
 * `against`: the column of a control, when only comparisons with it were planned; the statistic is then the largest of them.
 * rows: one per assessor, null where there is no value; k columns. Null when fewer than two samples or assessors can be
 * compared. permutations whole from 99 to 1,000,000; fewer are drawn when p is plainly large.
 * Errors: StatsInputError. Source: Pitman 1938, Biometrika 29:322 (randomisation test of blocks); Westfall & Young 1993,
 * Resampling-Based Multiple Testing (the larger of several statistics); Besag & Clifford 1991, Biometrika 78:301 (stopping);
 * Phipson & Smyth 2010, Stat. Appl. Genet. Mol. Biol. 9:39 (all from memory). Taking these two together is our own.
 * Example: `withinAssessors({ rows: [[3, 7], [3, 7], [3, 7], [3, 7]], random: { bytes: (count) => new Uint8Array(count) } }).p` is 0.125
 */
export function withinAssessors({
  rows,
  random,
  permutations = 9999,
  against = null,
}: {
  rows: AssessorRows;
  random: RandomSource;
  permutations?: number;
  against?: number | null;
}): WithinAssessorsTest | null {
  integerIn('permutations', permutations, 99, 1_000_000);
  const k = rows[0]?.length ?? 0;
  if (against !== null && k > 0) integerIn('against', against, 0, k - 1);
  rows.forEach((row, at) => {
    if (row.length !== k) throw new StatsInputError(`rows[${at}].length`, row.length, `${k}, as the first`);
  });
  const given = rows.filter((row) => row.some((value) => value !== null));
  const blocks = given.map(blockOf).filter(({ places }) => places.length >= 2);
  if (k < 2 || blocks.length < 2) return null;
  const inverted = invertedInformation(blocks, k);
  const of = (sums: Float64Array): number =>
    against === null ? squares(inverted, sums) : furthest(inverted, sums, against);
  const scale = (every: readonly (readonly number[])[]): number => {
    const total = every.flat().reduce((sum, value) => sum + value * value, 0);
    return total === 0 ? 1 : against === null ? total : Math.sqrt(total);
  };
  const scales = [scale(blocks.map(({ marks }) => marks)), scale(blocks.map(({ ranks }) => ranks))] as const;
  const both = (marks: Float64Array, ranks: Float64Array): [number, number] => [
    of(marks) / scales[0],
    of(ranks) / scales[1],
  ];
  const seen = both(sumsOf(blocks, 'marks', k), sumsOf(blocks, 'ranks', k));
  const task: Task = {
    blocks,
    k,
    least: Math.max(...seen) * TIE,
    statistic: (marks, ranks) => Math.max(...both(marks, ranks)),
  };
  const orders = blocks.reduce((product, { marks }) => product * countOrders(marks), 1);
  const exact = orders <= MAX_ORDERS;
  return {
    marks: seen[0],
    ranks: seen[1],
    ...(exact ? { p: enumerated(task), permutations: null } : permuted(task, permutations, random)),
    route: exact ? 'exact' : 'permutation',
    assessors: blocks.length,
    leftOut: given.length - blocks.length,
    method: 'Permutation test of samples within assessors, by marks and by ranks together',
    assumption:
      'Assessors are independent of each other; if samples do not differ, every order of one assessor’s values is equally likely.',
    source: 'Pitman 1938; Westfall & Young 1993; Phipson & Smyth 2010',
  };
}

interface Block {
  places: number[];
  /** Values, and their ranks among the assessor's own, each less its mean. */
  marks: number[];
  ranks: number[];
}

interface Task {
  blocks: readonly Block[];
  k: number;
  /** What an order has to reach. */
  least: number;
  statistic: (marks: Float64Array, ranks: Float64Array) => number;
}

function blockOf(row: readonly (number | null)[], index: number): Block {
  const places: number[] = [];
  const values: number[] = [];
  row.forEach((value, place) => {
    if (value === null) return;
    if (!Number.isFinite(value))
      throw new StatsInputError(`rows[${index}][${place}]`, value, 'a finite number, or null if missing');
    places.push(place);
    values.push(value);
  });
  // Means of marks that are the same but for rounding are ties.
  const rounded = values.map((value) => Number(value.toPrecision(12)));
  const mean = rounded.reduce((sum, value) => sum + value, 0) / Math.max(1, rounded.length);
  const middle = (rounded.length + 1) / 2;
  return {
    places,
    marks: rounded.map((value) => value - mean),
    ranks: midRanks(rounded).map((rank) => rank - middle),
  };
}

/**
 * Inverse of the information on samples after assessors, sum over assessors of I - J / m. Directions without information
 * (the common level; samples that no chain of assessors joins) are filled up: sums of scores have no part in them.
 */
function invertedInformation(blocks: readonly Block[], k: number): Matrix {
  const information = Array.from({ length: k }, () => new Array<number>(k).fill(0));
  const group = Array.from({ length: k }, (_, place) => place);
  for (const { places } of blocks) {
    const merged = new Set(places.map((place) => group[place]));
    const into = group[places[0] ?? 0] ?? 0;
    group.forEach((one, place) => {
      if (merged.has(one)) group[place] = into;
    });
    for (const i of places) {
      const row = information[i] ?? [];
      for (const j of places) row[j] = (row[j] ?? 0) + (i === j ? 1 : 0) - 1 / places.length;
    }
  }
  group.forEach((one, i) =>
    group.forEach((other, j) => {
      const row = information[i] ?? [];
      if (one === other) row[j] = (row[j] ?? 0) + 1;
    }),
  );
  // Positive definite by what was filled up.
  return inverse(cholesky(information) ?? []);
}

function sumsOf(blocks: readonly Block[], scores: 'marks' | 'ranks', k: number): Float64Array {
  const sums = new Float64Array(k);
  for (const block of blocks) {
    block.places.forEach((place, at) => (sums[place] = (sums[place] ?? 0) + (block[scores][at] ?? 0)));
  }
  return sums;
}

function squares(inverted: Matrix, sums: Float64Array): number {
  let total = 0;
  for (let i = 0; i < sums.length; i += 1) {
    const row = inverted[i] ?? [];
    let inner = 0;
    for (let j = 0; j < sums.length; j += 1) inner += (row[j] ?? 0) * (sums[j] ?? 0);
    total += (sums[i] ?? 0) * inner;
  }
  return total;
}

/** The largest difference of a sample's estimate from that of the control, without its sign. */
function furthest(inverted: Matrix, sums: Float64Array, control: number): number {
  const own = inverted[control] ?? [];
  let largest = 0;
  for (let i = 0; i < sums.length; i += 1) {
    const row = inverted[i] ?? [];
    let difference = 0;
    for (let j = 0; j < sums.length; j += 1) difference += ((row[j] ?? 0) - (own[j] ?? 0)) * (sums[j] ?? 0);
    largest = Math.max(largest, Math.abs(difference));
  }
  return largest;
}

/** Number of different orders of a row: m! over the product of (times a value occurs)!. */
function countOrders(values: readonly number[]): number {
  const times = new Map<number, number>();
  let orders = 1;
  values.forEach((value, index) => {
    const already = (times.get(value) ?? 0) + 1;
    times.set(value, already);
    orders = (orders * (index + 1)) / already;
  });
  return Math.round(orders);
}

/** All different orders of the places of a row, as lists of indices. */
function ordersOf(values: readonly number[]): number[][] {
  if (values.length === 0) return [[]];
  const first = new Map(values.map((value, at) => [value, at]));
  return [...first.values()].flatMap((at) =>
    ordersOf(values.filter((_value, other) => other !== at)).map((rest) => [
      at,
      ...rest.map((index) => (index < at ? index : index + 1)),
    ]),
  );
}

function enumerated({ blocks, k, least, statistic }: Task): number {
  const orders = blocks.map(({ marks }) => ordersOf(marks));
  const [marks, ranks] = [new Float64Array(k), new Float64Array(k)];
  let [reached, all] = [0, 0];
  const add = (depth: number): void => {
    const block = blocks[depth];
    if (!block) {
      all += 1;
      if (statistic(marks, ranks) >= least) reached += 1;
      return;
    }
    for (const order of orders[depth] ?? []) {
      const put = (sign: number): void =>
        block.places.forEach((place, at) => {
          const from = order[at] ?? 0;
          marks[place] = (marks[place] ?? 0) + sign * (block.marks[from] ?? 0);
          ranks[place] = (ranks[place] ?? 0) + sign * (block.ranks[from] ?? 0);
        });
      put(1);
      add(depth + 1);
      put(-1);
    }
  };
  add(0);
  return reached / all;
}

function permuted(
  { blocks, k, least, statistic }: Task,
  permutations: number,
  random: RandomSource,
): { p: number; permutations: number } {
  const draw = fastRandom(random);
  const work = blocks.map(({ places, marks, ranks }) => ({ places, marks: [...marks], ranks: [...ranks] }));
  const [marks, ranks] = [new Float64Array(k), new Float64Array(k)];
  let reached = 0;
  for (let turn = 1; turn <= permutations; turn += 1) {
    marks.fill(0);
    ranks.fill(0);
    for (const block of work) {
      for (let at = block.places.length - 1; at >= 0; at -= 1) {
        const pick = at === 0 ? 0 : draw(at + 1);
        const place = block.places[at] ?? 0;
        marks[place] = (marks[place] ?? 0) + swap(block.marks, pick, at);
        ranks[place] = (ranks[place] ?? 0) + swap(block.ranks, pick, at);
      }
    }
    if (statistic(marks, ranks) >= least) reached += 1;
    if (reached === ENOUGH) return { p: reached / turn, permutations: turn };
  }
  return { p: (reached + 1) / (permutations + 1), permutations };
}

/** Swaps two values and returns the one that now stands at `at`. */
function swap(values: number[], pick: number, at: number): number {
  const value = values[pick] ?? 0;
  values[pick] = values[at] ?? 0;
  values[at] = value;
  return value;
}
