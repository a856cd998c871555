import { cyclicSquares, type LatinRows } from './cyclic-orders.ts';
import type { FlightSample } from './flight.ts';
import { pickOne } from './orders.ts';
import { randomInt, shuffled, type RandomSource } from './random.ts';

/**
 * Small squares with cups of one liquid (0 and 1, 2 and 3, ...) apart and carry-over as even as any square of the kind has
 * it, by counting all of them: most less least over the permitted pairs is 2, 1, 2, 3, 2, 1, 1. By cups and liquids of two cups.
 */
const KNOWN_SQUARES: Readonly<Record<string, string>> = {
  '4 1': '0213 1302 2031 3120',
  '4 2': '0213 1302 2031 3120',
  '5 1': '02134 14203 23041 31420 40312',
  '5 2': '02134 14203 21340 30412 43021',
  '6 1': '021345 152403 230514 304251 415032 543120',
  '6 2': '024513 140352 253041 315420 431205 502134',
  '6 3': '021435 130524 253041 342150 405312 514203',
};

const CANDIDATES = 24;

/**
 * Blocks of orders in which cups of one liquid never stand side by side, one block after another. Each block is a Latin
 * square: every sample stands in every place once. Carry-over cannot be fully even then, as cups that are kept from each
 * other meet the rest more often; each block is chosen, among squares and ways of naming their samples, to even out
 * what the blocks before it left uneven.
 * @param samples with at least one liquid in two cups, none in more than half of them (a half rounded down), 4 or more.
 * @returns a function that draws the next block: rows of sample ids, in random order.
 */
export function apartBlocks(random: RandomSource, samples: readonly FlightSample[]): () => string[][] {
  const size = samples.length;
  const liquids = liquidsOf(samples);
  const squares = squaresFor(
    random,
    liquids.map(({ length }) => length),
  );
  const forbidden = samples.map((one) => samples.map((other) => one.sameAs === other.sameAs));
  const carry = samples.map(() => Array<number>(size).fill(0));
  let naming = drawNaming(random, liquids);
  return () => {
    let best: { cost: number; rows: number[][]; naming: number[][] } | null = null;
    for (let one = 0; one < CANDIDATES; one++) {
      // The naming of the block before with every square, then new ones: the squares of one naming make up for one another.
      const named = one === 0 ? naming : drawNaming(random, liquids);
      for (const square of one === 0 ? squares : [pickOne(random, squares)]) {
        const rows = nameRows(square, named);
        if (one > 0 && randomInt(random, 2) === 1) for (const row of rows) row.reverse();
        const cost = unevenness(carry, rows, forbidden);
        if (!best || cost < best.cost) best = { cost, rows, naming: named };
      }
    }
    if (!best) throw new Error('no square was looked at');
    naming = best.naming;
    for (const row of best.rows) addCarryOver(carry, row);
    return shuffled(random, best.rows).map((row) => row.map((at) => samples[at]?.id ?? ''));
  };
}

/** Indices of the samples, liquid by liquid, those with most cups first. */
function liquidsOf(samples: readonly FlightSample[]): number[][] {
  const groups = new Map<string, number[]>();
  samples.forEach(({ sameAs }, at) => groups.set(sameAs, [...(groups.get(sameAs) ?? []), at]));
  return [...groups.values()].sort((a, b) => b.length - a.length);
}

function squaresFor(random: RandomSource, counts: readonly number[]): LatinRows[] {
  const size = counts.reduce((sum, count) => sum + count, 0);
  const known = (counts[0] ?? 0) <= 2 ? KNOWN_SQUARES[`${size} ${size - counts.length}`] : undefined;
  if (known === undefined) return cyclicSquares(random, counts);
  const liquidOf = counts.flatMap((count, liquid) => Array<number>(count).fill(liquid));
  return known.split(', ').map((square) => ({
    liquidOf,
    rows: square.split(' ').map((row) => Array.from(row, Number)),
  }));
}

/** Samples of each liquid of a square: liquids with equally many cups change places, and so do the cups of each. */
function drawNaming(random: RandomSource, liquids: readonly (readonly number[])[]): number[][] {
  const counts = [...new Set(liquids.map(({ length }) => length))];
  const mixed = counts.flatMap((count) =>
    shuffled(
      random,
      liquids.filter(({ length }) => length === count),
    ),
  );
  return mixed.map((liquid) => shuffled(random, liquid));
}

function nameRows({ liquidOf, rows }: LatinRows, naming: readonly (readonly number[])[]): number[][] {
  const used = naming.map(() => 0);
  const names = liquidOf.map((liquid) => {
    const cup = used[liquid] ?? 0;
    used[liquid] = cup + 1;
    return naming[liquid]?.[cup] ?? 0;
  });
  return rows.map((row) => row.map((at) => names[at] ?? 0));
}

function addCarryOver(carry: readonly number[][], row: readonly number[]): void {
  for (let place = 1; place < row.length; place++) {
    const before = carry[row[place - 1] as number];
    const at = row[place] as number;
    if (before) before[at] = (before[at] ?? 0) + 1;
  }
}

/** Sum of squares of carry-over with these rows on top, over the pairs that are permitted: least when it is even. */
function unevenness(
  carry: readonly number[][],
  rows: readonly number[][],
  forbidden: readonly boolean[][],
): number {
  const counts = carry.map((row) => [...row]);
  for (const row of rows) addCarryOver(counts, row);
  let sum = 0;
  counts.forEach((row, before) => {
    row.forEach((count, after) => {
      if (!forbidden[before]?.[after]) sum += count * count;
    });
  });
  return sum;
}
