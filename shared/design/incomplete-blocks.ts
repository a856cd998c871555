import { shuffled, type RandomSource } from '../ground/random.ts';

/** A balanced incomplete block design. */
export interface IncompleteBlockDesign {
  /** Samples in each block, numbered from 0. */
  blocks: number[][];
  /** Blocks each sample is in, r. */
  timesServed: number;
  /** Blocks each two samples share, lambda. */
  timesTogether: number;
}

const MAX_SAMPLES = 13;

/**
 * Blocks from which the others come by adding 1 modulo `cycle`, within each run of `cycle` numbers; numbers beyond the runs
 * stay. Found by a computer search of our own; each has the fewest blocks that the counting rules allow (see
 * fewestBlocks), and the tests count every pair.
 */
const STARTERS: Readonly<Record<string, { cycle: number; blocks: string }>> = {
  '6 3': { cycle: 5, blocks: '0 1 5, 0 1 3' },
  '7 3': { cycle: 7, blocks: '0 1 3' },
  '8 3': { cycle: 8, blocks: '0 1 4, 0 1 5, 0 2 4, 0 1 2, 0 1 3, 0 1 6, 0 2 5' },
  '8 4': { cycle: 7, blocks: '0 1 3 7, 0 1 2 4' },
  '9 3': { cycle: 8, blocks: '0 4 8, 0 1 3' },
  '9 4': { cycle: 9, blocks: '0 1 2 4, 0 1 4 6' },
  '10 3': { cycle: 9, blocks: '0 1 9, 0 1 4, 0 2 4, 0 3 6' },
  '10 4': { cycle: 5, blocks: '0 1 2 5, 0 2 7 8, 0 6 7 9' },
  '10 5': { cycle: 9, blocks: '0 1 2 4 9, 0 1 3 5 6' },
  '11 3': { cycle: 11, blocks: '0 1 2, 0 1 4, 0 3 6, 0 2 6, 0 2 7' },
  '11 4': { cycle: 11, blocks: '0 1 2 3, 0 1 3 6, 0 1 4 7, 0 1 5 7, 0 2 4 7' },
  '11 5': { cycle: 11, blocks: '0 1 2 4 7' },
  '12 3': { cycle: 11, blocks: '0 1 11, 0 1 4, 0 2 5, 0 2 6' },
  '12 4': { cycle: 12, blocks: '0 2 6 8, 0 3 6 9, 0 1 2 5, 0 1 3 8' },
  '12 5': {
    cycle: 11,
    blocks:
      '0 1 2 7 11, 0 1 4 6 11, 0 2 4 8 11, 0 1 2 6 11, 0 1 7 9 11, 0 1 2 3 8, 0 1 3 5 8, 0 1 2 3 6, ' +
      '0 1 2 5 9, 0 1 3 5 9, 0 1 4 5 8, 0 1 3 4 9',
  },
  '12 6': { cycle: 12, blocks: '0 1 2 3 5 7, 0 1 3 6 7 9, 0 1 4 5 8 9' },
  '13 3': { cycle: 13, blocks: '0 1 4, 0 2 7' },
  '13 4': { cycle: 13, blocks: '0 1 3 9' },
  '13 5': { cycle: 13, blocks: '0 1 2 3 6, 0 1 3 6 9, 0 1 5 7 9' },
  '13 6': { cycle: 13, blocks: '0 1 2 3 5 9, 0 1 3 6 7 11' },
};

/**
 * Fewest blocks that a balanced design can have: r (k - 1) = lambda (v - 1) and b k = v r in whole numbers, and b >= v.
 * @throws RangeError unless samples is 3 to 13 and perBlock 2 to samples - 1.
 * Source: Fisher 1940, Ann. Eugen. 10:52 (b >= v); the two equations by counting.
 */
