import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import type { ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import type { Confidence } from '@oddglass/shared/contracts/ballot.ts';
import { choiceResult, type ChoiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import { describe, expect, test } from 'vitest';
import {
  input,
  ORDERS,
  PARTS,
  rightPlaces,
  tray,
  wrongPlaces,
  type PartName,
} from '../analysis/choice/choice-input.ts';
import { NOT_SHOWN, tell } from './telling.ts';

const CONFIDENCES: Confidence[] = ['certain', 'fairly-sure', 'guess'];
const names = Object.keys(PARTS) as PartName[];

/** '3/8': three right of eight. */
function cellOf(text: string): { right: number; answers: number } {
  const [right = 0, answers = 0] = text.split('/').map(Number);
  return { right, answers };
}

/** So many right of those who had each order, and of those who gave each degree of confidence, both as '3/8'. */
function panel(name: PartName, byOrder: readonly string[], byConfidence: readonly string[]): ServedTray[] {
  const said = byConfidence.flatMap((text, at) => {
    const { right, answers } = cellOf(text);
    return Array.from({ length: answers }, (_, one) => ({
      confidence: CONFIDENCES[at] ?? 'guess',
      right: one < right,
    }));
  });
  const of = { right: said.filter(({ right }) => right), wrong: said.filter(({ right }) => !right) };
  let person = 0;
  return ORDERS[name].flatMap((order, at) => {
    const { right, answers } = cellOf(byOrder[at % byOrder.length] ?? '');
    return Array.from({ length: answers }, (_, one) => {
      const places = one < right ? rightPlaces(name, order) : wrongPlaces(name, order);
      person += 1;
      return tray(order, places, {
        assessor: `a${person}`,
        confidence: (one < right ? of.right : of.wrong).pop()?.confidence ?? 'guess',
        comment: `Said by ${person}.`,
        descriptors: ['banana'],
      });
    });
  });
}

const HALF = ['3/6'];
const SURE = ['6/12', '6/12', '6/12'];

function analysed(name: PartName, byOrder = HALF, byConfidence = SURE): ChoiceResult {
  return analyseChoice(input(PARTS[name], panel(name, byOrder, byConfidence)));
}

/** Notes of the methods without those named. */
const notesWithout = ({ methods }: ChoiceResult, gone: readonly string[]) =>
  methods.filter(({ id }) => !gone.includes(id));

describe.each(names)('%s', (name) => {
  const whole = analysed(name);
  const served = whole.orders.rows.map(({ order, served: count }) => ({ part: 1, order, served: count }));

  test('of many people, none of whose groups is small, is told to the last figure; comments are not', () => {
    const { part, orders, withheld } = tell(whole);
    expect(part).toEqual({ ...whole, comments: [] });
    expect(orders).toEqual(whole.orders.rows.map((row) => ({ part: 1, ...row })));
    expect(withheld).toEqual({ cells: 0, words: 0, lines: 0, parts: 0 });
    expect(choiceResult.parse(part)).toEqual(part);
    expect(tell(whole, { without: ['freeTextOff'] }).part).toEqual(whole);
  });

  test.each(['coarse', 'agreed'] as const)(
    'of a small panel (%s) keeps the counts of the test and loses every table and the notes on it',
    (tier) => {
      const { part, orders, withheld } = tell(whole, { tier });
      expect(part).toEqual({
        ...whole,
        confidence: { rows: [], rIndex: null, reading: NOT_SHOWN },
        orders: { ...whole.orders, rows: [] },
        positions: { rows: [], p: null, reading: NOT_SHOWN },
        references: whole.references && [],
        descriptors: { ...whole.descriptors, rows: [] },
        comments: [],
        methods: notesWithout(whole, ['confidence', 'r-index', 'positions', 'orders']),
      });
      expect(orders).toEqual(served.map((row) => ({ ...row, counted: null })));
      const { orders: table, positions, references } = whole;
      expect(withheld.cells).toBe(table.rows.length + positions.rows.length + 3 + (references ?? []).length);
      expect(tell(whole, { tier, without: ['panelTiers'] }).part).toEqual({ ...whole, comments: [] });
    },
  );
});

describe('groups of a difference test', () => {
  test('an order that nearly nobody had right takes another with it, and the note on orders', () => {
    const whole = analysed('triangle', ['1/6', '3/6', '3/6', '3/6', '3/6', '3/6'], ['5/12', '5/12', '6/12']);
    const { part, orders, withheld } = tell(whole);
    expect(part.orders).toEqual({ ...whole.orders, rows: whole.orders.rows.slice(2) });
    expect(orders.map(({ counted }) => counted)).toEqual([null, null, 3, 3, 3, 3]);
    expect(orders.map(({ order }) => order)).toEqual(ORDERS.triangle);
    expect(part.confidence).toEqual(whole.confidence);
    // With the places told, the two withheld orders could be told apart.
    expect(part.methods).toEqual(notesWithout(whole, ['positions', 'orders']));
    expect(part.positions).toEqual({ rows: [], p: null, reading: NOT_SHOWN });
    expect(withheld.cells).toBe(2 + 3);
    const alone = tell(whole, { without: ['complementary'] });
    expect(alone.orders.map(({ counted }) => counted)).toEqual([null, 3, 3, 3, 3, 3]);
    expect(tell(whole, { without: ['smallGroups', 'complementary'] }).orders.at(0)?.counted).toBe(1);
  });

  // A tray tells its order, not how sure somebody was: all of six are a group too large to be blurred, by order they are not.
  test.each([
    [['6/6', '6/14', '6/16'], 0, 3],
    [['5/5', '6/14', '7/17'], 2, 1],
    [['1/2', '8/16', '9/18'], 2, 1],
  ])('right by confidence %j: %i degrees withheld, %i told', (byConfidence, hidden, shown) => {
    const whole = analysed('triangle', HALF, byConfidence);
    const { part, withheld } = tell(whole);
    expect(withheld.cells).toBe(hidden);
    expect(part.confidence.rows).toEqual(whole.confidence.rows.slice(hidden));
    expect(part.confidence.rows.length).toBe(shown);
    expect(part.confidence.rIndex).toEqual(hidden === 0 ? whole.confidence.rIndex : null);
    expect(part.confidence.reading).toBe(hidden === 0 ? whole.confidence.reading : NOT_SHOWN);
    expect(part.methods).toEqual(notesWithout(whole, hidden === 0 ? [] : ['confidence', 'r-index']));
    expect(whole.confidence.rIndex).not.toBeNull();
  });

  test('a place that was right for some and chosen by nobody takes all places with it', () => {
    const analysedWhole = analysed('triangle');
    const chosen = [0, 18, 18];
    const whole = {
      ...analysedWhole,
      positions: {
        ...analysedWhole.positions,
        rows: analysedWhole.positions.rows.map((row, at) => ({ ...row, chosen: chosen[at] ?? 0 })),
      },
    };
    const { part, withheld } = tell(whole);
    expect(part.positions).toEqual({ rows: [], p: null, reading: NOT_SHOWN });
    expect(part.orders).toEqual(whole.orders);
    expect(part.methods).toEqual(notesWithout(whole, ['positions']));
    expect(withheld.cells).toBe(3);
    expect(tell(whole, { without: ['smallGroups'] }).part.positions).toEqual(whole.positions);
  });

  test.each([
    [3, true],
    [2, false],
  ])('where no answer is right, a place chosen by %i people: told is %s', (fewest, told) => {
    const whole = analysed('open-pair');
    const rows = whole.positions.rows.map((row, at) => ({ ...row, chosen: at === 0 ? fewest : 9 }));
    const changed = { ...whole, positions: { ...whole.positions, rows } };
    expect(tell(changed).part.positions.rows).toEqual(told ? rows : []);
    expect(tell(changed, { without: ['smallGroups'] }).part.positions.rows).toEqual(rows);
  });

  test.each([
    [[7, 12], [12, 24], 2],
    [[1, 6], [11, 6], 0],
  ])('right by reference %j and so many more: %j, rows told: %i', ([right, of], [others, all], shown) => {
    const whole = analysed('duo-trio');
    const [one, two] = whole.references ?? [];
    if (!one || !two) throw new Error('a balanced duo-trio has two references');
    const changed = {
      ...whole,
      references: [
        { ...one, counted: right ?? 0, answers: of ?? 0 },
        { ...two, counted: others ?? 0, answers: all ?? 0 },
      ],
    };
    const { part, withheld } = tell(changed);
    expect(part.references).toEqual(changed.references.slice(0, shown));
    expect(withheld.cells).toBe(2 - shown);
    const lone = tell(changed, { without: ['complementary', 'smallGroups'] }).part;
    expect(lone.references).toEqual(changed.references);
  });

  test('a reference of which all of eight were right is withheld: a tray tells who had it', () => {
    const whole = analysed('duo-trio');
    const references = (whole.references ?? []).map((row, at) => ({
      ...row,
      ...(at === 0 ? { counted: 8, answers: 8 } : { counted: 8, answers: 16 }),
    }));
    const { part } = tell({ ...whole, references }, { without: ['complementary'] });
    expect(part.references).toEqual(references.slice(1));
  });
});

describe('trays repeated by the same people', () => {
  /** Everybody answers two trays of an order; `right` says for each person how many of them are right. */
  function repeated(right: readonly number[]): ChoiceResult {
    const orders = ORDERS.triangle;
    const trays = right.flatMap((hits, person) => {
      const order = orders[person % orders.length] ?? '';
      return [1, 2].map((replicate) =>
        tray(order, replicate <= hits ? rightPlaces('triangle', order) : wrongPlaces('triangle', order), {
          assessor: `a${person}`,
          replicate,
          confidence: CONFIDENCES[person % 3] ?? 'guess',
        }),
      );
    });
    return analyseChoice(input({ ...PARTS.triangle, replicates: 2 }, trays));
  }
  /** For each order the same people: two right trays, one, and none, each so often. */
  const people = (both: number, one: number, neither: number): number[] =>
    [
      ...Array<number>(both).fill(2),
      ...Array<number>(one).fill(1),
      ...Array<number>(neither).fill(0),
    ].flatMap((hits) => Array<number>(6).fill(hits));

  test('are told by order and by person where groups are large, and never by place', () => {
    const whole = repeated(people(2, 1, 2));
    expect(whole.replicates?.perAssessor.map(({ assessors }) => assessors)).toEqual([12, 6, 12]);
    const { part, withheld } = tell(whole);
    expect(part).toEqual({
      ...whole,
      positions: { rows: [], p: null, reading: NOT_SHOWN },
      methods: notesWithout(whole, ['positions']),
    });
    expect(withheld.cells).toBe(3);
    expect(tell(whole, { without: ['smallGroups'] }).part).toEqual(whole);
  });

  test('a group is as small as the people who may stand behind it', () => {
    // Two right answers of ten by each order: of two people at least where each gave one, of one here.
    const whole = repeated(people(1, 0, 4));
    const { part, orders, withheld } = tell(whole);
    expect(whole.orders.rows.map(({ counted, served }) => `${counted}/${served}`)).toEqual(
      Array<string>(6).fill('2/10'),
    );
    expect(part.orders.rows).toEqual([]);
    expect(orders.every(({ counted }) => counted === null)).toBe(true);
    expect(part.confidence.rows.length).toBe(3);
    expect(withheld.cells).toBe(6 + 3);
  });

  test.each([
    [3, 1],
    [2, 0],
  ])('persons by right answers, the rarest %i: rows of them are told or not', (rarest, told) => {
    const whole = repeated(people(2, 1, 2));
    const rows = whole.replicates?.perAssessor ?? [];
    const changed: ChoiceResult = {
      ...whole,
      replicates: whole.replicates && {
        ...whole.replicates,
        perAssessor: rows.map((row, at) => (at === 1 ? { ...row, assessors: rarest } : row)),
      },
    };
    const { part, withheld } = tell(changed);
    expect(part.replicates).toEqual(
      told ? changed.replicates : changed.replicates && { ...changed.replicates, perAssessor: [] },
    );
    expect(withheld.cells).toBe(3 + (told ? 0 : 3));
    expect(tell(changed, { without: ['smallGroups'] }).part.replicates).toEqual(changed.replicates);
    const coarse = tell(changed, { tier: 'coarse' });
    expect(coarse.part.replicates?.perAssessor).toEqual([]);
    expect(coarse.withheld.cells).toBe(6 + 3 + 3 + 3);
  });
});

describe('words named after a choice', () => {
  test.each([
    // Said by so many of those counted and so many of the others, of so many each.
    [3, 1, 20, 20, false, 'four said it, and but one of a side'],
    [4, 0, 20, 20, false, 'four said it, all of a side'],
    [0, 4, 20, 20, false, 'four said it, all of the other side'],
    [2, 2, 20, 20, true, 'four said it, two of each side'],
    [5, 0, 20, 20, true, 'five are enough to stand on one side'],
    [4, 1, 20, 20, true, 'five are enough'],
    [1, 4, 20, 4, false, 'all of a side of four said it'],
    [5, 0, 20, 4, false, 'none of a side of four said it'],
    [4, 1, 4, 20, false, 'all of the counted four said it'],
    [0, 5, 4, 20, false, 'none of the counted four said it'],
    [5, 0, 20, 5, true, 'none of five is not blurred'],
    [2, 5, 20, 5, true, 'all of five are not blurred'],
    [5, 0, 20, 0, true, 'a side of nobody hides nobody'],
    [3, 3, 4, 4, true, 'three of four is neither all nor none'],
  ])('%i and %i of %i and %i: told is %s, since %s', (counted, other, right, wrong, told) => {
    const rows = [{ word: 'banana', counted, other }];
    const whole = analysed('triangle');
    const changed = {
      ...whole,
      descriptors: { countedAnswers: right, otherAnswers: wrong, rows },
    };
    const { part, withheld } = tell(changed);
    expect(part.descriptors).toEqual({ ...changed.descriptors, rows: told ? rows : [] });
    expect(withheld.cells).toBe(told ? 0 : 1);
    expect(tell(changed, { without: ['smallGroups'] }).part.descriptors.rows).toEqual(rows);
    const rare = tell(changed, { rare: ['banana'], without: ['smallGroups'] });
    expect(rare.part.descriptors.rows).toEqual([]);
    // Words are counted as words, not as cells.
    expect(rare.withheld.cells).toBe(0);
  });
});
