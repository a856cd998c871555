import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import type { PartResult } from '@oddglass/shared/contracts/result.ts';
import type { Caveat } from '@oddglass/shared/contracts/result-common.ts';
import { PublicationRefused } from '@oddglass/shared/publication/disclosure.ts';
import { expect, test } from 'vitest';
import { input, PARTS, trays } from '../analysis/choice/choice-input.ts';
import { tell } from './telling.ts';

const saying = (text: string): Caveat => ({ from: 'design', arm: null, on: null, text });

test('a caveat that says again what a table said leaves with the table, and no other', () => {
  const whole = analyseChoice(input(PARTS.triangle, trays('triangle', 20, 10)));
  const { orders, positions, confidence } = whole;
  expect(new Set([orders.reading, positions.reading, confidence.reading]).size).toBe(3);
  const caveats = [
    saying('Something else.'),
    saying(orders.reading),
    saying(positions.reading),
    saying(''),
    saying(confidence.reading),
  ];
  // How orders were served is told of any panel.
  const left = [saying('Something else.'), saying(orders.reading), saying('')];
  expect(tell({ ...whole, caveats }, { tier: 'coarse' }).part.caveats).toEqual(left);
  expect(tell({ ...whole, caveats }, { without: ['smallGroups', 'complementary'] }).part.caveats).toEqual(
    caveats,
  );
});

test('a kind that no rule speaks of is refused, not told', () => {
  const odd = { kind: 'odd', caveats: [] } as unknown as PartResult;
  expect(() => tell(odd)).toThrow(PublicationRefused);
  try {
    tell(odd);
  } catch (reason) {
    expect(reason).toMatchObject({ field: 'sessions', reason: 'kind' });
    expect((reason as Error).message).toContain('‘odd’');
  }
});
