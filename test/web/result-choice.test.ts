import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import { analysePreference } from '@oddglass/shared/analysis/choice/preference.ts';
import type { ChoiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import { isDifferenceKind } from '@oddglass/shared/kinds/kinds.ts';
import { describe, expect, it } from 'vitest';
import {
  choiceFixed,
  choiceNumbers,
  preferenceFixed,
  preferenceNumbers,
} from '../../web/src/lib/result/choice/choice-rows.ts';
import { preferenceStrip } from '../../web/src/lib/result/choice/preference-strip.ts';
import { stripOf } from '../../web/src/lib/result/choice/strip-of.ts';
import { methodAddress } from '../../web/src/lib/result/method-address.ts';
import { plotFile } from '../../web/src/lib/result/part-facts.ts';
import {
  ARMS,
  input,
  PARTS,
  preferencePart,
  tray,
  trays,
  type PartName,
} from '../analysis/choice/choice-input.ts';

const NAMES = Object.keys(PARTS) as PartName[];
const nameOf = (armId: string): string => (armId === ARMS[0] ? 'Cool' : 'Warm');
const result = (name: PartName, right = 15, change = {}): ChoiceResult =>
  analyseChoice(input({ ...PARTS[name], ...change }, trays(name, 24, right)));
const preference = (noPreference: boolean) =>
  analysePreference(
    input(
      { ...preferencePart, noPreference },
      Array.from({ length: 12 }, (_, index) => {
        const none = noPreference && index >= 10;
        return tray('AB', none ? [] : [index < 3 ? 1 : 2], { assessor: `a${index}`, confidence: null });
      }),
    ),
  );

describe('a choice on the result page', () => {
  it('opens a note for every number of every kind', () => {
    for (const name of NAMES) {
      for (const aim of ['difference', 'similarity']) {
        const one = result(name, 15, { aim });
        const shown = [
          'exact-p',
          'critical-number',
          'share',
          'd-prime',
          'power',
          'confidence',
          'orders',
          'positions',
        ];
        if (one.similarity) shown.push('similarity');
        if (one.posterior) shown.push('posterior');
        if (one.confidence.rIndex) shown.push('r-index');
        for (const note of shown)
          expect([name, note, methodAddress(one, note)]).toEqual([name, note, `#method-1-${note}`]);
        expect(isDifferenceKind(one)).toBe(true);
      }
    }
    const votes = preference(true);
    for (const note of ['exact-p', 'critical-number', 'share', 'no-preference', 'orders', 'positions']) {
      expect(methodAddress(votes, note)).toBe(`#method-1-${note}`);
    }
    expect(methodAddress(votes, 'd-prime')).toBeUndefined();
    expect(isDifferenceKind(votes)).toBe(false);
  });

  it('lists every number once it is there, and only numbers', () => {
    for (const name of NAMES) {
      for (const { name: row, value } of choiceNumbers(result(name))) {
        expect([name, row, value === null || Number.isFinite(value)]).toEqual([name, row, true]);
      }
    }
    for (const { value } of preferenceNumbers(preference(true), nameOf)) {
      expect(value === null || Number.isFinite(value)).toBe(true);
    }
  });

  it('says what was fixed, direction and reference included', () => {
    const rows = (name: PartName) =>
      choiceFixed(result(name), nameOf).map((row) => `${row.name}: ${row.value}`);
    expect(rows('three-afc')).toContain('expected to have more: Warm');
    expect(rows('open-pair')).toContain('expected to have more: no direction');
    expect(rows('open-pair')).toContain('test: directional pair, two-sided');
    expect(rows('duo-trio')).toContain('reference: each arm equally often');
    expect(rows('triangle').join()).not.toMatch(/attribute|expected to have/);
    expect(preferenceFixed(preference(false)).at(-1)?.value).toBe('may not be said');
  });

  it('draws the arm named more often first, with what is needed for one arm', () => {
    const strip = stripOf(result('open-pair', 5));
    expect(strip).toMatchObject({ counted: 19, names: { counted: 'Warm', other: 'Cool' }, critical: 18 });
    expect(stripOf(result('triangle'))).toMatchObject({ counted: 15, expected: 8, critical: 13 });
    const similar = stripOf(result('triangle', 8, { aim: 'similarity' }));
    expect(similar.alternative).toMatch(/8 of 24 right; 8 expected by guessing; \d+ at most, for similarity/);
  });

  it('shows no preference in plot, words and table, and says when it could not be said', () => {
    const asked = preferenceStrip(preference(true), nameOf);
    expect(asked.apart).toEqual({ count: 2, name: 'no preference' });
    expect(asked).toMatchObject({
      answers: 10,
      counted: 7,
      names: { counted: 'for Warm', other: 'for Cool' },
    });
    expect(asked.alternative).toMatch(/7 for Warm, 3 for Cool, 2 with no preference; 5 if even; 9 needed/);
    expect(asked.rows.map(({ what, count }) => `${what}: ${count}`)).toContain('no preference: 2');
    const forced = preferenceStrip(preference(false), nameOf);
    expect(forced.apart).toBeUndefined();
    expect(forced.rows.map(({ what, count }) => `${what}: ${count}`)).toContain(
      'no preference: could not be said',
    );
  });

  it('names saved plots by tasting, part and plot', () => {
    expect(plotFile('Pale beer, day 21', 2, 'dot-strip')).toBe('pale-beer-day-21-2-dot-strip');
  });
});
