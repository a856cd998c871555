import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { canonicalJson } from '@oddglass/shared/design/canonical-json.ts';
import { CODE_POOL } from '@oddglass/shared/design/codes.ts';
import { seededRandom } from '@oddglass/shared/design/random.ts';
import {
  cupsPerSample,
  drawBlock,
  drawTrianglePlan,
  TRIANGLE_ORDERS,
  worstCaseCups,
  type PlannedTray,
  type TrianglePlan,
} from '@oddglass/shared/design/triangle.ts';
import { chiSquare, seedOf, UPPER_MILLIONTH } from './chance.ts';
import { sha256Hex } from './plain-tree.ts';

const SAMPLES = ['maple', 'birch'] as const;
const plan = (seats: number, replicates: number, number = 1): TrianglePlan =>
  drawTrianglePlan({ seats, replicates, sampleIds: SAMPLES, seed: seedOf(number) });

/** The order of a tray with 'A' for maple: which letter a sample has changes nothing about balance. */
const orderOf = (tray: PlannedTray): string =>
  tray.servings.map(({ sampleId }) => (sampleId === 'maple' ? 'A' : 'B')).join('');
const traysOf = ({ seats }: TrianglePlan): PlannedTray[] => seats.flatMap(({ trays }) => trays);
const oddPosition = (order: string): number =>
  Array.from(order).findIndex((letter) => order.indexOf(letter) === order.lastIndexOf(letter));

/** Most less least of how often each of the six orders occurs. */
function spread(orders: readonly string[]): number {
  const counts = TRIANGLE_ORDERS.map((order) => orders.filter((other) => other === order).length);
  expect(counts.reduce((sum, count) => sum + count, 0)).toBe(orders.length);
  return Math.max(...counts) - Math.min(...counts);
}

function expectBalanced(drawn: TrianglePlan, replicates: number): void {
  const rows = drawn.seats.map(({ trays }) => trays.map(orderOf));
  for (let seats = 1; seats <= rows.length; seats++) {
    const prefix = rows.slice(0, seats);
    expect(spread(prefix.flat())).toBeLessThanOrEqual(1);
    for (let tray = 0; tray < replicates; tray++) {
      expect(spread(prefix.map((row) => row[tray] as string))).toBeLessThanOrEqual(1);
    }
  }
  for (const row of rows) expect(new Set(row).size).toBe(replicates);
}

