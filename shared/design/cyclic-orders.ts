import { shuffled, type RandomSource } from '../ground/random.ts';

/** Orders of numbered samples, each of which stands in each place once over all rows. */
export interface LatinRows {
  rows: number[][];
  /** For each number the liquid in it, numbered by falling count of cups. */
  liquidOf: number[];
}

// Samples tried before a search begins again elsewhere, how often it does before a starter of these steps is given up, and
// starters kept to choose from.
const MAX_STEPS = 400;
const MAX_STARTS = 12;
const MAX_STARTERS = 16;

/**
 * Latin squares in which cups of one liquid never stand side by side, each by shifting one row modulo the number of cups:
 * where a row goes from a sample to the next by a step, the shifted rows go by it from every sample. Cups of one liquid lie
 * apart by few different steps (half way round where there are two of each), which no row takes; the others are taken
 * as equally often as can be, so that all that is left uneven differs from one square to the next.
 * @param counts cups of each liquid, falling; together k from 4 on, none more than half of k.
 * @returns one or more squares.
 * Source: cyclic squares as in Williams 1949, Aust. J. Sci. Res. A 2:149; keeping liquids apart is our own construction.
 */
export function cyclicSquares(random: RandomSource, counts: readonly number[]): LatinRows[] {
  const size = counts.reduce((sum, count) => sum + count, 0);
  const layouts = Array.from({ length: Math.floor(size / 2) }, (_, at) => layout(counts, size, at + 1))
    .filter(({ steps }) => steps.length > 0)
    .sort((a, b) => b.steps.length - a.steps.length);
  // Taking one step forward throughout is always possible when neighbours differ, so that the search ends.
  for (let extra = 0; extra < size; extra++) {
    for (const { liquidOf, steps } of layouts) {
      const starters = startersOf(random, size, steps, extra);
      if (starters.length === 0) continue;
      return starters.map((starter) => ({
        liquidOf,
        rows: starter.map((_, shift) => starter.map((at) => (at + shift) % size)),
      }));
    }
  }
  throw new RangeError(`cups of one liquid cannot be kept apart: ${counts.join(', ')}`);
}

/** Cups along the circle by strides of `stride`, liquid by liquid, and the steps between cups of different liquids only. */
function layout(
  counts: readonly number[],
  size: number,
  stride: number,
): { liquidOf: number[]; steps: number[] } {
  const liquidOf = Array<number>(size).fill(-1);
  let at = 0;
  counts.forEach((count, liquid) => {
    for (let cup = 0; cup < count; cup++) {
      while (liquidOf[at] !== -1) at = (at + 1) % size;
      liquidOf[at] = liquid;
      at = (at + stride) % size;
    }
  });
  const apart = (step: number) => liquidOf.every((liquid, one) => liquid !== liquidOf[(one + step) % size]);
  return { liquidOf, steps: Array.from({ length: size - 1 }, (_, one) => one + 1).filter(apart) };
}

/** Rows from 0 through all numbers below `size` that take each step as often as another, give or take one and `extra`. */
function startersOf(random: RandomSource, size: number, steps: readonly number[], extra: number): number[][] {
  const each = Math.floor((size - 1) / steps.length);
  const over = (size - 1) % steps.length;
  const starters: number[][] = [];
  // A step taken once more than the others: each in turn, so that squares make up for one another.
  for (const [turn] of steps.entries()) {
    if (starters.length >= MAX_STARTERS) break;
    const most = new Map(steps.map((step, at) => [step, each + extra + (isOver(at, turn) ? 1 : 0)]));
    for (let start = 0; start < MAX_STARTS; start++) {
      const found = starterOf(random, size, most);
      if (!found) continue;
      starters.push(found);
      break;
    }
  }
  return starters;
  function isOver(at: number, turn: number): boolean {
    return (at - turn + steps.length) % steps.length < over;
  }
}

function starterOf(random: RandomSource, size: number, most: Map<number, number>): number[] | null {
  const row = [0];
  const seen = new Set(row);
  const left = new Map(most);
  let tried = 0;
  const fill = (): boolean => {
    if (row.length === size) return true;
    for (const step of shuffled(random, [...left.keys()])) {
      const next = ((row.at(-1) as number) + step) % size;
      const times = left.get(step) ?? 0;
      if (times === 0 || seen.has(next)) continue;
      if (++tried > MAX_STEPS) return false;
      left.set(step, times - 1);
      row.push(next);
      seen.add(next);
      if (fill()) return true;
      row.pop();
      seen.delete(next);
      left.set(step, times);
    }
    return false;
  };
  return fill() ? row : null;
}
