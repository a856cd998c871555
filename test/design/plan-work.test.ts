import { drawPlan, type FlightPartDesign } from '@oddglass/shared/design/plan-draw.ts';
import { expect, test, vi } from 'vitest';
import { seedOf } from './chance.ts';

// How much a plan costs, counted in random numbers drawn: every step of its searches draws one, and no machine changes
// the count.

const counted = vi.hoisted(() => ({ draws: 0 }));
vi.mock(import('@oddglass/shared/ground/random.ts'), async (original) => {
  const real = await original();
  return {
    ...real,
    seededRandom: (seed: Uint8Array) => {
      const source = real.seededRandom(seed);
      return {
        bytes(count: number) {
          counted.draws += 1;
          return source.bytes(count);
        },
      };
    },
  };
});

/** The longest evening there is: four flights of twelve cups, three of them of one liquid, four times over. */
function drawnFor(seats: number): { draws: number; cups: number } {
  const samples = Array.from({ length: 12 }, (_, at) => ({
    id: `cup ${at}`,
    role: 'sample' as const,
    sameAs: `liquid ${Math.min(at, 9)}`,
  }));
  const parts = [1, 2, 3, 4].map((number): FlightPartDesign => ({
    kind: 'rating',
    number,
    replicates: 4,
    cupsEach: null,
    samples,
  }));
  counted.draws = 0;
  const plan = drawPlan({ seats, parts, seed: seedOf(1) });
  const cups = plan.seats.flatMap(({ trays }) => trays.flatMap(({ servings }) => servings)).length;
  return { draws: counted.draws, cups };
}

test('the longest evening takes one bounded search for orders, and then a few draws for each cup', () => {
  const [table, room, hall] = [12, 150, 300].map(drawnFor);
  expect(hall?.cups).toBe(300 * 4 * 4 * 12);
  expect(table?.draws).toBeLessThan(150_000);
  // Twice the seats, twice the draws beyond the search: no step looks at all seats for each seat.
  const [first, second] = [
    [table, room],
    [room, hall],
  ].map(([few, many]) => ((many?.draws ?? 0) - (few?.draws ?? 0)) / ((many?.cups ?? 0) - (few?.cups ?? 0)));
  expect(first).toBeGreaterThan(1);
  expect(first).toBeLessThan(6);
  expect((second ?? 0) / (first ?? 0)).toBeLessThan(1.2);
});
