import { shuffled, type RandomSource } from '../ground/random.ts';

const MAX_SAMPLES = 40;

/**
 * A Williams square: serving orders of `samples` samples, numbered from 0, in which each sample stands in each place
 * equally often and each sample follows each other one equally often. Even numbers need as many rows as samples; odd ones
 * twice as many, the second half being the first read backwards. Always the same square: drawWilliamsOrders deals it out.
 * @throws RangeError unless samples is a whole number from 2 to 40.
 * Source: Williams 1949, Aust. J. Sci. Res. A 2:149.
 */
export function williamsSquare(samples: number): number[][] {
  checkWhole('samples', samples, 2, MAX_SAMPLES);
  // 0, 1, n - 1, 2, n - 2, ...: the steps between neighbours are all different, so each shift meets other pairs.
  const first = Array.from({ length: samples }, (_, place) =>
    place % 2 === 1 ? (place + 1) / 2 : (samples - place / 2) % samples,
  );
  const rows = first.map((_, shift) => first.map((sample) => (sample + shift) % samples));
  return samples % 2 === 0 ? rows : [...rows, ...rows.map((row) => row.toReversed())];
}

/**
 * Deals serving orders to seats 1 to `seats`: whole Williams squares one after another, in each the samples' parts and the
 * rows' order drawn anew. After every seat each sample has stood in each place equally often to within one; carry-over is
 * balanced whenever a square is complete (orderBalance says how far it is otherwise).
 * @param samples ids, 2 to 40, each once.
 * @returns one order of all sample ids for each seat; the same random source gives the same orders.
 * @throws RangeError for samples or seats (0 to 1000) out of range, or an id given twice.
 * Source: Williams 1949; ISO 29842 (from memory) for balance over places; dealing in squares is our own construction.
 */
export function drawWilliamsOrders({
  samples,
  seats,
  random,
}: {
  samples: readonly string[];
  seats: number;
  random: RandomSource;
}): string[][] {
  checkWhole('seats', seats, 0, 1000);
  checkDistinct(samples);
  const square = williamsSquare(samples.length);
  const halves = [square.slice(0, samples.length), square.slice(samples.length)].filter(
    (half) => half.length > 0,
  );
  const orders: string[][] = [];
  while (orders.length < seats) {
    const parts = shuffled(random, samples);
    // Each half is a Latin square by itself; keeping it together balances places early.
    for (const half of shuffled(random, halves)) {
      for (const row of shuffled(random, half)) orders.push(row.map((at) => parts[at] ?? ''));
    }
  }
  return orders.slice(0, seats);
}

export interface OrderBalance {
  /** How often each sample (row) stood in each place (column), in the order of the ids given. */
  places: number[][];
  /** How often each sample (row) came right before each other one (column). */
  carryOver: number[][];
  /** Most less least over all samples and places; 0 is full balance. */
  placeSpread: number;
  /** Most less least over all ordered pairs of two samples; 0 is full balance. */
  carryOverSpread: number;
}

/**
 * How balanced orders are as they were served: dropped, swapped and incomplete ones included.
 * @param samples ids, each once.
 * @param orders served orders; may be shorter than the list of samples.
 * @throws RangeError for an id given twice or served without being given.
 */
export function orderBalance({
  samples,
  orders,
}: {
  samples: readonly string[];
  orders: readonly (readonly string[])[];
}): OrderBalance {
  checkDistinct(samples);
  const index = new Map(samples.map((id, at) => [id, at]));
  const places = samples.map(() =>
    Array<number>(Math.max(0, ...orders.map((order) => order.length))).fill(0),
  );
  const carryOver = samples.map(() => Array<number>(samples.length).fill(0));
  for (const order of orders) {
    order.forEach((id, place) => {
      const at = index.get(id);
      if (at === undefined) throw new RangeError(`${id} is served but not among the samples`);
      bump(places[at], place);
      const before = index.get(order[place - 1] ?? '');
      if (place > 0 && before !== undefined) bump(carryOver[before], at);
    });
  }
  const pairs = carryOver.flatMap((row, at) => row.filter((_, other) => other !== at));
  return { places, carryOver, placeSpread: spread(places.flat()), carryOverSpread: spread(pairs) };
}

function bump(row: number[] | undefined, at: number): void {
  if (row) row[at] = (row[at] ?? 0) + 1;
}

function spread(counts: readonly number[]): number {
  return counts.length > 0 ? Math.max(...counts) - Math.min(...counts) : 0;
}

function checkDistinct(samples: readonly string[]): void {
  if (new Set(samples).size !== samples.length) throw new RangeError('a sample is given twice');
}

function checkWhole(field: string, value: number, least: number, most: number): void {
  if (!Number.isInteger(value) || value < least || value > most) {
    throw new RangeError(`${field} is a whole number from ${least} to ${most}, not ${value}`);
  }
}