export function fewestBlocks({ samples, perBlock }: { samples: number; perBlock: number }): number {
  checkSizes(samples, perBlock);
  for (let together = 1; ; together++) {
    const served = (together * (samples - 1)) / (perBlock - 1);
    const blocks = (samples * served) / perBlock;
    if (Number.isInteger(served) && Number.isInteger(blocks) && blocks >= samples) return blocks;
  }
}

/**
 * Balanced incomplete blocks for samples that are too many for one assessor: each sample is in equally many blocks and each
 * two samples are together in equally many, with the fewest blocks possible. Always the same design, numbers from 0:
 * drawIncompleteBlocks deals it out. Not for samples that all fit one sitting (drawWilliamsOrders).
 * @throws RangeError unless samples is 3 to 13 and perBlock 2 to samples - 1.
 * Source: Yates 1936, Ann. Eugen. 7:121 (balance); Bose 1939, Ann. Eugen. 9:353 (cyclic starters).
 */
export function incompleteBlockDesign({
  samples,
  perBlock,
}: {
  samples: number;
  perBlock: number;
}): IncompleteBlockDesign {
  checkSizes(samples, perBlock);
  const blocks = designBlocks(samples, perBlock);
  const timesServed = (blocks.length * perBlock) / samples;
  return { blocks, timesServed, timesTogether: (timesServed * (perBlock - 1)) / (samples - 1) };
}

function designBlocks(samples: number, perBlock: number): number[][] {
  const all = Array.from({ length: samples }, (_, at) => at);
  if (perBlock === 2) return all.flatMap((one, at) => all.slice(at + 1).map((other) => [one, other]));
  // What the blocks of a balanced design leave out is balanced too.
  if (2 * perBlock > samples) {
    const complement =
      perBlock === samples - 1 ? all.map((one) => [one]) : designBlocks(samples, samples - perBlock);
    return complement.map((block) => all.filter((sample) => !block.includes(sample)));
  }
  const { cycle = 1, blocks = '' } = STARTERS[`${samples} ${perBlock}`] ?? {};
  return blocks.split(', ').flatMap((starter) => turned(starter.split(' ').map(Number), cycle, samples));
}

/** A starter's different turns. */
function turned(starter: readonly number[], cycle: number, samples: number): number[][] {
  const fixed = samples - (samples % cycle);
  const found = new Map<string, number[]>();
  for (let shift = 0; shift < cycle; shift++) {
    const block = starter.map((at) => (at < fixed ? at - (at % cycle) + ((at + shift) % cycle) : at));
    const sorted = block.sort((a, b) => a - b);
    found.set(sorted.join(), sorted);
  }
  return [...found.values()];
}

/**
 * Deals orders of `perBlock` samples to seats 1 to `seats`: whole designs one after another, the samples' parts drawn anew in
 * each. In a whole design every sample stands in every place equally often to within one, exactly so where r is a multiple of
 * perBlock; blocks come in an order that keeps the numbers of servings close to each other when seats stay empty at the end.
 * @param samples ids, 3 to 13, each once.
 * @returns one order of sample ids for each seat; the same random source gives the same orders.
 * @throws RangeError for sizes or seats (0 to 1000) out of range, or an id given twice.
 * Source: Yates 1936; places by Koenig's theorem on edge colours, as in Smith & Hartley 1948, J. R. Stat. Soc. B 10:262
 * (from memory); the order of blocks is our own construction.
 */
export function drawIncompleteBlocks({
  samples,
  perBlock,
  seats,
  random,
}: {
  samples: readonly string[];
  perBlock: number;
  seats: number;
  random: RandomSource;
}): string[][] {
  checkWhole('seats', seats, 0, 1000);
  if (new Set(samples).size !== samples.length) throw new RangeError('a sample is given twice');
  const { blocks } = incompleteBlockDesign({ samples: samples.length, perBlock });
  const orders: string[][] = [];
  while (orders.length < seats) {
    const parts = shuffled(random, samples);
    const placed = placeSamples(shuffled(random, blocks), samples.length, random);
    for (const order of evenly(placed, samples.length)) orders.push(order.map((at) => parts[at] ?? ''));
  }
  return orders.slice(0, seats);
}

