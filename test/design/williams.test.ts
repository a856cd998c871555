import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { drawWilliamsOrders, orderBalance, williamsSquare } from '@oddglass/shared/design/williams.ts';
import { named, referenceCase, referenceIds } from '../stats/reference-case.ts';
import { chiSquare, seedOf, UPPER_MILLIONTH } from './chance.ts';

const ids = (count: number) => Array.from({ length: count }, (_, at) => `sample ${at + 1}`);
const balanceOf = (rows: number[][]) =>
  orderBalance({
    samples: ids(rows[0]?.length ?? 0),
    orders: rows.map((row) => row.map((at) => `sample ${at + 1}`)),
  });
const deal = (samples: number, seats: number, number = 1) =>
  drawWilliamsOrders({ samples: ids(samples), seats, random: seededRandom(seedOf(number)) });

describe('a Williams square', () => {
  const cases = referenceIds('williams-').map((id) =>
    referenceCase<
      { n_samples: number },
      {
        n_sequences: number;
        each_treatment_per_position: number;
        each_ordered_pair_adjacent: number;
        self_adjacent: number;
        example_design: number[][];
      }
    >(id),
  );
  test('is published for five sizes', () => expect(cases).toHaveLength(5));

  test.each(cases.map((one) => [named(one), one] as const))('%s', (_, { input, expected }) => {
    const rows = williamsSquare(input.n_samples);
    expect(rows).toHaveLength(expected.n_sequences);
    for (const square of [rows, expected.example_design.map((row) => row.map((sample) => sample - 1))]) {
      const { places, carryOver } = balanceOf(square);
      expect(new Set(places.flat())).toEqual(new Set([expected.each_treatment_per_position]));
      carryOver.forEach((row, before) => {
        row.forEach((count, after) => {
          expect(count).toBe(before === after ? expected.self_adjacent : expected.each_ordered_pair_adjacent);
        });
      });
    }
  });

  test('is balanced in every size from 2 to 40', () => {
    for (let samples = 2; samples <= 40; samples++) {
      const rows = williamsSquare(samples);
      expect(rows).toHaveLength(samples % 2 === 0 ? samples : 2 * samples);
      for (const row of rows) expect(new Set(row).size).toBe(samples);
      expect(balanceOf(rows)).toMatchObject({ placeSpread: 0, carryOverSpread: 0 });
    }
  });

  test.each([0, 1, 41, 2.5, Number.NaN])('is refused for %d samples', (samples) => {
    expect(() => williamsSquare(samples)).toThrow(RangeError);
  });
});

describe('dealt orders', () => {
  test('balance places to within one after every seat, and carry-over after every square', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 9 }), fc.nat(), (samples, number) => {
        const size = samples % 2 === 0 ? samples : 2 * samples;
        const orders = deal(samples, 2 * size + 3, number);
        for (let seats = 1; seats <= orders.length; seats++) {
          const balance = orderBalance({ samples: ids(samples), orders: orders.slice(0, seats) });
          expect(balance.placeSpread).toBeLessThanOrEqual(1);
          if (seats % size === 0) expect(balance).toMatchObject({ placeSpread: 0, carryOverSpread: 0 });
        }
      }),
      { numRuns: 40 },
    );
  });

  test('are the same again from the same seed, another from another, and those of fewer seats a prefix', () => {
    expect(deal(6, 20)).toEqual(deal(6, 20));
    expect(deal(6, 20)).not.toEqual(deal(6, 20, 2));
    expect(deal(5, 7)).toEqual(deal(5, 23).slice(0, 7));
    expect(deal(5, 0)).toEqual([]);
  });

  test('stay what a stored seed once gave', () => {
    // No outside source: it pins the drawing as it is.
    expect(deal(4, 4, 2026).map((order) => order.map((id) => id.slice(-1)).join(''))).toEqual([
      '4132',
      '2314',
      '3421',
      '1243',
    ]);
  });

  test('every sample is equally likely to come first and to follow another at a seat', () => {
    const drawn = Array.from({ length: 1800 }, (_, number) => deal(3, 2, number)[1] ?? []);
    const tally = (values: string[], all: string[]) =>
      all.map((one) => values.filter((value) => value === one).length);
    expect(
      chiSquare(
        tally(
          drawn.map(([first = '']) => first),
          ids(3),
        ),
      ),
    ).toBeLessThan(UPPER_MILLIONTH[2]);
    const orders = ['123', '132', '213', '231', '312', '321'];
    const said = drawn.map((order) => order.map((id) => id.slice(-1)).join(''));
    expect(chiSquare(tally(said, orders))).toBeLessThan(UPPER_MILLIONTH[5]);
  });

  test.each([
    ['one sample', { samples: ids(1) }],
    ['41 samples', { samples: ids(41) }],
    ['a sample twice', { samples: ['maple', 'maple'] }],
    ['half a seat', { seats: 0.5 }],
    ['fewer than no seats', { seats: -1 }],
    ['1001 seats', { seats: 1001 }],
  ])('are refused for %s', (_, bad) => {
    const good = { samples: ids(4), seats: 4, random: seededRandom(seedOf(1)) };
    expect(() => drawWilliamsOrders({ ...good, ...bad })).toThrow(RangeError);
  });
});

describe('realised balance', () => {
  test('is counted by hand in a short case, gaps included', () => {
    const balance = orderBalance({ samples: ['a', 'b', 'c'], orders: [['a', 'b', 'c'], ['b', 'a'], ['c']] });
    expect(balance.places).toEqual([
      [1, 1, 0],
      [1, 1, 0],
      [1, 0, 1],
    ]);
    expect(balance.carryOver).toEqual([
      [0, 1, 0],
      [1, 0, 1],
      [0, 0, 0],
    ]);
    expect(balance).toMatchObject({ placeSpread: 1, carryOverSpread: 1 });
  });

  test('has nothing to say of nothing', () => {
    expect(orderBalance({ samples: [], orders: [] })).toEqual({
      places: [],
      carryOver: [],
      placeSpread: 0,
      carryOverSpread: 0,
    });
  });

  test('refuses a sample it was not told of, or told twice', () => {
    expect(() => orderBalance({ samples: ['a'], orders: [['b']] })).toThrow(RangeError);
    expect(() => orderBalance({ samples: ['a', 'a'], orders: [] })).toThrow(RangeError);
  });
});
