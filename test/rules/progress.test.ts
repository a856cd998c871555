import { isAhead } from '@oddglass/shared/rules/progress.ts';
import { restLeft } from '@oddglass/shared/rules/rest.ts';
import { revealsArmName } from '@oddglass/shared/rules/title.ts';
import { describe, expect, test } from 'vitest';

describe('progress', () => {
  const at = (
    trayNumber: number,
    step: Parameters<typeof isAhead>[1]['step'],
    position: number | null = null,
  ) => ({ trayNumber, part: 1, sheet: 1, step, position });

  test('goes on, and back within the tray in hand', () => {
    expect(isAhead(null, at(1, 'tasting', 1))).toBe(true);
    expect(isAhead(at(1, 'tasting', 1), at(1, 'tasting', 2))).toBe(true);
    expect(isAhead(at(1, 'reviewing'), at(1, 'choosing'))).toBe(true);
    expect(isAhead(at(1, 'tasting', 2), at(1, 'tasting', 2))).toBe(false);
  });
  test('goes from cup to cup, and back to an earlier sheet that is not sent', () => {
    const second = { ...at(1, 'answering'), sheet: 2 };
    expect(isAhead(at(1, 'answering'), second)).toBe(true);
    expect(isAhead(second, at(1, 'answering'))).toBe(true);
    expect(isAhead(second, { ...second, part: 2, sheet: 1 })).toBe(true);
    expect(isAhead(second, second)).toBe(false);
  });
  test('tells cups apart while they are tasted, and no longer', () => {
    expect(isAhead(at(1, 'tasting'), at(1, 'tasting', 1))).toBe(true);
    expect(isAhead(at(1, 'tasting', 2), at(1, 'tasting', 1))).toBe(true);
    expect(isAhead(at(1, 'reviewing', 1), at(1, 'reviewing', 2))).toBe(false);
  });
  test('never leads back past a ballot', () => {
    expect(isAhead(at(1, 'resting'), at(1, 'reviewing'))).toBe(false);
    expect(isAhead(at(2, 'tasting', 1), at(1, 'resting'))).toBe(false);
    expect(isAhead(at(1, 'resting'), at(2, 'tasting', 1))).toBe(true);
    expect(isAhead(at(2, 'finished'), at(2, 'tasting', 3))).toBe(false);
    expect(isAhead(at(1, 'resting'), at(1, 'resting'))).toBe(false);
    // A later part, or sheet, of the tray in hand comes after the ballot on an earlier one.
    const rests = { ...at(1, 'resting'), part: 2, sheet: 2 };
    const tastes = (part: number, sheet: number) => ({ ...at(1, 'tasting', 1), part, sheet });
    expect(isAhead(rests, tastes(2, 3))).toBe(true);
    expect(isAhead(rests, tastes(3, 1))).toBe(true);
    expect(isAhead(rests, tastes(2, 1))).toBe(false);
    expect(isAhead(rests, tastes(1, 3))).toBe(false);
    expect(isAhead(at(2, 'reviewing'), at(1, 'tasting', 1))).toBe(false);
    expect(isAhead(at(3, 'resting'), { ...at(4, 'tasting', 1), part: 1 })).toBe(true);
    expect(isAhead({ ...at(1, 'resting'), part: 3 }, { ...at(2, 'tasting', 1), part: 1 })).toBe(true);
  });
});

describe('rest', () => {
  const ballot = new Date('2031-03-04T18:00:00Z');
  test.each([
    [0, 60_000],
    [20_000, 40_000],
    [60_000, 0],
    [999_000, 0],
    [-5_000, 60_000],
  ])('%i ms after the ballot', (passed, left) => {
    expect(restLeft(ballot, 60, new Date(ballot.getTime() + passed))).toBe(left);
  });
  test('none before the first ballot', () => expect(restLeft(null, 60, ballot)).toBe(0));
});

describe('a title that tells', () => {
  test.each([
    ['Warm vessel or not', ['warm vessel', 'cool'], true],
    ['Is 22 °C better?', ['14 °C', '22 °C'], true],
    ['Pale beer, day 21', ['14 °C', '22 °C'], false],
    ['A beer evening', ['A', 'B'], true],
    ['a beer evening', ['A', 'B'], false],
    ['Warmth of autumn', ['warm'], false],
    ['C++ night', ['C++', 'D'], true],
    ['Warm vessel or not', [' warm ', 'cool'], true],
    ['A beer evening', [' A ', 'B'], true],
    ['a beer evening', [' A ', 'B'], false],
    ['A beer evening', ['', '  '], false],
  ])('%s', (title, arms, tells) => expect(revealsArmName(title, arms)).toBe(tells));
});
