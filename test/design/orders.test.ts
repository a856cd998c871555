import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { dealOrders, drawBlock, pickOne, worstCaseOfOrders } from '@oddglass/shared/design/orders.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { TRIANGLE_ORDERS } from '@oddglass/shared/kinds/triangle.ts';
import { seedOf } from './chance.ts';

const letters = (count: number) => Array.from({ length: count }, (_, at) => String.fromCharCode(97 + at));

/** Most less least of how often each order occurs. */
function spread(orders: readonly string[], all: readonly string[]): number {
  const counts = all.map((one) => orders.filter((order) => order === one).length);
  expect(counts.reduce((sum, count) => sum + count, 0)).toBe(orders.length);
  return Math.max(...counts) - Math.min(...counts);
}

/** Balanced after every seat, over all trays and within each replicate, and no order again before its time. */
function expectBalanced(rows: readonly string[][], all: readonly string[]): void {
  const replicates = rows[0]?.length ?? 0;
  for (let seats = 1; seats <= rows.length; seats++) {
    const prefix = rows.slice(0, seats);
    expect(spread(prefix.flat(), all)).toBeLessThanOrEqual(1);
    for (let tray = 0; tray < replicates; tray++) {
      expect(
        spread(
          prefix.map((row) => row[tray] ?? ''),
          all,
        ),
      ).toBeLessThanOrEqual(1);
    }
  }
  for (const row of rows) expect(spread(row, all)).toBeLessThanOrEqual(1);
}

const sizes = Array.from({ length: 12 }, (_, at) => at + 2).flatMap((count) =>
  [1, 2, 3, 4].map((replicates) => ({ count, replicates })),
);

describe('dealt orders', () => {
  test.each(sizes)('$count of them, $replicates to a seat, are balanced after every seat', (size) => {
    const all = letters(size.count);
    for (let number = 0; number < 4; number++) {
      const random = seededRandom(seedOf(number));
      expectBalanced(dealOrders(random, { orders: all, seats: 31, replicates: size.replicates }), all);
    }
  });

  test('are a prefix of those of more seats', () => {
    const deal = (seats: number) =>
      dealOrders(seededRandom(seedOf(3)), { orders: TRIANGLE_ORDERS, seats, replicates: 3 });
    expect(deal(0)).toEqual([]);
    for (let seats = 1; seats < 30; seats++) expect(deal(seats)).toEqual(deal(30).slice(0, seats));
  });
});

describe('a block', () => {
  /** The block with its orders numbered as they appear: the same for two blocks that differ in labels only. */
  const shape = (rows: readonly (readonly string[])[]): string => {
    const seen: string[] = [];
    return rows
      .flatMap((row) =>
        row.map((order) => (seen.includes(order) ? 0 : seen.push(order), seen.indexOf(order))),
      )
      .join();
  };

  test.each(sizes)('of $count seats by $replicates is right when the search is given up at once', (size) => {
    const all = letters(size.count);
    const labels = new Set<string>();
    for (let number = 0; number < 30; number++) {
      const rows = drawBlock(seededRandom(seedOf(number)), all, size.replicates, 0);
      expect(rows).toHaveLength(size.count);
      expectBalanced(rows, all);
      labels.add(rows.join());
    }
    // Two orders have two labellings, three have six.
    expect(labels.size).toBeGreaterThanOrEqual(size.count === 2 ? 2 : size.count === 3 ? 5 : 15);
  });

  // With two trays each, the first three seats use up the six orders, so the other three have those of the first
  // column in the second and the other way round: 3! * 3! shapes. With more there are too many to count here.
  test.each([
    [2, 36],
    [3, 150],
    [4, 150],
  ])(
    'of triangles comes from the search, not from the spare one: %i trays have at least %i shapes',
    (replicates, least) => {
      const draw = (number: number, steps?: number) =>
        shape(drawBlock(seededRandom(seedOf(number)), TRIANGLE_ORDERS, replicates, steps));
      const spare = draw(0, 0);
      const shapes = Array.from({ length: 400 }, (_, number) => draw(number));
      expect(new Set(shapes).size).toBeGreaterThanOrEqual(least);
      if (replicates === 2) expect(new Set(shapes).size).toBe(36);
      expect(shapes.filter((one) => one === spare).length).toBeLessThan(40);
    },
  );
});

describe('cups at worst', () => {
  test('are those of the most lopsided orders that may be left over, counted one by one', () => {
    for (const orders of [
      TRIANGLE_ORDERS,
      ['AAB', 'ABA', 'BAB', 'BBA'],
      ['AB', 'BA'],
      ['AAB', 'ABA', 'BAA'],
    ]) {
      for (let trays = 0; trays <= 40; trays++) {
        for (const letter of ['A', 'B']) {
          const cups = (chosen: readonly string[]) =>
            Array.from(chosen.join('')).filter((cup) => cup === letter).length;
          // Whole sets hold every order; what is left over holds some of them, each once: try every choice.
          let worst = 0;
          for (let choice = 0; choice < 2 ** orders.length; choice++) {
            const left = orders.filter((_, at) => (choice >> at) % 2 === 1);
            if (left.length === trays % orders.length) worst = Math.max(worst, cups(left));
          }
          const whole = Math.floor(trays / orders.length) * cups(orders);
          expect(worstCaseOfOrders(orders, letter, trays)).toBe(whole + worst);
        }
      }
    }
  });
});

test('one of several is any of them', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 9 }), fc.nat(), (count, number) => {
      expect(letters(count)).toContain(pickOne(seededRandom(seedOf(number)), letters(count)));
    }),
  );
  expect(() => pickOne(seededRandom(seedOf(1)), [])).toThrow(RangeError);
});
