import { describe, expect, test } from 'vitest';
import { choiceOrders, type ChoiceDesign } from '@oddglass/shared/design/choice-orders.ts';
import { drawPlan, type Plan } from '@oddglass/shared/design/plan-draw.ts';
import { chiSquare, seedOf, UPPER_MILLIONTH } from './chance.ts';

const SAMPLES = ['maple', 'birch'] as const;
const designs: ChoiceDesign[] = [
  { kind: 'triangle', sampleIds: SAMPLES },
  { kind: 'tetrad', sampleIds: SAMPLES },
  { kind: 'two-out-of-five', sampleIds: SAMPLES },
  { kind: 'duo-trio', sampleIds: SAMPLES, reference: 'constant' },
  { kind: 'duo-trio', sampleIds: SAMPLES, reference: 'balanced' },
  { kind: 'three-afc', sampleIds: SAMPLES, strongerSampleId: 'birch' },
  { kind: 'three-afc', sampleIds: SAMPLES, strongerSampleId: 'maple' },
  { kind: 'directional-pair', sampleIds: SAMPLES },
  { kind: 'preference', sampleIds: SAMPLES },
  { kind: 'same-different', sampleIds: SAMPLES },
];
const called = (design: ChoiceDesign) =>
  `${design.kind} ${design.reference ?? design.strongerSampleId ?? ''}`.trim();
const named = designs.map((design) => [called(design), design] as const);

const draw = (design: ChoiceDesign, seats: number, replicates: number, number: number): Plan =>
  drawPlan({ seats, parts: [{ ...design, number: 1, replicates }], seed: seedOf(number) });
/** Orders at each seat in letters: A for the sample that is A, or for maple where chance decides that. */
function ordersOf(plan: Plan, design: ChoiceDesign): string[][] {
  const a = choiceOrders(design).letters?.[0] ?? 'maple';
  return plan.seats.map(({ trays }) =>
    trays.map(({ servings }) => servings.map(({ sampleId }) => (sampleId === a ? 'A' : 'B')).join('')),
  );
}

function spread(orders: readonly string[], all: readonly string[]): number {
  const counts = all.map((one) => orders.filter((order) => order === one).length);
  expect(counts.reduce((sum, count) => sum + count, 0)).toBe(orders.length);
  return Math.max(...counts) - Math.min(...counts);
}

describe.each(named)('%s', (_, design) => {
  const { orders } = choiceOrders(design);

  test.each([1, 2, 3, 4])(
    'is balanced to within one after each of 60 seats, each of %i trays',
    (replicates) => {
      const rows = ordersOf(draw(design, 60, replicates, replicates), design);
      for (let seats = 1; seats <= 60; seats++) {
        for (let tray = 0; tray < replicates; tray++) {
          const column = rows.slice(0, seats).map((row) => row[tray] ?? '');
          expect(spread(column, orders)).toBeLessThanOrEqual(1);
        }
      }
    },
  );

  // Somebody who knows how orders are dealt and is sure of the trays before: what can be foretold of the next one?
  // Trays of a same-different test come in twos, by design: below.
  const apart = design.kind !== 'same-different';
  test.each(apart ? [2, 3, 4] : [])(
    'tells nothing of a later tray by the earlier, %i trays each',
    (replicates) => {
      const tally = new Map<string, number>();
      const drawings = 400 * orders.length;
      for (let number = 0; number < drawings; number++) {
        const row = ordersOf(draw(design, 3, replicates, number), design)[number % 3] ?? [];
        const pair = `${row.at(-2) ?? ''} ${row.at(-1) ?? ''}`;
        tally.set(pair, (tally.get(pair) ?? 0) + 1);
      }
      // Every order follows every order, itself included, equally often.
      const cells = orders.flatMap((before) => orders.map((after) => tally.get(`${before} ${after}`) ?? 0));
      const expected = drawings / cells.length;
      const statistic = cells.reduce((sum, count) => sum + (count - expected) ** 2 / expected, 0);
      // Beyond one in a million by Wilson and Hilferty's cube root, for orders^2 - 1 degrees of freedom: 1 % above exact at 3.
      const df = cells.length - 1;
      const limit = df * (1 - 2 / (9 * df) + 4.7534 * Math.sqrt(2 / (9 * df))) ** 3 * 1.02;
      expect(statistic).toBeLessThan(limit);
    },
  );

  test('has every order equally likely at a seat, whatever came before', () => {
    // Fixed seeds, so no run differs from another; a fair draw would fail a check once in a million.
    const drawn = Array.from({ length: 500 }, (_, number) => ordersOf(draw(design, 4, 2, number), design));
    const limits: Readonly<Record<number, number>> = {
      1: UPPER_MILLIONTH[1],
      2: UPPER_MILLIONTH[2],
      // Between the limits of 2 and 5 degrees of freedom: SciPy 1.17.1, chi2.isf(1e-6, 3).
      3: 30.665,
      5: UPPER_MILLIONTH[5],
      // The same for 19.
      19: 63.677,
    };
    for (const [seat, tray] of [
      [0, 0],
      [1, 1],
      [3, 0],
    ] as const) {
      const tally = orders.map((order) => drawn.filter((rows) => rows[seat]?.[tray] === order).length);
      expect(chiSquare(tally)).toBeLessThan(limits[orders.length - 1] ?? 0);
    }
  });

  test('marks the reference of a duo-trio, first on the tray, and nothing else', () => {
    for (const { servings } of draw(design, 12, 2, 9).seats.flatMap(({ trays }) => trays)) {
      const [first] = servings;
      expect(servings.map(({ mark }) => mark)).toEqual(
        servings.map((_, at) => (design.kind === 'duo-trio' && at === 0 ? 'reference' : null)),
      );
      if (design.reference === 'constant') expect(first?.sampleId).toBe('maple');
      if (design.strongerSampleId) {
        const stronger = servings.filter(({ sampleId }) => sampleId === design.strongerSampleId);
        expect(stronger).toHaveLength(1);
      }
    }
  });
});

