import type { FastRandom } from '../ground/fast-random.ts';
import { atOnce, type Steps } from '../ground/in-slices.ts';

/**
 * The permutation null of blocked data: if samples do not differ, every order of the values within an assessor's row is
 * equally likely. Statistic: the sum of squares of the column totals, which rises with Friedman's chi-square and with
 * Cochran's Q. Values are whole numbers (ranks doubled), so that equal statistics are recognised as equal.
 */

/**
 * Steps of the enumeration allowed, about 50 ms. The answer to 'exact or not' depends on the data alone, not on the
 * speed of the machine. Our own bound; no source.
 */
export const MAX_STEPS = 600_000;
/** Steps of the enumeration, and values placed in random orders, between two turns of others: a few milliseconds. */
const STEPS_A_TURN = 40_000;

/**
 * Exact P(statistic >= observed) under independent random orders within rows, or null when it takes more than
 * `mostSteps`. Rows are added one after the other; what was reached is kept as sorted totals, since all samples are
 * alike under the null. Only positive terms are added: within 1e-12 relative.
 * rows: whole numbers, all of one length; no rows, or only rows of equal values, give 1. Errors: none.
 * Source: the definition; van de Wiel 2001, Comput. Stat. 16:519, on the same route (from memory).
 * Example: `exactTail([[1, 2, 3], [1, 2, 3], [1, 2, 3], [1, 2, 3]])` is 0.00462962962963
 */
export function exactTail(rows: readonly (readonly number[])[], mostSteps = MAX_STEPS): number | null {
  return atOnce(exactTailSteps(rows, mostSteps));
}

/** The same in steps for inSlices. */
export function* exactTailSteps(
  rows: readonly (readonly number[])[],
  mostSteps = MAX_STEPS,
): Steps<number | null> {
  const telling = tellingRows(rows);
  return yield* tailFrom(telling, sumOfSquares(totalsOf(telling, telling[0]?.length ?? 0)), mostSteps);
}

/**
 * The same for a sum of squares of totals given, of rows whose smallest value is 0: what a table of the null prints.
 * Errors: none. Source: as exactTail. Example: `exactTailFrom([[0, 1, 2], [0, 1, 2]], 20)` is 0.16666666666667
 */
export function exactTailFrom(
  rows: readonly (readonly number[])[],
  least: number,
  mostSteps = MAX_STEPS,
): number | null {
  return atOnce(tailFrom(tellingRows(rows), least, mostSteps));
}

function* tailFrom(telling: readonly number[][], observed: number, mostSteps: number): Steps<number | null> {
  const k = telling[0]?.length ?? 0;
  if (k === 0) return observed <= 0 ? 1 : 0;
  const base = 1 + telling.reduce((sum, row) => sum + Math.max(...row), 0);
  if (base ** (k - 1) > Number.MAX_SAFE_INTEGER) return null;

  // The row with most orders comes first: by symmetry it need not be permuted at all.
  const sorted = telling
    .map((row) => ({ row: row.toSorted((a, b) => a - b), orders: countOrders(row) }))
    .sort((a, b) => b.orders - a.orders || compare(a.row, b.row));
  const first = sorted.shift();
  let states = new Map([[encode(first?.row ?? [], base), 1]]);
  // What the rows so far add up to; the last total of a state is what is left of it.
  let reached = (first?.row ?? []).reduce((a, b) => a + b, 0);
  if (sorted.length === 0) return sumOfSquares(first?.row ?? []) >= observed ? 1 : 0;

  let steps = 0;
  // Orders of the rows still to be added.
  let ahead = sorted.reduce((sum, { orders }) => sum + orders, 0);
  let orders: Int32Array = new Int32Array(0);
  let ordersOf: readonly number[] = [];
  const totals = new Array<number>(k).fill(0);
  const next = new Array<number>(k).fill(0);
  let tail = 0;
  let since = 0;
  for (const [index, { row, orders: count }] of sorted.entries()) {
    // States never become fewer: adding the sorted row to sorted totals already keeps them apart.
    if (steps + states.size * ahead > mostSteps) return null;
    steps += states.size * count;
    ahead -= count;
    if (compare(row, ordersOf) !== 0) {
      orders = listOrders(row, count);
      ordersOf = row;
    }
    const last = index === sorted.length - 1;
    const following = new Map<number, number>();
    for (const [key, mass] of states) {
      since += count;
      if (since > STEPS_A_TURN) {
        since = 0;
        yield;
      }
      decode(key, base, reached, totals);
      const share = mass / count;
      let hits = 0;
      for (let at = 0; at < orders.length; at += k) {
        if (last) {
          let squares = 0;
          for (let j = 0; j < k; j += 1) squares += ((totals[j] ?? 0) + (orders[at + j] ?? 0)) ** 2;
          if (squares >= observed) hits += 1;
        } else {
          for (let j = 0; j < k; j += 1) insert(next, j, (totals[j] ?? 0) + (orders[at + j] ?? 0));
          const code = encode(next, base);
          following.set(code, (following.get(code) ?? 0) + share);
        }
      }
      tail += hits * share;
    }
    states = following;
    reached += row.reduce((a, b) => a + b, 0);
  }
  return Math.min(1, tail);
}

