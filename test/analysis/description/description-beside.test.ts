import { analyseDescription } from '@oddglass/shared/analysis/description/description.ts';
import type { TrianglePart } from '@oddglass/shared/contracts/part.ts';
import { describe, expect, test } from 'vitest';
import { panel, part, WORDS } from './description-input.ts';
import { armId, flightInput } from '../common/flight-input.ts';

describe('a description beside other parts on its cups', () => {
  test('on the cups of a test before, the choice made of them is a caveat', () => {
    const own = part(2);
    const triangle: TrianglePart = {
      kind: 'triangle',
      armIds: [armId(0), armId(1)],
      replicates: 1,
      alpha: 0.05,
      aim: 'difference',
      meaningfulShare: 0.3,
      beta: 0.2,
    };
    const input = flightInput(own, panel(own, [[['smoky'], []]]), { words: WORDS });
    const saysIt = (asked: typeof input): boolean =>
      analyseDescription(asked).caveats.some(({ text }) => text.startsWith('Asked on the cups of the test'));
    expect(saysIt(input)).toBe(false);
    const later = { ...own, cups: 'before' as const, samples: [] };
    const settings = { ...input.settings, parts: [triangle, later] };
    expect(saysIt({ ...input, settings, part: later, number: 2 })).toBe(true);
  });

  test('liking goes with the words of its own cup: not that of a second tray or a duplicate', () => {
    const asked = part(2, {}, [{ armId: armId(0), role: 'duplicate', spike: null }]);
    const rows = [0, 1, 2].map(() => [['smoky'], [], ['honey']]);
    const first = panel(asked, rows);
    const second = first.map((tray) => ({ ...tray, replicate: 2 }));
    const marks = first.flatMap(({ assessor }, person) => [
      // Of the cup whose words count nothing could be said; its duplicate and the second tray were liked.
      { assessor, replicate: 1, code: '102', value: 4 + person },
      { assessor, replicate: 1, code: '103', value: 9 },
      { assessor, replicate: 2, code: '101', value: 9 },
    ]);
    const input = flightInput(asked, [...second, ...first], { words: WORDS });
    const row = analyseDescription(input, marks).liking?.rows.find(({ id }) => id === 'smoky');
    expect(row).toMatchObject({ chosen: 0, notChosen: 3, meanChosen: null, meanNotChosen: 5 });
  });
});
