import { analysePreference } from '@oddglass/shared/analysis/choice/preference.ts';
import { preferenceResult, type PreferenceResult } from '@oddglass/shared/contracts/result-choice.ts';
import { describe, expect, test } from 'vitest';
import { input, preferencePart, tray } from '../analysis/choice/choice-input.ts';
import { NOT_SHOWN, tell } from './telling.ts';

type Votes = readonly [first: number, second: number, none: number];

/** So many votes for the first arm, the second, and neither, by each of the two orders; everybody named one word. */
function analysed(byOrder: readonly Votes[]): PreferenceResult {
  let person = 0;
  const trays = byOrder.flatMap((votes, at) =>
    votes.flatMap((count, vote) =>
      Array.from({ length: count }, () => {
        const order = at === 0 ? 'AB' : 'BA';
        const chosen = vote === 2 ? [] : [order.indexOf(vote === 0 ? 'A' : 'B') + 1];
        person += 1;
        return tray(order, chosen, {
          assessor: `a${person}`,
          confidence: null,
          comment: `Said by ${person}.`,
          descriptors: ['banana'],
        });
      }),
    ),
  );
  return analysePreference(input(preferencePart, trays));
}

const OPEN: readonly Votes[] = [
  [4, 3, 2],
  [4, 4, 1],
];
const notesWithout = ({ methods }: PreferenceResult, gone: readonly string[]) =>
  methods.filter(({ id }) => !gone.includes(id));

