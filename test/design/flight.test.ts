import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { apartBlocks } from '@oddglass/shared/design/apart.ts';
import { cyclicSquares } from '@oddglass/shared/design/cyclic-orders.ts';
import { checkApart, drawFlightOrders, NotApartError } from '@oddglass/shared/design/flight.ts';
import { type FlightSample } from '@oddglass/shared/design/flight-sample.ts';
import { incompleteBlockDesign } from '@oddglass/shared/design/incomplete-blocks.ts';
import { KNOWN_SQUARES } from '@oddglass/shared/design/known-squares.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { chiSquare, seedOf, UPPER_MILLIONTH } from './chance.ts';

/** Samples of liquids with so many cups each. */
const cupsOf = (...counts: number[]): FlightSample[] =>
  counts.flatMap((count, liquid) =>
    Array.from({ length: count }, (_, cup) => ({ id: `${liquid}.${cup}`, sameAs: `liquid ${liquid}` })),
  );
const pairsAmong = (cups: number, pairs: number): FlightSample[] =>
  cupsOf(...Array<number>(pairs).fill(2), ...Array<number>(cups - 2 * pairs).fill(1));

const draw = (
  samples: readonly FlightSample[],
  seats: number,
  number = 1,
  replicates = 1,
  cupsEach: number | null = null,
) => drawFlightOrders({ samples, cupsEach, seats, replicates, random: seededRandom(seedOf(number)) });
const column = (rows: readonly string[][][], tray: number): string[][] => rows.map((row) => row[tray] ?? []);

interface Balance {
  /** Most less least over samples and places. */
  places: number;
  /** Most less least over ordered pairs of different liquids. */
  carryOver: number;
  /** Times that two cups of one liquid stood side by side. */
  touching: number;
}

/** Balance after each seat, counted without the code's own help. */
function balances(samples: readonly FlightSample[], orders: readonly (readonly string[])[]): Balance[] {
  const liquid = new Map(samples.map(({ id, sameAs }) => [id, sameAs]));
  const places = new Map<string, number>();
  const pairs = new Map<string, number>();
  for (const { id } of samples) {
    for (let place = 0; place < (orders[0]?.length ?? 0); place++) places.set(`${id} ${place}`, 0);
    for (const other of samples) if (liquid.get(id) !== other.sameAs) pairs.set(`${id} ${other.id}`, 0);
  }
  let touching = 0;
  const spread = (counts: Iterable<number>) => Math.max(...counts) - Math.min(...counts);
  return orders.map((order) => {
    order.forEach((id, place) => {
      places.set(`${id} ${place}`, (places.get(`${id} ${place}`) ?? NaN) + 1);
      const before = order[place - 1];
      if (before === undefined) return;
      if (liquid.get(before) === liquid.get(id)) touching += 1;
      else pairs.set(`${before} ${id}`, (pairs.get(`${before} ${id}`) ?? NaN) + 1);
    });
    const all = [...pairs.values()];
    return {
      places: spread([...places.values()]),
      carryOver: all.length > 0 ? spread(all) : 0,
      touching,
    };
  });
}

const everySample = (samples: readonly FlightSample[], orders: readonly (readonly string[])[]): void => {
  const ids = samples.map(({ id }) => id).toSorted();
  for (const order of orders) expect(order.toSorted()).toEqual(ids);
};
const SIZES = Array.from({ length: 11 }, (_, at) => at + 2);

