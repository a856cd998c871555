import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { canonicalJson } from '@oddglass/shared/design/canonical-json.ts';
import {
  cupsPerSample,
  drawPlan,
  isFlightDesign,
  worstCaseCupsOf,
  type PartDesign,
  type Plan,
} from '@oddglass/shared/design/plan-draw.ts';
import { choiceOrders } from '@oddglass/shared/design/choice-orders.ts';
import { seedOf } from './chance.ts';
import { everyDesign } from './every-design.ts';
import { sha256Hex } from './plain-tree.ts';

// Several places under one plan: each is dealt as a tasting of its own (complete sets within a site, as ISO 4120 asks of a
// panel; a site as a block as in any blocked design), and one place is drawn as ever.

const sum = (list: readonly number[]) => list.reduce((all, one) => all + one, 0);
const drawn = (parts: PartDesign[], groups: readonly number[], number: number): Plan =>
  drawPlan({ seats: sum(groups), parts, groups, seed: seedOf(number) });
/** The seats of each place, from a whole plan. */
function places(plan: Plan, groups: readonly number[]): Plan['seats'][] {
  let start = 0;
  return groups.map((size) => plan.seats.slice(start, (start += size)));
}
const orders = (seats: Plan['seats'], replicate: number): string[][] =>
  seats.flatMap(({ trays }) =>
    trays
      .filter((tray) => tray.replicate === replicate)
      .map(({ servings }) =>
        servings.filter(({ mark }) => mark !== 'control').map(({ sampleId }) => sampleId),
      ),
  );
/** Most less least of these counts, with zeroes for what is not there. */
function spread(items: readonly string[], kinds: number): number {
  const counts = [...Map.groupBy(items, (item) => item).values()].map(({ length }) => length);
  const all = [...counts, ...Array.from({ length: kinds - counts.length }, () => 0)];
  return Math.max(...all) - Math.min(...all);
}
const sizes = fc.array(fc.integer({ min: 1, max: 14 }), { minLength: 2, maxLength: 4 });

describe.each(everyDesign(2))('%s at several places', (_name, part) => {
  test('is balanced within each, however few sit down there', () => {
    fc.assert(
      fc.property(sizes, fc.nat(), (groups, number) => {
        for (const seats of places(drawn([part], groups, number), groups)) {
          for (let count = 1; count <= seats.length; count += 1) {
            for (const replicate of [1, 2]) {
              const dealt = orders(seats.slice(0, count), replicate);
              if (!isFlightDesign(part)) {
                const kinds = choiceOrders(part).orders.length;
                expect(
                  spread(
                    dealt.map((order) => order.join()),
                    kinds,
                  ),
                ).toBeLessThanOrEqual(1);
              } else if (part.cupsEach === null) {
                const cups = new Set(dealt.flat()).size;
                for (let place = 0; place < cups; place += 1)
                  expect(
                    spread(
                      dealt.map((order) => order[place] ?? ''),
                      cups,
                    ),
                  ).toBeLessThanOrEqual(1);
              }
            }
          }
        }
      }),
      { numRuns: 25 },
    );
  });

  test('never takes more of a sample at a place than was reckoned for it', () => {
    fc.assert(
      fc.property(sizes, fc.nat(), (groups, number) => {
        for (const [at, seats] of places(drawn([part], groups, number), groups).entries()) {
          const most = worstCaseCupsOf(part, groups[at] ?? 0);
          for (const [sample, cups] of cupsPerSample({ seats }, seats.length))
            expect(cups).toBeLessThanOrEqual(most.get(sample) ?? 0);
        }
      }),
      { numRuns: 25 },
    );
  });
});

describe('places of one plan', () => {
  const part = everyDesign(1).find(([name]) => name === 'duo-trio')?.[1] as PartDesign;

  test('pour one and the same reference, and are not dealt alike', () => {
    let alike = 0;
    for (let number = 1; number <= 40; number += 1) {
      const [north, south] = places(drawn([part], [4, 4], number), [4, 4]);
      const references = [...(north ?? []), ...(south ?? [])].map(
        ({ trays }) => trays[0]?.servings[0]?.sampleId,
      );
      expect(new Set(references).size).toBe(1);
      if (JSON.stringify(orders(north ?? [], 1)) === JSON.stringify(orders(south ?? [], 1))) alike += 1;
    }
    // Two sets of two orders each: alike in one of four by chance.
    expect(alike).toBeGreaterThan(0);
    expect(alike).toBeLessThan(25);
  });

  test('add up to the seats of the plan', () => {
    expect(() => drawPlan({ seats: 8, parts: [part], groups: [4, 3], seed: seedOf(1) })).toThrow(RangeError);
    expect(() => drawPlan({ seats: 4, parts: [part], groups: [4, 0], seed: seedOf(1) })).toThrow(RangeError);
  });

  test('one place is drawn as before there were several: these plans were drawn then', () => {
    const digests = everyDesign(2).map(([name, design]) => [
      name,
      sha256Hex(canonicalJson(drawPlan({ seats: 17, parts: [design], seed: seedOf(2026) }))).slice(0, 16),
    ]);
    expect(Object.fromEntries(digests)).toEqual(DRAWN);
  });
});

/** Digests of plans of 17 seats with two trays each, drawn before plans knew places. */
const DRAWN = {
  triangle: '531ddea8345b09d5',
  'duo-trio': 'dc18c151fdc4c9cc',
  tetrad: 'c3eacaa77e86544e',
  'two-out-of-five': '96aee93e5a969929',
  'three-afc': '5b5fa520014f7b50',
  'directional-pair': '9f3002bb1872b6f9',
  preference: '9f3002bb1872b6f9',
  'same-different': 'c229f9a9d30d1729',
  rating: 'c4cce16195d0bc6e',
  description: 'c4cce16195d0bc6e',
  control: '53315775c92798fc',
  liking: 'c4cce16195d0bc6e',
  ranking: 'c4cce16195d0bc6e',
  'an odd flight': '8f4082980678f3a9',
  'a flight with a cup twice': 'a12ad77fe205609d',
  'incomplete flights': 'ac57571a33edde53',
};
