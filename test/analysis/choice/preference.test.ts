import { analysePreference } from '@oddglass/shared/analysis/choice/preference.ts';
import { preferenceResult } from '@oddglass/shared/contracts/result-choice.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { named, referenceCase } from '../../stats/reference-case.ts';
import { ARMS, input, preferencePart, tray } from './choice-input.ts';

/** Votes for the first arm, the second, and neither, over both orders. */
function votes(first: number, second: number, none = 0) {
  const said = [
    ...Array.from({ length: first }, () => 'A'),
    ...Array.from({ length: second }, () => 'B'),
    ...Array.from({ length: none }, () => ''),
  ];
  return said.map((letter, index) => {
    const order = index % 2 === 0 ? 'AB' : 'BA';
    const chosen = letter === '' ? [] : [order.indexOf(letter) + 1];
    return tray(order, chosen, {
      assessor: `a${index}`,
      confidence: null,
      comment: letter === '' ? 'cannot say' : '',
      descriptors: letter === 'A' ? ['banana'] : [],
    });
  });
}
const analyse = (first: number, second: number, none = 0, change = {}) =>
  analysePreference(input({ ...preferencePart, ...change }, votes(first, second, none)));

describe('paired preference', () => {
  test('holds to its contract for any panel, in any order of trays, and never says that arms are the same', () => {
    const few = fc.integer({ min: 0, max: 15 });
    fc.assert(
      fc.property(few, few, few, fc.boolean(), (first, second, none, noPreference) => {
        const part = { ...preferencePart, noPreference };
        const served = votes(first, second, noPreference ? none : 0);
        const result = analysePreference(input(part, served));
        expect(preferenceResult.parse(result)).toEqual(result);
        expect(analysePreference(input(part, [...served].reverse()))).toEqual(result);
        const words = JSON.stringify([result.finding, result.caveats, result.methods]);
        expect(words).not.toMatch(/NaN|undefined|Infinity|\?|the same|no difference|almost|trend/);
      }),
      { numRuns: 100 },
    );
  });

  const points = referenceCase<{ n: number[] }, Record<'0.05' | '0.01', number[]>>(
    'two-sided-preference-published-points',
  );
  test(`the verdict turns at the published number, for either arm: ${named(points)}`, () => {
    points.input.n.forEach((n, index) => {
      for (const alpha of [0.05, 0.01] as const) {
        const critical = points.expected[`${alpha}`][index] ?? NaN;
        expect(analyse(critical, n - critical, 0, { alpha }).finding.verdict).toBe('preference-shown');
        expect(analyse(n - critical, critical, 0, { alpha }).finding.verdict).toBe('preference-shown');
        const short = analyse(critical - 1, n - critical + 1, 0, { alpha });
        expect(short.finding.verdict).toBe('preference-not-shown');
        expect(short.test.critical).toBe(critical);
      }
    });
  });

  test('no preference is counted apart, left out of the test as declared, and said', () => {
    const result = analyse(17, 5, 8);
    expect(result.votes.map((row) => row.votes)).toEqual([17, 5]);
    expect(result.test).toMatchObject({ policy: 'exclude', answers: 22, most: 17 });
    // 2 P(X >= 17 | 22, 1/2) = 2 (26334 + 7315 + 1540 + 231 + 22 + 1) / 2^22, by counting.
    expect(result.test.p).toBeCloseTo((2 * (26334 + 7315 + 1540 + 231 + 22 + 1)) / 2 ** 22, 14);
    expect(result.noPreference).toMatchObject({ offered: true, answers: 8 });
    expect(result.noPreference.share?.estimate).toBeCloseTo(8 / 30, 14);
    expect(result.finding.headline).toMatch(/17 of 22 with a preference preferred Cool\./);
    expect(result.finding.headline).toMatch(/Eight had no preference/);
    expect(result.comments).toEqual(Array.from({ length: 8 }, () => ({ armId: null, text: 'cannot say' })));
    expect(result.descriptors).toEqual([{ word: 'banana', first: 17, second: 0, none: 0 }]);
  });

  test('the share is that of the arm named more often, with the interval that pairs with the test', () => {
    const result = analyse(5, 15);
    expect(result.share).toMatchObject({ armId: ARMS[1], estimate: 0.75, level: 0.95 });
    const mirrored = analyse(15, 5);
    expect(mirrored.share).toMatchObject({ armId: ARMS[0], estimate: 0.75 });
    expect(mirrored.share?.lower).toBeCloseTo(result.share?.lower ?? NaN, 12);
    for (let first = 0; first <= 20; first++) {
      const { share, finding } = analyse(first, 20 - first);
      expect([first, (share?.lower ?? 0) > 0.5]).toEqual([first, finding.verdict === 'preference-shown']);
    }
  });

  test('nobody, only undecided, and an even split', () => {
    expect(analyse(0, 0).finding.verdict).toBe('no-data');
    expect(analyse(0, 0, 4).finding).toMatchObject({
      verdict: 'preference-not-shown',
      headline: 'Nobody preferred either arm.',
    });
    const even = analyse(6, 6);
    expect(even.test.p).toBe(1);
    expect(even.finding.lede).toMatch(/does not show that the arms are liked alike/);
  });
});