describe('a paired preference', () => {
  test('of many people, none of whose groups is small, is told to the last figure; comments are not', () => {
    const whole = analysed(OPEN);
    const { part, orders, withheld } = tell(whole);
    expect(part).toEqual({ ...whole, comments: [] });
    // Counted of an order are those who preferred the first arm.
    expect(orders).toEqual([
      { part: 1, order: 'AB', served: 9, counted: 4 },
      { part: 1, order: 'BA', served: 9, counted: 4 },
    ]);
    expect(withheld).toEqual({ cells: 0, words: 0, lines: 0, parts: 0 });
    expect(preferenceResult.parse(part)).toEqual(part);
    expect(tell(whole, { without: ['freeTextOff'] }).part).toEqual(whole);
  });

  test.each(['coarse', 'agreed'] as const)(
    'of a small panel (%s) keeps the votes and loses every table and the notes on it',
    (tier) => {
      const whole = analysed(OPEN);
      const { part, orders, withheld } = tell(whole, { tier });
      expect(part).toEqual({
        ...whole,
        orders: { ...whole.orders, rows: [] },
        positions: { rows: [], p: null, reading: NOT_SHOWN },
        descriptors: [],
        comments: [],
        methods: notesWithout(whole, ['positions', 'orders']),
      });
      expect(part.votes.map(({ votes }) => votes)).toEqual([8, 7]);
      expect(orders.map(({ counted }) => counted)).toEqual([null, null]);
      expect(orders.map(({ served }) => served)).toEqual([9, 9]);
      expect(withheld.cells).toBe(2 + 2);
      expect(tell(whole, { tier, without: ['panelTiers'] }).part).toEqual({ ...whole, comments: [] });
    },
  );

  // Of an order nobody may be left whom somebody in the group could tell: not below two, nor all but one, for either arm.
  test.each<[string, readonly Votes[], boolean]>([
    ['one of an order preferred the first arm', [[1, 5, 3], OPEN[1]!], false],
    ['one of an order preferred the second arm', [[5, 1, 3], OPEN[1]!], false],
    ['one of the other order preferred the second arm', [OPEN[0]!, [5, 1, 3]], true],
    ['all but one preferred the first arm', [[8, 1, 0], OPEN[1]!], false],
    ['two people had an order', [[1, 1, 0], OPEN[1]!], false],
  ])('%s: no order is told, nor the note on orders', (_, byOrder, open) => {
    const whole = analysed(byOrder);
    for (const without of [[], ['complementary' as const]]) {
      const { part, orders, withheld } = tell(whole, { without });
      expect(part.orders).toEqual({ ...whole.orders, rows: [] });
      expect(orders.map(({ counted }) => counted)).toEqual([null, null]);
      // Votes and places are two sums over both orders: together they would narrow what each order said.
      const places = without.length > 0 || part.positions.rows.length > 0;
      expect(places).toBe(without.length > 0 || open);
      expect(part.methods).toEqual(notesWithout(whole, places ? ['orders'] : ['positions', 'orders']));
      expect(part.positions).toEqual(places ? whole.positions : { rows: [], p: null, reading: NOT_SHOWN });
      expect(withheld.cells).toBe(places ? 2 : 4);
    }
    expect(tell(whole, { without: ['smallGroups', 'complementary'] }).part.orders).toEqual(whole.orders);
  });

  test.each([
    [3, true],
    [2, false],
  ])('a place chosen by %i people: places are told is %s', (fewest, told) => {
    const whole = analysed(OPEN);
    const rows = whole.positions.rows.map((row, at) => ({ ...row, chosen: at === 1 ? fewest : 12 }));
    const changed = { ...whole, positions: { ...whole.positions, rows } };
    const { part, withheld } = tell(changed);
    expect(part.positions).toEqual(told ? changed.positions : { rows: [], p: null, reading: NOT_SHOWN });
    expect(part.orders).toEqual(whole.orders);
    expect(withheld.cells).toBe(told ? 0 : 2);
    expect(part.methods.map(({ id }) => id).includes('positions')).toBe(told);
    expect(part.methods.map(({ id }) => id).includes('orders')).toBe(true);
  });

  // Those for the first arm are one side; those for the second, and those without a preference, the other.
  test.each<[Votes, readonly Votes[], boolean, string]>([
    [[3, 1, 0], OPEN, false, 'four said it, and but one of the other side'],
    [[3, 0, 1], OPEN, false, 'one without a preference is but one of the other side'],
    [[2, 1, 1], OPEN, true, 'two of each side'],
    [[4, 1, 0], OPEN, true, 'five are enough'],
    [[5, 0, 0], OPEN, true, 'none of ten'],
    [
      [5, 0, 0],
      [
        [4, 1, 1],
        [4, 1, 1],
      ],
      false,
      'none of a side of four',
    ],
    [
      [5, 3, 1],
      [
        [4, 1, 1],
        [4, 1, 1],
      ],
      false,
      'all of a side of four, preferring or not',
    ],
    [
      [5, 2, 1],
      [
        [4, 1, 1],
        [4, 1, 1],
      ],
      true,
      'three of four',
    ],
    [
      [4, 5, 0],
      [
        [2, 4, 2],
        [2, 4, 2],
      ],
      false,
      'all of the four for the first arm',
    ],
    [
      [0, 5, 0],
      [
        [2, 4, 2],
        [2, 4, 2],
      ],
      false,
      'none of the four for the first arm',
    ],
    [
      [0, 5, 0],
      [
        [3, 4, 2],
        [2, 4, 2],
      ],
      true,
      'none of five for the first arm',
    ],
  ])('a word said by %j of %j: told is %s, since %s', ([first, second, none], byOrder, told) => {
    const whole = analysed(byOrder);
    const words = { word: 'banana', first, second, none };
    const changed = { ...whole, descriptors: [words] };
    const cells = tell({ ...whole, descriptors: [] }).withheld.cells;
    const { part, withheld } = tell(changed);
    expect(part.descriptors).toEqual(told ? [words] : []);
    expect(withheld.cells).toBe(cells + (told ? 0 : 1));
    expect(tell(changed, { rare: ['banana'], without: ['smallGroups'] }).part.descriptors).toEqual([]);
    expect(tell(changed, { without: ['smallGroups'] }).part.descriptors).toEqual([words]);
  });
});
