import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  placesDisclosable,
  disclosable,
  rightAt,
  type Cell,
  type Place,
} from '@oddglass/shared/publication/disclosure-cells.ts';
import { PROTECTIONS, tierOf } from '@oddglass/shared/publication/disclosure.ts';

const cells = fc.array(
  fc
    .integer({ min: 0, max: 7 })
    .chain((answers) =>
      fc.record({ answers: fc.constant(answers), counted: fc.integer({ min: 0, max: answers }) }),
    ),
  { minLength: 1, maxLength: 6 },
);

/** Every way in which counts can be shared out among groups of these sizes, by going through them all. */
function ways(sizes: readonly number[], sum: number): number[][] {
  const [size, ...rest] = sizes;
  if (size === undefined) return sum === 0 ? [[]] : [];
  return Array.from({ length: Math.min(size, sum) + 1 }, (_, counted) => counted).flatMap((counted) =>
    ways(rest, sum - counted).map((others) => [counted, ...others]),
  );
}

const sumOf = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

describe('groups of a table whose sums are known', () => {
  // Held against every possible table, not against the bounds the rule reckons with.
  test('leave at least two answers open for every withheld group, also to one of its people', () => {
    fc.assert(
      fc.property(cells, (table) => {
        const told = disclosable(table, 1, PROTECTIONS);
        const hidden = table.filter((cell, at) => !told[at] && cell.answers > 0);
        if (hidden.length === 0 || !told.some((one, at) => one && (table[at]?.answers ?? 0) > 0)) return;
        const sum = sumOf(hidden.map(({ counted }) => counted));
        const sizes = hidden.map(({ answers }) => answers);
        const open = (counts: readonly number[], size: readonly number[]) =>
          hidden.forEach((_, at) => {
            if (size[at] === 0) return;
            expect(new Set(ways(size, sumOf(counts)).map((way) => way[at])).size).toBeGreaterThan(1);
          });
        open(
          hidden.map(({ counted }) => counted),
          sizes,
        );
        hidden.forEach((cell, at) => {
          for (const own of [0, 1]) {
            if (own > cell.counted || 1 - own > cell.answers - cell.counted) continue;
            open(
              hidden.map(({ counted }, which) => counted - (which === at ? own : 0)),
              sizes.map((size, which) => size - (which === at ? 1 : 0)),
            );
          }
        });
        expect(sum).toBeLessThanOrEqual(sumOf(sizes));
      }),
      { numRuns: 400 },
    );
  });

  test('never tell a group below three, nor a small one that is all or none, also less one of its people', () => {
    fc.assert(
      fc.property(cells, (table) => {
        disclosable(table, 1, PROTECTIONS).forEach((told, at) => {
          const { answers, counted } = table[at] as Cell;
          if (!told || answers === 0) return;
          expect(answers).toBeGreaterThanOrEqual(3);
          if (answers <= 5) expect(Math.min(counted, answers - counted)).toBeGreaterThanOrEqual(2);
        });
      }),
    );
  });

  test.each<[string, Cell[], boolean[]]>([
    ['large ones are told', cellsOf('4/8 5/9 3/8'), [true, true, true]],
    ['one too small takes the next smallest with it', cellsOf('1/2 4/8 3/7 5/9'), [false, true, false, true]],
    ['all of three would be known, so more go', cellsOf('3/3 4/8'), [false, false]],
    ['empty ones hide nothing', cellsOf('0/0 1/2 4/8'), [true, false, false]],
  ])('%s', (_, table, told) => {
    expect(disclosable(table, 1, PROTECTIONS)).toEqual(told);
  });

  test('four answers of two people are two people', () => {
    expect(disclosable(cellsOf('2/4 8/16'), 2, PROTECTIONS)).toEqual([false, false]);
    expect(disclosable(cellsOf('2/4 8/16'), 1, PROTECTIONS)).toEqual([true, true]);
  });

  test('eight answers of at most three a person may be of two people: withheld, and never alone', () => {
    const table = cellsOf('4/8 15/30');
    expect(disclosable(table, 3, { smallGroups: true, complementary: false })).toEqual([false, true]);
    expect(disclosable(table, 3, PROTECTIONS)).toEqual([false, false]);
  });

  test('where a tray tells the group, all of eight are withheld too', () => {
    expect(disclosable(cellsOf('8/8 4/8 4/8'), 1, PROTECTIONS)).toEqual([true, true, true]);
    expect(disclosable(cellsOf('8/8 4/8 4/8'), 1, PROTECTIONS, Infinity)).toEqual([false, false, true]);
  });
});

function cellsOf(text: string): Cell[] {
  return text.split(' ').map((one) => {
    const [counted = 0, answers = 0] = one.split('/').map(Number);
    return { answers, counted };
  });
}