describe('a triangle plan', () => {
  test('is balanced to within one for every number of seats from 1 to 60 and every 1 to 4 replicates', () => {
    // Every prefix of 60 seats is looked at, and a plan of fewer seats has to be a prefix of the same rows.
    for (let replicates = 1; replicates <= 4; replicates++) {
      const whole = plan(60, replicates, replicates);
      expectBalanced(whole, replicates);
      const rows = whole.seats.map(({ trays }) => trays.map(orderOf));
      for (let seats = 1; seats < 60; seats++) {
        const smaller = plan(seats, replicates, replicates).seats.map(({ trays }) => trays.map(orderOf));
        expect(smaller).toEqual(rows.slice(0, seats));
      }
    }
  });

  test('is balanced at every prefix whatever the seed', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 60 }),
        fc.integer({ min: 1, max: 4 }),
        fc.nat(2 ** 31),
        (seats, replicates, number) => expectBalanced(plan(seats, replicates, number), replicates),
      ),
      { numRuns: 60 },
    );
  });

  test('has every seat, tray, cup and position once, with two cups of one sample and one of the other', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 400 }),
        fc.integer({ min: 1, max: 4 }),
        fc.nat(),
        (seats, replicates, number) => {
          const drawn = plan(seats, replicates, number);
          expect(drawn.seats.map((seat) => seat.number)).toEqual(
            Array.from({ length: seats }, (_, at) => at + 1),
          );
          for (const { trays } of drawn.seats) {
            expect(trays.map(({ replicate }) => replicate)).toEqual([1, 2, 3, 4].slice(0, replicates));
            for (const { servings } of trays) {
              expect(servings.map(({ position }) => position)).toEqual([1, 2, 3]);
              expect(new Set(servings.map(({ sampleId }) => sampleId)).size).toBe(2);
            }
          }
          const ids = traysOf(drawn).flatMap(({ id, servings }) => [id, ...servings.map((cup) => cup.id)]);
          expect(new Set(ids).size).toBe(seats * replicates * 4);
          // Ids say nothing of the place.
          if (ids.length > 40) expect(ids.toSorted()).not.toEqual(ids);
        },
      ),
      { numRuns: 25 },
    );
  });

  test('has codes that are unique while they last and never twice at one seat', () => {
    const drawn = plan(200, 4);
    const codes = traysOf(drawn).flatMap(({ servings }) => servings.map(({ code }) => code));
    expect(codes).toHaveLength(2400);
    expect(codes.every((code) => CODE_POOL.includes(code))).toBe(true);
    expect(new Set(codes.slice(0, CODE_POOL.length)).size).toBe(CODE_POOL.length);
    for (const { trays } of drawn.seats) {
      expect(new Set(trays.flatMap(({ servings }) => servings.map(({ code }) => code))).size).toBe(12);
    }
    const small = traysOf(plan(52, 4)).flatMap(({ servings }) => servings.map(({ code }) => code));
    expect(new Set(small).size).toBe(624);
  });

  test('is the same again from the same seed, and another from another', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 30 }),
        fc.integer({ min: 1, max: 4 }),
        fc.nat(),
        (seats, trays, number) => {
          const drawn = plan(seats, trays, number);
          expect(plan(seats, trays, number)).toEqual(drawn);
          const other = plan(seats, trays, number + 1);
          expect(other.seats[0]?.trays[0]?.id).not.toBe(drawn.seats[0]?.trays[0]?.id);
          expect(other).not.toEqual(drawn);
        },
      ),
      { numRuns: 40 },
    );
    const arrangements = Array.from({ length: 50 }, (_, number) =>
      traysOf(plan(12, 2, number))
        .map(orderOf)
        .join(),
    );
    expect(new Set(arrangements).size).toBe(50);
  });

  test('stays what a stored seed once gave', () => {
    // No outside source: it pins the drawing as it is. Should it have to change, old seeds no longer redraw
    // their plans, and that needs a version beside the seed.
    expect(sha256Hex(canonicalJson(plan(31, 4, 2026)))).toBe(
      '21745b55de2bace10f5439cbf9ce2236b617aa4e06c9177d38ebcb0fcb393c9e',
    );
  });

  test('leaves what it is given untouched', () => {
    const seed = seedOf(5);
    const sampleIds: [string, string] = ['maple', 'birch'];
    drawTrianglePlan({ seats: 7, replicates: 2, sampleIds, seed });
    expect(seed).toEqual(seedOf(5));
    expect(sampleIds).toEqual(['maple', 'birch']);
  });

  test.each([
    ['no seat', { seats: 0 }],
    ['401 seats', { seats: 401 }],
    ['half a seat', { seats: 1.5 }],
    ['no replicate', { replicates: 0 }],
    ['five replicates', { replicates: 5 }],
    ['replicates that are no number', { replicates: Number.NaN }],
    ['a short seed', { seed: new Uint8Array(31) }],
    ['one sample twice', { sampleIds: ['maple', 'maple'] as const }],
  ])('is refused for %s', (_, bad) => {
    const good = { seats: 6, replicates: 2, sampleIds: SAMPLES, seed: seedOf(1) };
    expect(() => drawTrianglePlan({ ...good, ...bad })).toThrow(RangeError);
  });
});

describe('chance in the plan', () => {
  // Fixed seeds, so no run differs from another; a fair draw would fail a check once in a million.
  const drawn = Array.from({ length: 1_800 }, (_, number) => plan(6, 4, number).seats);
  const places = [
    [1, 1],
    [1, 4],
    [4, 2],
    [6, 1],
    [6, 4],
  ] as const;

  test.each(places)(
    'at seat %i, tray %i, each order and each odd position is equally likely',
    (seat, tray) => {
      const orders = drawn.map((seats) => orderOf(seats[seat - 1]?.trays[tray - 1] as PlannedTray));
      const tally = <T>(values: readonly T[], all: readonly T[]) =>
        all.map((one) => values.filter((value) => value === one).length);
      expect(chiSquare(tally<string>(orders, TRIANGLE_ORDERS))).toBeLessThan(UPPER_MILLIONTH[5]);
      expect(chiSquare(tally(orders.map(oddPosition), [0, 1, 2]))).toBeLessThan(UPPER_MILLIONTH[2]);
      const odd = orders.map((order) => order[oddPosition(order)]);
      expect(chiSquare(tally(odd, ['A', 'B']))).toBeLessThan(UPPER_MILLIONTH[1]);
    },
  );
});