describe('a flight without duplicates', () => {
  test.each(SIZES)('of %i samples balances places and carry-over after each of 60 seats', (size) => {
    const samples = pairsAmong(size, 0);
    for (let number = 0; number < 5; number++) {
      const orders = column(draw(samples, 60, number), 0);
      everySample(samples, orders);
      balances(samples, orders).forEach(({ places, carryOver }, at) => {
        expect(places).toBeLessThanOrEqual(1);
        // No Latin square of 3, 5 or 7 rows has every ordered pair once (Denes & Keedwell 1974, Latin Squares and their
        // Applications, from memory; of 3 and 5 rows every square was looked at): after that many seats two is the least.
        expect(carryOver).toBeLessThanOrEqual(size % 2 === 0 ? 1 : 2);
        if ((at + 1) % (size % 2 === 0 ? size : 2 * size) === 0) {
          expect({ places, carryOver }).toEqual({ places: 0, carryOver: 0 });
        }
      });
    }
  });

  test.each(SIZES)('of %i samples does so in each of four replicates, and repeats no order early', (size) => {
    const samples = pairsAmong(size, 0);
    const rows = draw(samples, 4 * size, size, 4);
    for (const tray of [0, 1, 2, 3]) {
      for (const { places, carryOver } of balances(samples, column(rows, tray))) {
        expect(places).toBeLessThanOrEqual(1);
        expect(carryOver).toBeLessThanOrEqual(size % 2 === 0 ? 1 : 2);
      }
    }
    for (const row of rows) {
      // Two samples have but two orders.
      expect(new Set(row.map(String)).size).toBe(size === 2 ? 2 : 4);
      expect(String(row[0])).not.toBe(String(row[1]));
    }
    // Even numbers are balanced over all trays as well.
    if (size % 2 === 0) {
      for (let seats = 1; seats <= rows.length; seats++) {
        const { places, carryOver } = balances(samples, rows.slice(0, seats).flat()).at(-1) as Balance;
        expect(Math.max(places, carryOver)).toBeLessThanOrEqual(1);
      }
    }
  });
});