/**
 * Monte Carlo estimate of the same tail: (1 + number of random orders that reach the observed statistic) /
 * (permutations + 1), which never calls a result more unlikely than the draws can show.
 * rows as in exactTail, permutations whole from 1. Errors: none. Source: Phipson & Smyth 2010,
 * Stat. Appl. Genet. Mol. Biol. 9:39.
 * Example: `permutationTail([[1, 2], [1, 2]], 1, () => 0)` is 1
 */
export function permutationTail(
  rows: readonly (readonly number[])[],
  permutations: number,
  random: FastRandom,
): number {
  return atOnce(permutationTailSteps(rows, permutations, random));
}

/** The same in steps for inSlices. */
export function* permutationTailSteps(
  rows: readonly (readonly number[])[],
  permutations: number,
  random: FastRandom,
): Steps<number> {
  const { p } = yield* sequentialTailSteps(rows, { permutations, enough: permutations + 1, random });
  return p;
}

/**
 * The same, stopped as soon as `enough` random orders have reached the statistic: p is then their share of the orders drawn,
 * still never too small on average, and a plainly large p costs few orders. p of all orders otherwise.
 * `drawn` says how many. Errors: none.
 * Source: Besag & Clifford 1991, Biometrika 78:301 (from memory).
 */
export function* sequentialTailSteps(
  rows: readonly (readonly number[])[],
  { permutations, enough, random }: { permutations: number; enough: number; random: FastRandom },
): Steps<{ p: number; drawn: number }> {
  const telling = tellingRows(rows);
  const k = telling[0]?.length ?? 0;
  const observed = sumOfSquares(totalsOf(telling, k));
  const totals = new Int32Array(k);
  const fill = fillerOf(telling, totals, random);
  let reached = 0;
  let placed = 0;
  for (let turn = 1; turn <= permutations; turn += 1) {
    fill();
    let squares = 0;
    for (let j = 0; j < k; j += 1) squares += (totals[j] ?? 0) ** 2;
    if (squares >= observed) reached += 1;
    if (reached === enough) return { p: reached / turn, drawn: turn };
    placed += telling.length * k;
    if (placed > STEPS_A_TURN) {
      placed = 0;
      yield;
    }
  }
  return { p: (reached + 1) / (permutations + 1), drawn: permutations };
}

/** Fills the totals with random orders of all rows. */
function fillerOf(rows: readonly (readonly number[])[], totals: Int32Array, random: FastRandom): () => void {
  if (rows.every((row) => row.every((value) => value === 0 || value === 1)))
    return choiceFiller(rows, totals, random);
  const adders = rows.map((row) => adderOf(row));
  return () => {
    totals.fill(0);
    for (const add of adders) add(totals, random);
  };
}

/** Of rows of 0 and 1 the rarer of the two is placed; the rest is the same in every turn. */
function choiceFiller(
  rows: readonly (readonly number[])[],
  totals: Int32Array,
  random: FastRandom,
): () => void {
  const k = totals.length;
  const ones = rows.map((row) => row.reduce((a, b) => a + b, 0));
  const few = Int32Array.from(ones, (count) => Math.min(count, k - count));
  const steps = Int32Array.from(ones, (count) => (count <= k - count ? 1 : -1));
  const rest = steps.reduce((sum, step) => sum + (step < 0 ? 1 : 0), 0);
  // The places stay shuffled from row to row, which does no harm.
  const places = Int32Array.from({ length: k }, (_, j) => j);
  return () => {
    totals.fill(rest);
    for (let row = 0; row < few.length; row += 1) {
      const step = steps[row] ?? 0;
      const count = few[row] ?? 0;
      for (let i = 0; i < count; i += 1) {
        const pick = i + random(k - i);
        const place = places[pick] ?? 0;
        places[pick] = places[i] ?? 0;
        places[i] = place;
        totals[place] = (totals[place] ?? 0) + step;
      }
    }
  };
}