describe('trays in twos', () => {
  const design: ChoiceDesign = { kind: 'same-different', sampleIds: SAMPLES };
  const isAlike = (order = ''): boolean => order[0] === order[1];

  test.each([2, 4])(
    'give every seat of %i trays one pair alike and one that differs in each two',
    (replicates) => {
      for (let number = 0; number < 40; number += 1) {
        for (const row of ordersOf(draw(design, 13, replicates, number), design)) {
          for (let at = 0; at < replicates; at += 2) expect(isAlike(row[at])).not.toBe(isAlike(row[at + 1]));
        }
      }
    },
  );

  test('have as many pairs alike as pairs that differ after every second seat of one tray each', () => {
    for (let number = 0; number < 40; number += 1) {
      const rows = ordersOf(draw(design, 20, 1, number), design);
      for (let seats = 2; seats <= 20; seats += 2) {
        expect(rows.slice(0, seats).filter(([order]) => isAlike(order))).toHaveLength(seats / 2);
      }
    }
  });

  test('have either first as often at each seat, whatever the two before, and a warm-up tray for itself', () => {
    const drawings = 2000;
    const tally = new Map<string, number>();
    for (let number = 0; number < drawings; number += 1) {
      const plan = drawPlan({
        seats: 3,
        parts: [{ ...design, number: 1, replicates: 4, warmUpTray: true }],
        seed: seedOf(number),
      });
      const [warm, ...row] = ordersOf(plan, design)[number % 3] ?? [];
      const key = [warm, row[0], row[2]].map((order) => (isAlike(order) ? 'alike' : 'differ')).join(' ');
      tally.set(key, (tally.get(key) ?? 0) + 1);
    }
    expect(tally.size).toBe(8);
    // One in a million, 7 degrees of freedom: SciPy 1.17.1, chi2.isf(1e-6, 7).
    expect(chiSquare([...tally.values()])).toBeLessThan(40.522);
  });
});

test.each([
  ['one sample twice', { kind: 'triangle', sampleIds: ['maple', 'maple'] }],
  ['no stronger sample', { kind: 'three-afc', sampleIds: SAMPLES }],
  ['a stronger sample from elsewhere', { kind: 'three-afc', sampleIds: SAMPLES, strongerSampleId: 'oak' }],
] as const)('orders are refused for %s', (_, design) => {
  expect(() => choiceOrders(design)).toThrow(RangeError);
});