/**
 * Orders within blocks so that each sample has each place equally often to within one. A sample in r blocks is split into
 * runs of k blocks; no run may have a place twice, and no block: an edge colouring of a bipartite graph, which exists with
 * k colours, and is found by swapping two places along a path wherever a new pair finds no place free on both sides.
 */
function placeSamples(blocks: readonly number[][], samples: number, random: RandomSource): number[][] {
  const k = blocks[0]?.length ?? 0;
  const places = Array.from({ length: k }, (_, place) => place);
  const seen = Array<number>(samples).fill(0);
  // taken[node][place] is the node at the other end; nodes are blocks, then runs of samples.
  const runs = Math.ceil(blocks.length / samples);
  const taken = Array.from({ length: blocks.length + samples * runs }, () => new Map<number, number>());
  const link = (a: number, b: number, place: number) => {
    taken[a]?.set(place, b);
    taken[b]?.set(place, a);
  };
  blocks.forEach((block, blockNode) => {
    for (const sample of shuffled(random, block)) {
      const run = Math.floor((seen[sample] ?? 0) / k);
      seen[sample] = (seen[sample] ?? 0) + 1;
      const sampleNode = blocks.length + sample * runs + run;
      const free = (node: number) => places.filter((place) => !taken[node]?.has(place));
      const here = shuffled(random, free(blockNode));
      const there = free(sampleNode);
      const both = here.find((place) => there.includes(place));
      if (both !== undefined) {
        link(blockNode, sampleNode, both);
        continue;
      }
      const [mine = 0] = here;
      const [theirs = 0] = there;
      swapPath(taken, sampleNode, mine, theirs);
      link(blockNode, sampleNode, mine);
    }
  });
  return blocks.map((block, blockNode) => {
    const order = block.map(() => 0);
    taken[blockNode]?.forEach((node, place) => {
      order[place] = Math.floor((node - blocks.length) / runs);
    });
    return order;
  });
}

/** Swaps two places along the path that leaves `start` by the first, so that the first becomes free there. */
function swapPath(taken: readonly Map<number, number>[], start: number, first: number, second: number): void {
  const path = [start];
  for (let place = first, node: number | undefined = start; ; place = place === first ? second : first) {
    node = taken[node]?.get(place);
    if (node === undefined) break;
    path.push(node);
  }
  // In a bipartite graph the path never comes back, so its nodes are all different.
  for (const node of path) {
    const [a, b] = [taken[node]?.get(first), taken[node]?.get(second)];
    if (b === undefined) taken[node]?.delete(first);
    else taken[node]?.set(first, b);
    if (a === undefined) taken[node]?.delete(second);
    else taken[node]?.set(second, a);
  }
}

/** Takes next, again and again, the block whose samples were served least so far; the earlier one of equals. */
function evenly(orders: readonly number[][], samples: number): number[][] {
  const served = Array<number>(samples).fill(0);
  const left = [...orders];
  const out: number[][] = [];
  const load = (order: readonly number[]) => order.reduce((sum, sample) => sum + (served[sample] ?? 0), 0);
  while (left.length > 0) {
    const loads = left.map(load);
    const [next = []] = left.splice(loads.indexOf(Math.min(...loads)), 1);
    for (const sample of next) served[sample] = (served[sample] ?? 0) + 1;
    out.push(next);
  }
  return out;
}

function checkSizes(samples: number, perBlock: number): void {
  checkWhole('samples', samples, 3, MAX_SAMPLES);
  checkWhole('perBlock', perBlock, 2, samples - 1);
}

function checkWhole(field: string, value: number, least: number, most: number): void {
  if (!Number.isInteger(value) || value < least || value > most) {
    throw new RangeError(`${field} is a whole number from ${least} to ${most}, not ${value}`);
  }
}