/** Rows less their smallest value, which moves all totals alike; rows of equal values say nothing. */
function tellingRows(rows: readonly (readonly number[])[]): number[][] {
  return rows
    .map((row) => {
      const least = Math.min(...row);
      return row.map((value) => value - least);
    })
    .filter((row) => row.some((value) => value > 0));
}

function totalsOf(rows: readonly (readonly number[])[], k: number): number[] {
  return Array.from({ length: k }, (_, j) => rows.reduce((sum, row) => sum + (row[j] ?? 0), 0));
}

function sumOfSquares(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value * value, 0);
}

/** Adds a random order of a row to the totals. */
function adderOf(row: readonly number[]): (totals: Int32Array, random: FastRandom) => void {
  const k = row.length;
  const high = Math.max(...row);
  const ones = row.filter((value) => value === high).length;
  const two = row.every((value) => value === high || value === 0);
  if (two) {
    // Two values: place the rarer one. The places stay shuffled from turn to turn, which does no harm.
    const few = Math.min(ones, k - ones);
    const step = ones === few ? high : -high;
    const rest = ones === few ? 0 : high;
    const places = Int32Array.from({ length: k }, (_, j) => j);
    return (totals, random) => {
      if (rest > 0) for (let j = 0; j < k; j += 1) totals[j] = (totals[j] ?? 0) + rest;
      for (let i = 0; i < few; i += 1) {
        const pick = i + random(k - i);
        const place = places[pick] ?? 0;
        places[pick] = places[i] ?? 0;
        places[i] = place;
        totals[place] = (totals[place] ?? 0) + step;
      }
    };
  }
  const values = Int32Array.from(row);
  return (totals, random) => {
    for (let j = k - 1; j >= 0; j -= 1) {
      const pick = j === 0 ? 0 : random(j + 1);
      const value = values[pick] ?? 0;
      values[pick] = values[j] ?? 0;
      values[j] = value;
      totals[j] = (totals[j] ?? 0) + value;
    }
  };
}

/** Number of different orders of a row: k! / product of (times a value occurs)!. */
function countOrders(row: readonly number[]): number {
  const times = new Map<number, number>();
  let orders = 1;
  row.forEach((value, index) => {
    const already = (times.get(value) ?? 0) + 1;
    times.set(value, already);
    orders = (orders * (index + 1)) / already;
  });
  return Math.round(orders);
}

/** All different orders of a sorted row, one after the other, each the next one in the order of a dictionary. */
function listOrders(row: readonly number[], count: number): Int32Array {
  const k = row.length;
  const all = new Int32Array(count * k);
  const at = [...row];
  for (let order = 0; order < count; order += 1) {
    all.set(at, order * k);
    let i = k - 2;
    while (i >= 0 && (at[i] ?? 0) >= (at[i + 1] ?? 0)) i -= 1;
    if (i < 0) break;
    let j = k - 1;
    while ((at[j] ?? 0) <= (at[i] ?? 0)) j -= 1;
    [at[i], at[j]] = [at[j] ?? 0, at[i] ?? 0];
    at.push(...at.splice(i + 1).reverse());
  }
  return all;
}

/** Puts a value into the sorted front of a list. */
function insert(list: number[], length: number, value: number): void {
  let at = length;
  while (at > 0 && (list[at - 1] ?? 0) > value) {
    list[at] = list[at - 1] ?? 0;
    at -= 1;
  }
  list[at] = value;
}

/** All totals but the last as digits; the last follows from the sum. */
function encode(totals: readonly number[], base: number): number {
  let key = 0;
  for (let j = 0; j < totals.length - 1; j += 1) key = key * base + (totals[j] ?? 0);
  return key;
}

function decode(key: number, base: number, sum: number, totals: number[]): void {
  let left = key;
  let last = sum;
  for (let j = totals.length - 2; j >= 0; j -= 1) {
    const rest = Math.floor(left / base);
    const digit = left - rest * base;
    totals[j] = digit;
    last -= digit;
    left = rest;
  }
  totals[totals.length - 1] = last;
}

function compare(a: readonly number[], b: readonly number[]): number {
  if (a.length !== b.length) return a.length - b.length;
  for (let i = 0; i < a.length; i += 1) {
    const difference = (a[i] ?? 0) - (b[i] ?? 0);
    if (difference !== 0) return difference;
  }
  return 0;
}
