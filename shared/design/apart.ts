import { cyclicSquares, type LatinRows } from './cyclic-orders.ts';
import type { FlightSample } from './flight-sample.ts';
import { KNOWN_SQUARES } from './known-squares.ts';
import { pickOne } from './orders.ts';
import { randomInt, shuffled, type RandomSource } from '../ground/random.ts';

// Ways of naming the samples of a square that are compared for each block.
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
  return known.map((square) => ({
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

/** How uneven carry-over is with these rows on top, over the permitted pairs: most less least, then the sum of squares. */
function unevenness(
  carry: readonly number[][],
  rows: readonly number[][],
  forbidden: readonly boolean[][],
): number {
  const counts = carry.map((row) => [...row]);
  for (const row of rows) addCarryOver(counts, row);
  const permitted = counts.flatMap((row, before) => row.filter((_, after) => !forbidden[before]?.[after]));
  const spread = Math.max(...permitted) - Math.min(...permitted);
  const mean = permitted.reduce((sum, count) => sum + count, 0) / permitted.length;
  const squares = permitted.reduce((sum, count) => sum + (count - mean) ** 2, 0);
  // The mean square is at most a quarter of the squared spread, so that the spread decides first.
  return spread + squares / permitted.length / (spread ** 2 + 1);
}
