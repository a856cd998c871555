import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { disclosable, type Cell } from '@oddglass/shared/publication/disclosure-cells.ts';
import { BLUR_BELOW, MIN_GROUP } from '@oddglass/shared/publication/disclosure.ts';

const ON = { smallGroups: true, complementary: true };

/** Every way in which a sum can be shared between groups of these sizes. */
function sharings(sizes: readonly number[], sum: number): number[][] {
  const [first, ...rest] = sizes;
  if (first === undefined) return sum === 0 ? [[]] : [];
  return Array.from({ length: Math.min(first, sum) + 1 }, (_, here) => here).flatMap((here) =>
    sharings(rest, sum - here).map((others) => [here, ...others]),
  );
}

/** Is every group open to somebody who knows the sizes and the sum: can each be counted in two ways at least? */
function isOpen(sizes: readonly number[], sum: number): boolean {
  const worlds = sharings(sizes, sum);
  return sizes.every((size, at) => size === 0 || new Set(worlds.map((world) => world[at])).size > 1);
}

/** The same for everybody in a group, whatever they may have said of their own that fits the sum. */
function hidesByCounting(hidden: readonly Cell[], each: number): boolean {
  const sizes = hidden.map(({ answers }) => answers);
  const sum = hidden.reduce((total, { counted }) => total + counted, 0);
  if (sizes.every((size) => size === 0)) return true;
  if (!isOpen(sizes, sum)) return false;
  return hidden.every(({ answers }, at) => {
    const known = Math.min(each, answers);
    if (known === 0) return true;
    const left = sizes.map((size, other) => (other === at ? size - known : size));
    return Array.from({ length: known + 1 }, (_, own) => sum - own)
      .filter((rest) => rest >= 0 && rest <= left.reduce((a, b) => a + b, 0))
      .every((rest) => isOpen(left, rest));
  });
}

const cell = (most: number) =>
  fc
    .integer({ min: 0, max: most })
    .chain((answers) =>
      fc.record({ answers: fc.constant(answers), counted: fc.integer({ min: 0, max: answers }) }),
    );

describe('groups of a table', () => {
  test('are withheld until nobody can work one out, not even somebody in it, and no further', () => {
    let withheld = 0;
    fc.assert(
      fc.property(
        fc.array(cell(7), { minLength: 1, maxLength: 4 }),
        fc.integer({ min: 1, max: 2 }),
        (cells, each) => {
          const told = disclosable(cells, each, ON);
          // The same steps with every world counted: what is too small first, then the smallest told, one after another.
          const expected = disclosable(cells, each, { smallGroups: true, complementary: false });
          for (;;) {
            if (
              hidesByCounting(
                cells.filter((_, at) => !expected[at]),
                each,
              )
            )
              break;
            const open = cells
              .map(({ answers }, at) => ({ answers, at }))
              .filter(({ answers, at }) => expected[at] && answers > 0);
            const next = open.find(({ answers }) => answers === Math.min(...open.map((one) => one.answers)));
            if (!next) break;
            expected[next.at] = false;
            withheld += 1;
          }
          expect(told).toEqual(expected);
        },
      ),
      { numRuns: 3000 },
    );
    expect(withheld).toBeGreaterThan(300);
  });

  test('all or none is told of six people, not of five, since one of them knows their own', () => {
    const alone = { smallGroups: true, complementary: false };
    const told = (answers: number, counted: number, each = 1) =>
      disclosable([{ answers, counted }], each, alone)[0];
    expect([BLUR_BELOW, MIN_GROUP]).toEqual([5, 3]);
    expect([told(5, 5), told(6, 6), told(5, 0), told(6, 0)]).toEqual([false, true, false, true]);
    expect([told(5, 1), told(5, 2), told(5, 3), told(5, 4)]).toEqual([false, true, true, false]);
    expect([told(2, 1), told(3, 1), told(0, 0)]).toEqual([false, false, true]);
    // Two answers a person: five answers come from two people at least.
    expect([told(5, 3, 2), told(6, 3, 2)]).toEqual([false, true]);
    expect(
      disclosable([{ answers: 1, counted: 1 }], 1, { smallGroups: false, complementary: false }),
    ).toEqual([true]);
  });
});
