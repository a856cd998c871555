import { criticalNumber } from '@oddglass/shared/stats/discrimination/critical-number.ts';
import { describe, expect, test } from 'vitest';
import { choiceOrders, type ChoiceDesign } from '@oddglass/shared/design/choice-orders.ts';
import { dealIndependently, dealOrders } from '@oddglass/shared/design/orders.ts';
import { fastRandom } from '@oddglass/shared/ground/fast-random.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { differenceOf, placeOfCups } from '@oddglass/shared/kinds/kinds.ts';
import { seedOf } from './chance.ts';

// The binomial test of all answers takes each of them as right at the guessing rate when arms are alike. So it must be for
// people who are no simple guessers: who know how trays are dealt and are sure of those before, and who alternate by habit.

const SAMPLES = ['maple', 'birch'] as const;
const DESIGNS: readonly ChoiceDesign[] = [
  { kind: 'triangle', sampleIds: SAMPLES },
  { kind: 'duo-trio', sampleIds: SAMPLES },
  { kind: 'duo-trio', sampleIds: SAMPLES, reference: 'constant' },
  { kind: 'tetrad', sampleIds: SAMPLES },
  { kind: 'two-out-of-five', sampleIds: SAMPLES },
  { kind: 'three-afc', sampleIds: SAMPLES, strongerSampleId: 'birch' },
  { kind: 'directional-pair', sampleIds: SAMPLES, strongerSampleId: 'birch' },
];
const named = DESIGNS.map(
  (design) => [`${design.kind}${design.reference ? ` ${design.reference}` : ''}`, design] as const,
);

const PEOPLE = 12;
const TRAYS = 4;

/** What has to be chosen, by order: cups stand for places, so that the right answer of an order is one of the places. */
function rightPlaceOf(design: ChoiceDesign): (order: string) => number {
  const { places, right, reference } = differenceOf(design as { kind: 'triangle' });
  const known = new Map<string, number>();
  return (order) => {
    const found = known.get(order);
    if (found !== undefined) return found;
    const cups = Array.from(order, (letter, at) => ({ armId: letter, at }));
    const [first, ...rest] = cups;
    const asked = reference ? rest : cups;
    const part = { strongerArmId: 'B', armIds: ['A', 'B'] };
    const answer = right(part as never, asked as never, (reference ? first : null) as never);
    const place = placeOfCups(places, asked, (answer ?? []) as never);
    if (place < 0) throw new Error(`no place is right in ${order}`);
    known.set(order, place);
    return place;
  };
}

describe.each(named)('%s', (_name, design) => {
  const { orders } = choiceOrders(design);
  const { guessRate } = differenceOf(design as { kind: 'triangle' }).test;
  const rightPlace = rightPlaceOf(design);
  const deal = (number: number, seats = PEOPLE): string[][] =>
    dealIndependently(seededRandom(seedOf(number)), { orders, seats, replicates: TRAYS });

  test('whoever has seen other evenings and is sure of the trays before is right at the guessing rate on each', () => {
    // What came after what, of evenings gone by: by the order before, and by all that was had on the evening.
    const learnt = new Map<string, number[]>();
    const keysOf = (row: readonly string[], tray: number): string[] => [
      `after ${row[tray - 1] ?? ''}`,
      `all ${row.slice(0, tray).toSorted().join()}`,
    ];
    for (let number = 0; number < 1500; number += 1) {
      for (const row of deal(number)) {
        for (let tray = 1; tray < TRAYS; tray += 1) {
          for (const key of keysOf(row, tray)) {
            const tally = learnt.get(key) ?? [];
            const place = rightPlace(row[tray] ?? '');
            tally[place] = (tally[place] ?? 0) + 1;
            learnt.set(key, tally);
          }
        }
      }
    }
    const best = (key: string): number => {
      const tally = learnt.get(key) ?? [1];
      return tally.reduce((most, count, place) => (count > (tally[most] ?? 0) ? place : most), 0);
    };
    for (const by of [0, 1]) {
      for (let tray = 1; tray < TRAYS; tray += 1) {
        let [right, all] = [0, 0];
        for (let number = 5000; number < 5600; number += 1) {
          for (const row of deal(number)) {
            all += 1;
            if (best(keysOf(row, tray)[by] ?? '') === rightPlace(row[tray] ?? '')) right += 1;
          }
        }
        const error = Math.sqrt((guessRate * (1 - guessRate)) / all);
        expect(Math.abs(right / all - guessRate)).toBeLessThan(5 * error);
      }
    }
  });

  test('people who go from place to place by habit raise no more false alarms than alpha', () => {
    const places = new Set(orders.map(rightPlace)).size;
    const n = PEOPLE * TRAYS;
    const critical = criticalNumber({ n, alpha: 0.05, guessRate }) ?? Infinity;
    const draw = fastRandom(seededRandom(seedOf(99)));
    const panels = 4000;
    let alarms = 0;
    for (let number = 0; number < panels; number += 1) {
      let right = 0;
      for (const row of deal(10_000 + number)) {
        const from = draw(places);
        row.forEach((order, tray) => {
          // The next place on each tray: never the same twice running.
          if (rightPlace(order) === (from + tray) % places) right += 1;
        });
      }
      if (right >= critical) alarms += 1;
    }
    expect(alarms / panels).toBeLessThan(0.05 + 4 * Math.sqrt((0.05 * 0.95) / panels));
    // And a test that finds nothing ever would say nothing here.
    expect(alarms).toBeGreaterThan(0);
  });
});

test('a scheme in which no order returns before its time is found out by the same guesser', () => {
  // As flights are dealt, and choices once were: of two orders the other one follows, always.
  let [right, all] = [0, 0];
  for (let number = 0; number < 50; number += 1) {
    const rows = dealOrders(seededRandom(seedOf(number)), {
      orders: ['AB', 'BA'],
      seats: 4,
      replicates: TRAYS,
    });
    for (const row of rows) {
      for (let tray = 1; tray < TRAYS; tray += 1) {
        all += 1;
        if (row[tray] !== row[tray - 1]) right += 1;
      }
    }
  }
  expect(right).toBe(all);
});