describe('choices by place', () => {
  // Everybody's place chosen and place right, drawn; then every table of chosen by right with the same margins and the same
  // diagonal sum is gone through, and nobody's answer may be the same in all of them.
  test('are told only while every answer stays open, by going through every table with the same sums', () => {
    const panel = fc.array(fc.tuple(fc.nat(2), fc.nat(2)), { minLength: 10, maxLength: 16 });
    let told = 0;
    fc.assert(
      fc.property(panel, (people) => {
        const count = (which: 0 | 1, place: number) => people.filter((one) => one[which] === place).length;
        const places: Place[] = [0, 1, 2].map((place) => ({
          chosen: count(0, place),
          rightThere: count(1, place),
        }));
        const counted = people.filter(([chose, right]) => chose === right).length;
        if (!placesDisclosable(places, counted, PROTECTIONS)) return;
        told += 1;
        const tables = tablesOf(
          places.map(({ chosen }) => chosen),
          places.map(({ rightThere }) => rightThere ?? 0),
        ).filter((table) => sumOf(table.map((row, at) => row[at] ?? 0)) === counted);
        places.forEach(({ rightThere }, at) => {
          if (!rightThere) return;
          const right = tables.map((table) => table[at]?.[at] ?? 0);
          expect(right.every((one) => one === 0)).toBe(false);
          expect(right.every((one) => one === rightThere)).toBe(false);
        });
      }),
      { numRuns: 300 },
    );
    expect(told).toBeGreaterThan(20);
  });

  /** How often each place was right and chosen, over every table with these margins and so many right answers. */
  function rightInPlace(chosen: readonly number[], right: readonly number[], counted: number): number[][] {
    if ([...chosen, ...right].some((count) => count < 0)) return [];
    // Person by person: who chose a place, and each place that may have been right for them.
    const choosers = chosen.flatMap((count, place) => Array<number>(count).fill(place));
    const found = new Map<string, number[]>();
    const deal = (at: number, left: readonly number[], hits: readonly number[]): void => {
      const own = choosers[at];
      if (own === undefined) {
        if (sumOf(hits) === counted) found.set(hits.join(), [...hits]);
        return;
      }
      left.forEach((count, place) => {
        if (count === 0) return;
        const rest = left.map((one, which) => one - (which === place ? 1 : 0));
        deal(at + 1, rest, place === own ? hits.map((one, which) => one + (which === own ? 1 : 0)) : hits);
      });
    };
    deal(0, right, [0, 0, 0]);
    return [...found.values()];
  }

  test('are told exactly when neither readers nor anybody in the room learn all of those a place was right for', () => {
    let [told, withheld, byInsidersAlone] = [0, 0, 0];
    const seats = fc.array(fc.tuple(fc.nat(2), fc.nat(2)), { minLength: 1, maxLength: 7 });
    fc.assert(
      fc.property(seats, (people) => {
        const count = (which: 0 | 1) =>
          [0, 1, 2].map((place) => people.filter((one) => one[which] === place).length);
        const [chosen, right] = [count(0), count(1)];
        const counted = people.filter(([own, place]) => own === place).length;
        const safe = (own: readonly number[], there: readonly number[], hits: number): boolean => {
          const tables = rightInPlace(own, there, hits);
          return there.every(
            (of, at) =>
              of === 0 ||
              tables.length === 0 ||
              (tables.some((table) => table[at]! > 0) && tables.some((table) => table[at]! < of)),
          );
        };
        const less = (counts: readonly number[], place: number) =>
          counts.map((one, at) => one - (at === place ? 1 : 0));
        const readers = safe(chosen, right, counted);
        const insiders = [0, 1, 2].every((own) =>
          [0, 1, 2].every(
            (place) =>
              chosen[own] === 0 ||
              right[place] === 0 ||
              safe(less(chosen, own), less(right, place), counted - (own === place ? 1 : 0)),
          ),
        );
        const places = chosen.map((times, at) => ({ chosen: times, rightThere: right[at]! }));
        expect(placesDisclosable(places, counted, PROTECTIONS)).toBe(readers && insiders);
        if (readers && insiders) told += 1;
        else withheld += 1;
        if (readers && !insiders) byInsidersAlone += 1;
      }),
      { numRuns: 4000 },
    );
    expect(Math.min(told, withheld, byInsidersAlone)).toBeGreaterThan(5);
  });

  test('are told whatever they say where small groups are not protected', () => {
    const places = [
      { chosen: 0, rightThere: 4 },
      { chosen: 8, rightThere: 4 },
    ];
    expect(placesDisclosable(places, 4, { smallGroups: true })).toBe(false);
    expect(placesDisclosable(places, 4, { smallGroups: false })).toBe(true);
  });

  // All ways to pair the cups of a two-out-of-five: tables of ten places cannot be gone through one by one.
  test('are judged for a hundred people and ten places', () => {
    const places = Array.from({ length: 10 }, () => ({ chosen: 10, rightThere: 10 }));
    expect(rightAt(places, 40)).toEqual(
      Array.from({ length: 10 }, () => ({ rightThere: 10, lower: 0, upper: 10 })),
    );
    expect(placesDisclosable(places, 40, PROTECTIONS)).toBe(true);
    // One not right: it takes two to leave their places.
    expect(rightAt(places, 99).some(({ lower, upper }) => lower > upper)).toBe(true);
    expect(placesDisclosable(places, 100, PROTECTIONS)).toBe(false);
  });

  test('are withheld when nobody chose a place that was right for some', () => {
    const places = [
      { chosen: 0, rightThere: 4 },
      { chosen: 6, rightThere: 4 },
      { chosen: 6, rightThere: 4 },
    ];
    expect(placesDisclosable(places, 4, PROTECTIONS)).toBe(false);
  });
});

/** Every table of whole numbers with these sums of rows and columns, three by three. */
function tablesOf(rows: readonly number[], columns: readonly number[]): number[][][] {
  const [first, ...rest] = rows;
  if (first === undefined) return columns.every((sum) => sum === 0) ? [[]] : [];
  return ways(columns, first).flatMap((row) =>
    tablesOf(
      rest,
      columns.map((sum, at) => sum - (row[at] ?? 0)),
    ).map((others) => [row, ...others]),
  );
}

test.each([
  [0, null],
  [1, 'agreed'],
  [4, 'agreed'],
  [5, 'coarse'],
  [9, 'coarse'],
  [10, 'full'],
  [200, 'full'],
] as const)('of %i people the tier is %s', (people, tier) => {
  expect(tierOf(people)).toBe(tier);
});
