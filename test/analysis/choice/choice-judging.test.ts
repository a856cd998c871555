import { firstOfEach, judgeTrays } from '@oddglass/shared/analysis/choice/judge.ts';
import type { ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import type { ChoicePart } from '@oddglass/shared/contracts/part.ts';
import { describe, expect, test } from 'vitest';
import { ARMS, PARTS, preferencePart, sameDifferentPart, tray } from './choice-input.ts';

// How one answered tray is held against what stood on it.

const judge = (part: ChoicePart, ...trays: ServedTray[]) => judgeTrays({ part, trays });

describe('a tray is judged by the cups as they stood', () => {
  test('from left to right by their positions, in whatever order they are handed over', () => {
    const one = tray('AAB', [3]);
    const [first, second, third] = one.cups;
    const orders = [
      [first, second, third],
      [third, second, first],
      [second, third, first],
      [third, first, second],
      [second, first, third],
      [first, third, second],
    ];
    for (const cups of orders) {
      const [judged] = judge(PARTS.triangle, { ...one, cups: cups.map((cup) => cup!) });
      expect(judged).toMatchObject({ order: 'AAB', counted: true, place: 2, rightPlace: 2 });
    }
  });

  test('with the arm of the one cup that was chosen, and none where two were', () => {
    expect(judge(PARTS.triangle, tray('AAB', [3]))[0]?.chosenArmId).toBe(ARMS[1]);
    expect(judge(PARTS['duo-trio'], tray('(B)AB', [1]))[0]).toMatchObject({
      chosenArmId: ARMS[0],
      referenceArmId: ARMS[1],
      counted: false,
      place: 0,
      rightPlace: 1,
    });
    expect(judge(PARTS.tetrad, tray('AABB', [3, 4]))[0]?.chosenArmId).toBeNull();
    expect(judge(PARTS['two-out-of-five'], tray('AABBB', [1, 2]))[0]?.chosenArmId).toBeNull();
  });

  test('no preference is no place and not for the first arm; both cups alike is a place of its own', () => {
    expect(judge(preferencePart, tray('AB', []))[0]).toMatchObject({
      counted: false,
      chosenArmId: null,
      place: null,
      rightPlace: null,
    });
    expect(judge(preferencePart, tray('AB', [1]))[0]).toMatchObject({
      counted: true,
      chosenArmId: ARMS[0],
      place: 0,
      rightPlace: null,
    });
    expect(judge(preferencePart, tray('AB', [2]))[0]).toMatchObject({ counted: false, place: 1 });
    // A pair without a direction has no right place, and a chosen one all the same.
    expect(judge(PARTS['open-pair'], tray('BA', [2]))[0]).toMatchObject({
      counted: true,
      place: 1,
      rightPlace: null,
    });
    const alike = judge(sameDifferentPart, tray('AA', []), tray('AB', []), tray('AB', [1, 2]));
    expect(alike.map(({ counted }) => counted)).toEqual([true, false, true]);
    const [same, missed, differs] = alike.map(({ place }) => place);
    expect(same).not.toBeNull();
    expect(missed).toBe(same);
    expect(differs).not.toBe(same);
    expect(alike.map(({ rightPlace }) => rightPlace)).toEqual([same, differs, differs]);
  });

  test('a tray without an answer, or without a sheet, is none', () => {
    expect(judge(PARTS.triangle, tray('AAB', null))).toEqual([]);
    expect(judge(PARTS.triangle, { ...tray('AAB', [3]), sheets: [] })).toEqual([]);
  });
});

describe('what cannot be judged is refused', () => {
  test('an answer of another kind', () => {
    const one = tray('AAB', [3]);
    const other = {
      ...one,
      sheets: one.sheets.map((sheet) => ({ ...sheet, answer: { kind: 'liking' as const, value: 5 } })),
    };
    expect(() => judge(PARTS.triangle, other as ServedTray)).toThrow(RangeError);
    expect(() => judge(PARTS.triangle, other as ServedTray)).toThrow(/by a choice, not by a liking/);
  });

  test('too many or too few cups, also where none may be named', () => {
    expect(() => judge(preferencePart, tray('AB', [1, 2]))).toThrow(RangeError);
    expect(() => judge(sameDifferentPart, tray('AB', [1]))).toThrow(RangeError);
    expect(() => judge(PARTS['duo-trio'], tray('(A)AB', []))).toThrow(RangeError);
    expect(() => judge(PARTS['duo-trio'], tray('(A)AB', [1, 2]))).toThrow(RangeError);
  });
});

test('one answer per person is the first tray each answered, wherever it stands', () => {
  const answers = [
    { assessor: 'a', replicate: 3 },
    { assessor: 'b', replicate: 2 },
    { assessor: 'a', replicate: 2 },
    { assessor: 'b', replicate: 4 },
    { assessor: 'a', replicate: 4 },
  ];
  expect(firstOfEach(answers)).toEqual([
    { assessor: 'a', replicate: 2 },
    { assessor: 'b', replicate: 2 },
  ]);
});
