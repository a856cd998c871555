import { worldOfDifference } from '@oddglass/shared/publication/audit/choice-world.ts';
import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import {
  feasible,
  worldStaysOpen,
  type ChoiceWorld,
} from '@oddglass/shared/publication/audit/choice-worlds.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { input, ORDERS, PARTS, rightPlaces, tray, wrongPlaces } from '../analysis/choice/choice-input.ts';
import { rangeOf } from '../support/told-answers.ts';

/** Every way the answers can have been given, tried one by one. */
function everyWorld(world: ChoiceWorld): number[][][] {
  const places = world.orders[0]?.outcomeAt.length ?? 0;
  const dealt = (answers: number, left: number): number[][] =>
    left === 1
      ? [[answers]]
      : Array.from({ length: answers + 1 }, (_, first) =>
          dealt(answers - first, left - 1).map((rest) => [first, ...rest]),
        ).flat();
  const ways = world.orders.reduce<number[][][]>(
    (found, { served }) => found.flatMap((way) => dealt(served, places).map((row) => [...way, row])),
    [[]],
  );
  const sumOf = (way: number[][], which: (order: number, place: number) => boolean): number =>
    way.reduce(
      (sum, row, order) => sum + row.reduce((all, n, place) => all + (which(order, place) ? n : 0), 0),
      0,
    );
  const outcome = (order: number, place: number) => world.orders[order]?.outcomeAt[place];
  return ways.filter(
    (way) =>
      world.outcomes.every((n, of) => sumOf(way, (o, p) => outcome(o, p) === of) === n) &&
      (world.places ?? []).every((n, at) => sumOf(way, (_, p) => p === at) === n) &&
      (world.references ?? []).every(
        (n, of) => sumOf(way, (o, p) => outcome(o, p) === 0 && world.orders[o]?.reference === of) === n,
      ) &&
      world.orders.every(({ told }, order) =>
        (told ?? []).every((n, of) => sumOf(way, (o, p) => o === order && outcome(o, p) === of) === n),
      ),
  );
}

const kinds = ['triangle', 'duo-trio', 'three-afc', 'open-pair'] as const;
const someWorld = fc
  .tuple(
    fc.constantFrom(...kinds),
    fc.array(fc.tuple(fc.nat(3), fc.nat(2)), { minLength: 4, maxLength: 7 }),
    fc.array(fc.boolean(), { minLength: 6, maxLength: 6 }),
    fc.boolean(),
    fc.boolean(),
  )
  .map(([kind, answers, shown, places, references]) => {
    const orders = ORDERS[kind].slice(0, 4);
    const trays = answers.map(([which, chosen], person) => {
      const order = orders[which % orders.length] ?? '';
      const cups = order.replace(/\(.\)/, '').length;
      return tray(order, [(chosen % cups) + 1], { assessor: `a${person}` });
    });
    const part = analyseChoice(input(PARTS[kind], trays));
    return worldOfDifference(part, { orders: shown, places, references });
  });

describe('values of a withheld group', () => {
  test('are those that trying every way finds, and those that another solver finds', () => {
    fc.assert(
      fc.property(someWorld, (world) => {
        const ways = everyWorld(world);
        expect(ways.length).toBeGreaterThan(0);
        world.orders.forEach(({ outcomeAt, told, served }, order) => {
          const found = ways.map((way) =>
            outcomeAt.reduce((sum, of, place) => sum + (of === 0 ? (way[order]?.[place] ?? 0) : 0), 0),
          );
          const values = new Set(found);
          const open = feasible(world, order, 0, 99);
          expect(open.values).toBe(values.size);
          expect(open.between).toBe([...values].some((value) => value > 0 && value < served));
          const other = rangeOf(
            {
              ...world,
              outcomes: [...world.outcomes],
              places: world.places && [...world.places],
              references: world.references && [...world.references],
              orders: world.orders.map((one, at) => ({
                ...one,
                outcomeAt: [...one.outcomeAt],
                order: String(at),
                counted: one.told?.[0] ?? null,
              })),
            },
            order,
            0,
          );
          expect(other).toEqual({ least: Math.min(...found), most: Math.max(...found) });
          expect(told === null || values.size === 1).toBe(true);
        });
      }),
      { numRuns: 60 },
    );
  });
});

describe('what is told together', () => {
  /** So many answers by order and how many of them right, as '3/8'. */
  const duoTrio = (cells: readonly string[]) =>
    analyseChoice(
      input(
        PARTS['duo-trio'],
        cells.flatMap((cell, at) => {
          const [right = 0, all = 0] = cell.split('/').map(Number);
          const order = ORDERS['duo-trio'][at] ?? '';
          return Array.from({ length: all }, (_, one) =>
            tray(order, one < right ? rightPlaces('duo-trio', order) : wrongPlaces('duo-trio', order), {
              assessor: `${at} ${one}`,
            }),
          );
        }),
      ),
    );

  // References and places are two sums over the same four orders: with the headline they fix what neither tells alone.
  test('references and places fix the orders of a duo-trio between them, so that not both are told', () => {
    const part = duoTrio(['5/5', '4/5', '1/5', '2/5']);
    const orders = [false, false, false, false];
    const open = (places: boolean, references: boolean) =>
      worldStaysOpen(worldOfDifference(part, { orders, places, references }));
    expect([open(false, false), open(true, true)]).toEqual([true, false]);
  });

  test('one told order more is one too many where the others then have one way', () => {
    const part = duoTrio(['4/4', '0/4', '2/4', '2/4']);
    const told = (orders: boolean[]) =>
      worldStaysOpen(worldOfDifference(part, { orders, places: false, references: false }));
    expect(told([false, false, false, false])).toBe(true);
    expect(told([false, true, true, true])).toBe(false);
    expect(told([true, true, true, true])).toBe(true);
  });

  test('what the headline alone tells is not held against the tables: all right of all', () => {
    const part = duoTrio(['4/4', '4/4', '4/4', '4/4']);
    const nothing = { orders: [false, false, false, false], places: false, references: false };
    expect(worldStaysOpen(worldOfDifference(part, nothing))).toBe(true);
  });
});
