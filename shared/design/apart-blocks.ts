import type { FlightSample } from './flight-sample.ts';
import { randomInt, shuffled, type RandomSource } from '../ground/random.ts';

// Swaps tried for each block; beyond some dozens hardly any block is still in want of one.
const SWAPS_EACH = 40;
const SWAPS_MORE = 200;

/**
 * Incomplete blocks with cups of one liquid apart: wherever two of them stand side by side, places are changed within the
 * block, and within others to make up for it, so that each sample keeps having each place about equally often.
 * @param orders whole designs one after another, as drawIncompleteBlocks deals them; the last may be cut short.
 * @param design blocks in one design.
 * @returns the same blocks; only the order within them differs.
 * @throws RangeError for a block in which one liquid fills more than half of the places, rounded up.
 * Our own construction; balance over places is as Yates 1936 has it.
 */
export function keepApart(
  random: RandomSource,
  {
    orders,
    samples,
    design,
  }: { orders: readonly (readonly string[])[]; samples: readonly FlightSample[]; design: number },
): string[][] {
  const liquids = new Map(samples.map(({ id, sameAs }) => [id, sameAs]));
  const out: string[][] = [];
  for (let start = 0; start < orders.length; start += design) {
    const blocks = orders.slice(start, start + design).map((order) => [...order]);
    // What cannot be mended by swaps is arranged anew, and then the others make up for it.
    mend(random, blocks, liquids);
    for (const block of blocks) {
      if (touching(block, liquids) > 0) block.splice(0, block.length, ...arranged(random, block, liquids));
    }
    mend(random, blocks, liquids);
    out.push(...blocks);
  }
  return out;
}

/** Neighbours of one liquid in a block. */
function touching(block: readonly string[], liquids: ReadonlyMap<string, string>): number {
  let count = 0;
  for (let place = 1; place < block.length; place++) {
    if (liquids.get(block[place] ?? '') === liquids.get(block[place - 1] ?? '')) count += 1;
  }
  return count;
}

/** Swaps two places of a block wherever that leaves fewer neighbours of one liquid, or as many and places more even. */
function mend(random: RandomSource, blocks: string[][], liquids: ReadonlyMap<string, string>): void {
  const places = new Map<string, number[]>();
  const bump = (id: string, place: number, by: number) => {
    const counts = places.get(id) ?? [];
    counts[place] = (counts[place] ?? 0) + by;
    places.set(id, counts);
  };
  for (const block of blocks) block.forEach((id, place) => bump(id, place, 1));
  const length = blocks[0]?.length ?? 0;
  const pairs = length * (length - 1);
  for (let tried = 0; tried < SWAPS_EACH * blocks.length + SWAPS_MORE; tried++) {
    // One draw for the block and two of its places.
    const drawn = randomInt(random, blocks.length * pairs);
    const block = blocks[Math.floor(drawn / pairs)] as string[];
    const one = (drawn % pairs) % length;
    const other = (one + 1 + Math.floor((drawn % pairs) / length)) % length;
    const [a, b] = [block[one] as string, block[other] as string];
    const before = touching(block, liquids);
    [block[one], block[other]] = [b, a];
    const fewer = touching(block, liquids) - before;
    const at = (id: string, place: number) => places.get(id)?.[place] ?? 0;
    // Change of the sum of squares, halved: each sample leaves a place and takes another.
    const even = at(a, other) - at(a, one) + 1 + at(b, one) - at(b, other) + 1;
    if (fewer > 0 || (fewer === 0 && even > 0)) {
      [block[one], block[other]] = [a, b];
      continue;
    }
    bump(a, one, -1);
    bump(a, other, 1);
    bump(b, other, -1);
    bump(b, one, 1);
  }
}

/** The cups of a block with those of one liquid apart, otherwise in random order: the liquid with most left comes next. */
function arranged(
  random: RandomSource,
  block: readonly string[],
  liquids: ReadonlyMap<string, string>,
): string[] {
  const left = new Map<string, string[]>();
  for (const id of shuffled(random, block)) {
    const liquid = liquids.get(id) ?? id;
    left.set(liquid, [...(left.get(liquid) ?? []), id]);
  }
  const row: string[] = [];
  let last: string | null = null;
  while (row.length < block.length) {
    const next: [string, string[]][] = [...left].filter(
      ([liquid, cups]) => liquid !== last && cups.length > 0,
    );
    const [liquid, cups] = next.sort((one, other) => other[1].length - one[1].length)[0] ?? [];
    const cup = cups?.pop();
    if (liquid === undefined || cup === undefined) {
      throw new RangeError('cups of one liquid cannot be kept apart in a block');
    }
    row.push(cup);
    last = liquid;
  }
  return row;
}