describe('a flight with hidden duplicates', () => {
  const sizes = SIZES.filter((cups) => cups >= 4).flatMap((cups) =>
    Array.from({ length: Math.floor(cups / 2) }, (_, at) => [cups, at + 1] as const),
  );

  test.each(sizes)(
    'of %i cups, %i liquids twice: never side by side, places within one after every seat',
    (cups, pairs) => {
      const samples = pairsAmong(cups, pairs);
      for (let number = 0; number < 6; number++) {
        const rows = draw(samples, 4 * cups + 1, number, 2);
        for (const tray of [0, 1]) {
          const orders = column(rows, tray);
          everySample(samples, orders);
          balances(samples, orders).forEach(({ places, touching }, at) => {
            expect(touching).toBe(0);
            expect(places).toBeLessThanOrEqual(1);
            if ((at + 1) % cups === 0) expect(places).toBe(0);
          });
        }
        for (const row of rows) expect(String(row[0])).not.toBe(String(row[1]));
      }
    },
  );

  test.each([4, 6, 8, 10, 12])(
    'of every sample twice, %i cups: carry-over within one after each block',
    (cups) => {
      const samples = pairsAmong(cups, cups / 2);
      for (let number = 0; number < 12; number++) {
        balances(samples, column(draw(samples, 8 * cups, number), 0)).forEach(({ carryOver }, at) => {
          if ((at + 1) % cups === 0) expect(carryOver).toBeLessThanOrEqual(1);
          expect(carryOver).toBeLessThanOrEqual(3);
        });
      }
    },
  );

  // Most less least of carry-over that is reached after one, two, three and four blocks. It has to grow: where only some
  // samples are served twice, equal places and apart duplicates let the others meet less. By linear programming over all
  // orders (SciPy 1.17.1, linprog, HiGHS) no drawing, however long, grows by less than this for each block:
  // 4 cups, 1 twice 1.5; 5: 0.667, 0.5; 6: 0.417, 0.5; 7: 0.3, 0.5, 0.25. And by looking at every square of 4 to 6 cups, no
  // first block has less than the first number here.
  test.each([
    [4, 1, [2, 3, 5, 6]],
    [5, 1, [2, 2, 3, 4]],
    [5, 2, [3, 1, 4, 2]],
    [6, 1, [2, 2, 2, 3]],
    [6, 2, [1, 1, 2, 2]],
    [7, 1, [2, 3, 3, 3]],
    [7, 2, [2, 2, 2, 3]],
    [7, 3, [2, 3, 3, 3]],
    [8, 1, [2, 2, 2, 3]],
    [8, 2, [2, 2, 3, 4]],
    [8, 3, [2, 2, 2, 4]],
    [9, 2, [2, 3, 4, 5]],
    [10, 3, [2, 3, 4, 4]],
    [12, 4, [2, 3, 4, 5]],
  ])('of %i cups, %i liquids twice: carry-over as even as %j', (cups, pairs, most) => {
    const samples = pairsAmong(cups, pairs);
    for (let number = 0; number < 12; number++) {
      const after = balances(samples, column(draw(samples, 4 * cups, number), 0));
      most.forEach((limit, block) => {
        expect(after[(block + 1) * cups - 1]?.carryOver).toBeLessThanOrEqual(limit);
      });
    }
  });

  test('in any mixture that can be kept apart keeps them apart, with each sample in each place', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 1, max: 4 }), { minLength: 2, maxLength: 9 }),
        fc.nat(),
        (counts, number) => {
          const cups = counts.reduce((sum, count) => sum + count, 0);
          const most = Math.max(...counts);
          fc.pre(cups <= 13 && most <= Math.ceil(cups / 2));
          const samples = cupsOf(...counts);
          const orders = column(draw(samples, 2 * cups, number), 0);
          everySample(samples, orders);
          balances(samples, orders).forEach(({ places, touching }) => {
            expect(touching).toBe(0);
            if (2 * most <= cups) expect(places).toBeLessThanOrEqual(1);
          });
        },
      ),
      { numRuns: 80 },
    );
  });

  test('of one liquid in every other place turns its cups and the others round', () => {
    for (const samples of [cupsOf(2, 1), cupsOf(3, 1, 1), cupsOf(3, 2)]) {
      const orders = column(draw(samples, 12, 3), 0);
      everySample(samples, orders);
      const counts = new Map<string, number>();
      for (const order of orders) {
        order.forEach((id, place) => {
          expect(id.startsWith('0.')).toBe(place % 2 === 0);
          counts.set(`${id} ${place}`, (counts.get(`${id} ${place}`) ?? 0) + 1);
        });
      }
      const [outer, inner] = [
        [...counts].filter(([key]) => key.startsWith('0.')),
        [...counts].filter(([key]) => !key.startsWith('0.')),
      ];
      expect(new Set(outer.map(([, count]) => count)).size).toBe(1);
      expect(new Set(inner.map(([, count]) => count)).size).toBe(1);
    }
  });

  test('at a seat every sample is equally likely to come first', () => {
    const samples = pairsAmong(7, 2);
    const drawn = Array.from({ length: 1400 }, (_, number) => draw(samples, 3, number)[2]?.[0]?.[0]);
    const tally = samples.map(({ id }) => drawn.filter((first) => first === id).length);
    expect(chiSquare(tally)).toBeLessThan(UPPER_MILLIONTH[6]);
  });

  test('is the same again from the same seed, and of fewer seats a prefix', () => {
    const samples = pairsAmong(8, 4);
    expect(draw(samples, 20, 4, 2)).toEqual(draw(samples, 20, 4, 2));
    expect(draw(samples, 20, 4)).not.toEqual(draw(samples, 20, 5));
    expect(draw(samples, 5, 4, 2)).toEqual(draw(samples, 20, 4, 2).slice(0, 5));
  });

  test.each([
    [8, 4],
    [12, 6],
    [13, 3],
    [13, 6],
  ])(
    'of %i cups, %i liquids twice, takes one bounded search, and then a few draws for each cup',
    (cups, pairs) => {
      // Every step of the search draws: the count says what it costs, on any machine.
      const drawsFor = (seats: number, number: number): number => {
        const source = seededRandom(seedOf(number));
        let draws = 0;
        const bytes = (count: number) => {
          draws += 1;
          return source.bytes(count);
        };
        const samples = pairsAmong(cups, pairs);
        drawFlightOrders({ samples, cupsEach: null, seats, replicates: 1, random: { bytes } });
        return draws;
      };
      for (const number of [1, 2, 3]) {
        const [table, room, hall] = [26, 150, 300].map((seats) => drawsFor(seats, number)) as [
          number,
          number,
          number,
        ];
        expect(table).toBeLessThan(150_000);
        expect((hall - room) / (150 * cups)).toBeGreaterThan(1);
        expect((hall - room) / (150 * cups)).toBeLessThan(6);
      }
    },
  );
});

