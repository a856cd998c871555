import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  drawIncompleteBlocks,
  fewestBlocks,
  incompleteBlockDesign,
} from '@oddglass/shared/design/incomplete-blocks.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { chiSquare, seedOf, UPPER_MILLIONTH } from './chance.ts';

const sizes = Array.from({ length: 11 }, (_, at) => at + 3).flatMap((samples) =>
  Array.from({ length: samples - 2 }, (_, at) => ({ samples, perBlock: at + 2 })),
);
const ids = (count: number) => Array.from({ length: count }, (_, at) => `s${at}`);
const deal = (samples: number, perBlock: number, seats: number, number = 1) =>
  drawIncompleteBlocks({ samples: ids(samples), perBlock, seats, random: seededRandom(seedOf(number)) });

/** How often each two share a block, and each is served, counted without the code's own help. */
function counts(blocks: readonly (readonly (number | string)[])[]) {
  const pairs = new Map<string, number>();
  const served = new Map<number | string, number>();
  for (const block of blocks) {
    for (const one of block) {
      served.set(one, (served.get(one) ?? 0) + 1);
      for (const other of block) {
        if (one < other) pairs.set(`${one} ${other}`, (pairs.get(`${one} ${other}`) ?? 0) + 1);
      }
    }
  }
  return { pairs, served };
}

/** Most less least of how often each sample has each place. */
function placeSpread(orders: readonly (readonly string[])[], samples: number, perBlock: number): number {
  const places = ids(samples).flatMap((id) =>
    Array.from({ length: perBlock }, (_, place) => orders.filter((order) => order[place] === id).length),
  );
  return Math.max(...places) - Math.min(...places);
}

describe('a balanced incomplete block design', () => {
  // v, k, r, b, lambda of Cochran & Cox 1957, Experimental Designs, table 11.3 (from memory).
  test.each([
    [4, 2, 3, 6, 1],
    [4, 3, 3, 4, 2],
    [5, 2, 4, 10, 1],
    [5, 3, 6, 10, 3],
    [5, 4, 4, 5, 3],
    [6, 2, 5, 15, 1],
    [6, 3, 5, 10, 2],
    [6, 4, 10, 15, 6],
    [6, 5, 5, 6, 4],
    [7, 3, 3, 7, 1],
    [7, 4, 4, 7, 2],
    [8, 4, 7, 14, 3],
    [9, 3, 4, 12, 1],
    [9, 4, 8, 18, 3],
    [9, 5, 10, 18, 5],
    [9, 6, 8, 12, 5],
    [10, 3, 9, 30, 2],
    [10, 4, 6, 15, 2],
    [10, 5, 9, 18, 4],
    [10, 6, 9, 15, 5],
    [11, 5, 5, 11, 2],
    [11, 6, 6, 11, 3],
    [13, 3, 6, 26, 1],
    [13, 4, 4, 13, 1],
    [13, 9, 9, 13, 6],
  ])(
    'of %i samples by %i (Cochran & Cox 1957, table 11.3, from memory)',
    (samples, perBlock, r, b, lambda) => {
      const design = incompleteBlockDesign({ samples, perBlock });
      expect(design).toMatchObject({ timesServed: r, timesTogether: lambda });
      expect(design.blocks).toHaveLength(b);
    },
  );

  test.each(sizes)(
    '$samples by $perBlock: each pair counted one by one, and no more blocks than must be',
    (size) => {
      const { samples, perBlock } = size;
      const { blocks, timesServed, timesTogether } = incompleteBlockDesign(size);
      for (const block of blocks) {
        expect(block).toHaveLength(perBlock);
        expect(new Set(block).size).toBe(perBlock);
        expect(block.every((sample) => Number.isInteger(sample) && sample >= 0 && sample < samples)).toBe(
          true,
        );
      }
      const { pairs, served } = counts(blocks);
      expect(served.size).toBe(samples);
      expect(new Set(served.values())).toEqual(new Set([timesServed]));
      expect(pairs.size).toBe((samples * (samples - 1)) / 2);
      expect(new Set(pairs.values())).toEqual(new Set([timesTogether]));
      expect(blocks).toHaveLength(fewestBlocks(size));
    },
  );

  test.each([
    { samples: 2, perBlock: 2 },
    { samples: 14, perBlock: 4 },
    { samples: 6, perBlock: 6 },
    { samples: 6, perBlock: 1 },
    { samples: 6, perBlock: 2.5 },
  ])('is refused for $samples samples by $perBlock', (size) => {
    expect(() => incompleteBlockDesign(size)).toThrow(RangeError);
    expect(() => fewestBlocks(size)).toThrow(RangeError);
  });
});

describe('dealt blocks', () => {
  test.each(sizes)(
    '$samples by $perBlock balance pairs, servings and places in every whole design',
    (size) => {
      const { samples, perBlock } = size;
      const { blocks, timesServed, timesTogether } = incompleteBlockDesign(size);
      const orders = deal(samples, perBlock, 2 * blocks.length, samples);
      for (const whole of [orders.slice(0, blocks.length), orders.slice(blocks.length)]) {
        const { pairs, served } = counts(whole);
        expect(new Set(served.values())).toEqual(new Set([timesServed]));
        expect(pairs.size).toBe((samples * (samples - 1)) / 2);
        expect(new Set(pairs.values())).toEqual(new Set([timesTogether]));
        expect(placeSpread(whole, samples, perBlock)).toBe(timesServed % perBlock === 0 ? 0 : 1);
      }
    },
  );

  test('lose little when the last seats stay empty', () => {
    fc.assert(
      fc.property(fc.constantFrom(...sizes), fc.nat(), ({ samples, perBlock }, number) => {
        const orders = deal(
          samples,
          perBlock,
          incompleteBlockDesign({ samples, perBlock }).blocks.length,
          number,
        );
        for (let seats = 1; seats <= orders.length; seats++) {
          const { served } = counts(orders.slice(0, seats));
          const times = ids(samples).map((id) => served.get(id) ?? 0);
          expect(Math.max(...times) - Math.min(...times)).toBeLessThanOrEqual(3);
        }
      }),
      { numRuns: 60 },
    );
  });

  test('are the same again from the same seed, another from another, and those of fewer seats a prefix', () => {
    expect(deal(9, 4, 25)).toEqual(deal(9, 4, 25));
    expect(deal(9, 4, 25)).not.toEqual(deal(9, 4, 25, 2));
    expect(deal(9, 4, 5)).toEqual(deal(9, 4, 25).slice(0, 5));
    expect(deal(9, 4, 0)).toEqual([]);
  });

  test('at each place of the first seat every sample is equally likely', () => {
    const drawn = Array.from({ length: 1800 }, (_, number) => deal(7, 3, 1, number)[0] ?? []);
    for (const place of [0, 1, 2]) {
      const tally = ids(7).map((id) => drawn.filter((order) => order[place] === id).length);
      expect(chiSquare(tally)).toBeLessThan(UPPER_MILLIONTH[6]);
    }
  });

  test.each([
    ['a sample twice', { samples: ['maple', 'maple', 'birch'] }],
    ['two samples', { samples: ids(2) }],
    ['all samples in a block', { perBlock: 7 }],
    ['half a seat', { seats: 0.5 }],
    ['1001 seats', { seats: 1001 }],
  ])('are refused for %s', (_, bad) => {
    const good = { samples: ids(7), perBlock: 3, seats: 7, random: seededRandom(seedOf(1)) };
    expect(() => drawIncompleteBlocks({ ...good, ...bad })).toThrow(RangeError);
  });
});