describe('a block of six seats', () => {
  const blockPlan = (rows: string[][]): TrianglePlan => ({
    seats: rows.map((orders, seat) => ({
      number: seat + 1,
      trays: orders.map((order, tray) => ({
        id: '',
        replicate: tray + 1,
        servings: Array.from(order, (letter, cup) => ({
          id: '',
          position: cup + 1,
          code: '',
          sampleId: letter === 'A' ? 'maple' : 'birch',
        })),
      })),
    })),
  });
  /** The block with its orders numbered as they appear: the same for two blocks that differ in labels only. */
  const shape = (rows: string[][]): string => {
    const seen: string[] = [];
    return rows
      .flatMap((row) =>
        row.map((order) => (seen.includes(order) ? 0 : seen.push(order), seen.indexOf(order))),
      )
      .join('');
  };

  test.each([1, 2, 3, 4])('is right with %i trays each when the search is given up at once', (replicates) => {
    const labels = new Set<string>();
    for (let number = 0; number < 60; number++) {
      const rows = drawBlock(seededRandom(seedOf(number)), replicates, 0);
      expect(rows.map((row) => row.length)).toEqual(Array<number>(6).fill(replicates));
      expectBalanced(blockPlan(rows), replicates);
      labels.add(rows.join());
    }
    expect(labels.size).toBeGreaterThan(40);
  });

  // With two trays each, the first three seats use up the six orders, so the other three have those of the first
  // column in the second and the other way round: 3! * 3! shapes. With more there are too many to count here.
  test.each([
    [2, 36],
    [3, 150],
    [4, 150],
  ])(
    'comes from the search, not from the spare one: %i trays each have at least %i shapes',
    (replicates, least) => {
      const spare = shape(drawBlock(seededRandom(seedOf(0)), replicates, 0));
      const shapes = Array.from({ length: 400 }, (_, number) =>
        shape(drawBlock(seededRandom(seedOf(number)), replicates)),
      );
      expect(new Set(shapes).size).toBeGreaterThanOrEqual(least);
      if (replicates === 2) expect(new Set(shapes).size).toBe(36);
      expect(shapes.filter((one) => one === spare).length).toBeLessThan(40);
    },
  );
});

describe('cups', () => {
  test('of one sample are never more than the worst case at any prefix, and sometimes as many', () => {
    for (let replicates = 1; replicates <= 4; replicates++) {
      const most = new Array<number>(13).fill(0);
      for (let number = 0; number < 150; number++) {
        const drawn = plan(12, replicates, number);
        for (let seats = 1; seats <= 12; seats++) {
          const cups = cupsPerSample(drawn, seats);
          expect([...cups.values()].reduce((sum, count) => sum + count, 0)).toBe(seats * replicates * 3);
          most[seats] = Math.max(most[seats] ?? 0, ...cups.values());
        }
      }
      const worst = most.map((_, seats) => worstCaseCups({ seats, replicates }));
      expect(most).toEqual(worst);
    }
  });

  test('at worst are those of the most lopsided orders that may be left over, counted one by one', () => {
    for (let seats = 0; seats <= 400; seats++) {
      for (let replicates = 1; replicates <= 4; replicates++) {
        const trays = seats * replicates;
        // Whole sixes hold every order; what is left over holds some of the six, each once: try all 64 choices.
        let worst = 0;
        for (let choice = 0; choice < 64; choice++) {
          const left = TRIANGLE_ORDERS.filter((_, at) => (choice >> at) % 2 === 1);
          if (left.length !== trays % 6) continue;
          worst = Math.max(worst, left.join('').replaceAll('B', '').length);
        }
        expect(worstCaseCups({ seats, replicates })).toBe(((trays - (trays % 6)) / 6) * 9 + worst);
      }
    }
  });

  test('are counted by sample, for the seats asked for', () => {
    const drawn = plan(6, 1);
    expect(Object.fromEntries(cupsPerSample(drawn, 6))).toEqual({ maple: 9, birch: 9 });
    expect(cupsPerSample(drawn, 0).size).toBe(0);
    for (const count of [-1, 7, 1.5]) expect(() => cupsPerSample(drawn, count)).toThrow(RangeError);
  });

  test.each([
    { seats: -1, replicates: 1 },
    { seats: 401, replicates: 1 },
    { seats: 2.5, replicates: 1 },
    { seats: 2, replicates: 0 },
    { seats: 2, replicates: 5 },
  ])('are refused for $seats seats with $replicates trays', (bad) => {
    expect(() => worstCaseCups(bad)).toThrow(RangeError);
  });
});