describe('an incomplete flight with hidden duplicates', () => {
  test.each([
    [4, 1, 3, 1],
    [5, 1, 3, 1],
    [5, 1, 4, 2],
    [5, 2, 4, 2],
    [6, 2, 4, 1],
    [6, 3, 4, 1],
    [7, 3, 4, 2],
    [8, 4, 4, 2],
    [8, 4, 6, 2],
    [12, 6, 5, 2],
  ])(
    'of %i cups, %i liquids twice, %i each: apart always, places within %i in a whole design',
    (cups, pairs, each, limit) => {
      const samples = pairsAmong(cups, pairs);
      const { blocks, timesServed, timesTogether } = incompleteBlockDesign({ samples: cups, perBlock: each });
      for (let number = 0; number < 6; number++) {
        const rows = draw(samples, blocks.length + 3, number, 2, each);
        for (const tray of [0, 1]) {
          const orders = column(rows, tray);
          const after = balances(samples, orders);
          expect(after.at(-1)?.touching).toBe(0);
          expect(after[blocks.length - 1]?.places).toBeLessThanOrEqual(limit);
          const whole = orders.slice(0, blocks.length);
          for (const { id } of samples) {
            const own = whole.filter((order) => order.includes(id));
            expect(own).toHaveLength(timesServed);
            for (const other of samples) {
              if (other.id === id) continue;
              expect(own.filter((order) => order.includes(other.id))).toHaveLength(timesTogether);
            }
          }
        }
      }
    },
  );
});

test.each([
  [4, 0, 3],
  [5, 0, 2],
  [6, 2, 4],
  [8, 4, 5],
])(
  'incomplete flights of %i cups, %i liquids twice, %i each: no order twice at a seat, and fewer seats a prefix',
  (cups, pairs, each) => {
    const samples = pairsAmong(cups, pairs);
    for (let number = 0; number < 8; number++) {
      const rows = draw(samples, 60, number, 3, each);
      expect(rows).toHaveLength(60);
      for (const row of rows) expect(new Set(row.map(String)).size).toBe(3);
      for (const seats of [1, 9, 31])
        expect(draw(samples, seats, number, 3, each)).toEqual(rows.slice(0, seats));
    }
  },
);

describe('keeping apart', () => {
  test.each([
    ['two cups of one arm', cupsOf(2), null],
    ['three of five cups of one arm in four places', cupsOf(3, 1), null],
    ['four of six', cupsOf(4, 1, 1), null],
    ['two each of which both may be the same', cupsOf(2, 1, 1, 1), 2],
    ['three each of which all may be the same', cupsOf(3, 1, 1, 1), 3],
  ] as const)('is refused for %s, in a sentence', (_, samples, cupsEach) => {
    for (const attempt of [
      () => checkApart(samples, cupsEach),
      () => drawFlightOrders({ samples, cupsEach, seats: 4, replicates: 1, random: seededRandom(seedOf(1)) }),
    ]) {
      expect(attempt).toThrow(NotApartError);
      expect(attempt).toThrow(/side by side/);
    }
  });

  test('stands on squares that are Latin and apart, each of those known', () => {
    for (const [kind, squares] of Object.entries(KNOWN_SQUARES)) {
      const [size = 0, pairs = 0] = kind.split(' ').map(Number);
      for (const square of squares) {
        const rows = square.split(' ');
        expect(rows).toHaveLength(size);
        const columns = Array.from({ length: size }, (_, place) => rows.map((row) => row.charAt(place)));
        for (const line of [...rows.map((row) => [...row]), ...columns]) {
          expect(line.toSorted().join('')).toBe('01234567'.slice(0, size));
        }
        for (let liquid = 0; liquid < pairs; liquid++) {
          const [a, b] = [String(2 * liquid), String(2 * liquid + 1)];
          for (const row of rows) expect(row.includes(a + b) || row.includes(b + a)).toBe(false);
        }
      }
    }
  });

  test('has no cyclic square where one liquid fills more than half', () => {
    expect(() => cyclicSquares(seededRandom(seedOf(1)), [3, 1, 1])).toThrow(RangeError);
    expect(apartBlocks(seededRandom(seedOf(1)), pairsAmong(9, 1))()).toHaveLength(9);
  });
});
