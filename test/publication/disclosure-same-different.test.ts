import { analyseSameDifferent } from '@oddglass/shared/analysis/same-different/same-different.ts';
import {
  sameDifferentResult,
  type SameDifferentResult,
} from '@oddglass/shared/contracts/result-same-different.ts';
import { bandOf } from '@oddglass/shared/ground/phrases.ts';
import { describe, expect, test } from 'vitest';
import { input, sameDifferentPart, tray } from '../analysis/choice/choice-input.ts';
import { NOT_SHOWN, tell } from './telling.ts';

/** One tray each: so many called different, of so many, by each of the four orders; everybody named one word. */
function analysed(
  byOrder: Readonly<Record<string, readonly [said: number, of: number]>>,
): SameDifferentResult {
  let person = 0;
  const trays = Object.entries(byOrder).flatMap(([order, [said, of]]) =>
    Array.from({ length: of }, (_, at) => {
      person += 1;
      return tray(order, at < said ? [1, 2] : [], {
        assessor: `a${person}`,
        comment: `Said by ${person}.`,
        descriptors: ['banana'],
        confidence: at % 2 === 0 ? 'certain' : 'guess',
      });
    }),
  );
  return analyseSameDifferent(input({ ...sameDifferentPart, replicates: 1 }, trays));
}

const OPEN = { AA: [4, 9], BB: [3, 9], AB: [6, 9], BA: [5, 9] } as const;

describe('a same-different test', () => {
  test('of many people is told to the last figure, hits beside false alarms; comments are not', () => {
    const whole = analysed(OPEN);
    const { part, orders, withheld } = tell(whole);
    expect(part).toEqual({ ...whole, comments: [] });
    // Counted of an order are right answers.
    expect(orders).toEqual([
      { part: 1, order: 'AA', served: 9, counted: 5 },
      { part: 1, order: 'BB', served: 9, counted: 6 },
      { part: 1, order: 'AB', served: 9, counted: 6 },
      { part: 1, order: 'BA', served: 9, counted: 5 },
    ]);
    expect(withheld).toEqual({ cells: 0, words: 0, lines: 0, parts: 0 });
    expect(sameDifferentResult.parse(part)).toEqual(part);
  });

  test.each(['coarse', 'agreed'] as const)(
    'of a small panel (%s) tells the claim and the band of p, and nothing that leads to hits or false alarms',
    (tier) => {
      const whole = analysed({ AA: [1, 2], BB: [0, 2], AB: [2, 2], BA: [1, 2] });
      const { part, orders } = tell(whole, { tier });
      expect(sameDifferentResult.parse(part)).toEqual(part);
      expect(part).toMatchObject({
        bands: true,
        pairs: { different: { answers: 4, said: null }, same: { answers: 4, said: null } },
        test: { counted: null, unlike: null, smallestP: null, p: bandOf(whole.test.p) },
        dPrime: null,
        confidence: { rows: [], rIndex: null, reading: NOT_SHOWN },
        orders: { rows: [] },
        descriptors: { different: null, same: null, rows: [] },
        comments: [],
      });
      expect(orders.map(({ counted }) => counted)).toEqual([null, null, null, null]);
      const { finding, methods } = part as SameDifferentResult;
      expect(finding.headline).toBe('No difference was demonstrated.');
      const words = JSON.stringify([finding, methods]);
      expect(words).not.toMatch(/three|Three|of four|3 of|1 of|NaN|null/);
      expect(words).toContain(`p at most ${bandOf(whole.test.p)}`);
    },
  );

  test('is told of neither sort where so few answered one of them', () => {
    const whole = analysed({ AA: [1, 1], BB: [0, 1], AB: [5, 9], BA: [4, 9] });
    const { part } = tell(whole);
    expect(part).toMatchObject({ pairs: { different: { said: null }, same: { said: null } }, bands: true });
    // That is what the protection of small groups does.
    expect(tell(whole, { without: ['smallGroups', 'complementary'] }).part).toMatchObject({
      pairs: { different: { said: 9 }, same: { said: 1 } },
    });
  });

  test('orders go where one of a sort is all or none, since the other one follows from the headline', () => {
    const whole = analysed({ ...OPEN, AA: [0, 9] });
    const { part, orders } = tell(whole);
    expect(part).toMatchObject({ orders: { rows: [] }, pairs: { same: { said: 3 } } });
    expect(orders.every(({ counted }) => counted === null)).toBe(true);
    expect((part as SameDifferentResult).methods.map(({ id }) => id)).not.toContain('orders');
  });
});
