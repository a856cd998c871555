import { analyseSolo } from '@oddglass/shared/analysis/solo/solo.ts';
import type { SoloDifferenceResult, SoloRatingResult } from '@oddglass/shared/contracts/solo-result.ts';
import { soloResult } from '@oddglass/shared/contracts/solo-result.ts';
import type { SoloAnswer, SoloDifference } from '@oddglass/shared/contracts/solo.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import type { SoloTrayState } from '@oddglass/shared/rules/solo.ts';
import { describe, expect, test } from 'vitest';
import { alone, ARM_A, ARM_B, planOf, rated, stateOf } from '../../support/solo.ts';

const random = () => seededRandom(new Uint8Array(32).fill(5));
const FACTS = { putRight: 0, fairTest: [] };

/** Triangles of which the first `found` name the odd cup, by counting by hand: it stands left. */
function series(settings: SoloDifference, found: number, more: Partial<SoloTrayState>[] = []) {
  const plan = planOf(settings, random());
  const trays = plan.trays
    .slice(0, settings.trays - more.length)
    .map(({ codes }, at): Partial<SoloTrayState> => {
      const asked = codes.flatMap((code, place) => (code === null ? [] : [{ code, place }]));
      const odd = asked[0]!;
      const armIds = codes.map((code, place) => (code === null || place === odd.place ? ARM_A : ARM_B));
      const said = at < found ? odd : asked[1]!;
      return { answer: { kind: 'choice', codes: [said.code] }, stood: { armIds, asPlanned: true } };
    });
  return stateOf(settings, plan, [...trays, ...more]);
}
const told = (...of: Parameters<typeof series>) =>
  soloResult.parse(analyseSolo(series(...of), FACTS, random())) as SoloDifferenceResult;

describe('triangles of one palate', () => {
  test('8 of 12 speak for a difference, 7 do not', () => {
    // ISO 4120: 8 of 12 at 5 %. p by hand: (495 * 16 + 220 * 8 + 66 * 4 + 12 * 2 + 1) / 3^12.
    const yes = told(alone(), 8);
    expect([yes.counted, yes.found, yes.expected, yes.needed, yes.verdict]).toEqual([
      12,
      8,
      4,
      8,
      'difference',
    ]);
    expect(yes.p).toBeCloseTo(9969 / 531_441, 14);
    expect(yes.headline).toBe('One palate told Arm 1 and Arm 2 apart, in eight of twelve trays.');
    const no = told(alone(), 7);
    expect(no.verdict).toBe('open');
    expect(no.headline).toContain('guessing may have done');
    expect(no.says.join(' ')).toContain('does not mean that the arms are the same');
  });

  test('what was left out, poured otherwise or never poured is told and not counted', () => {
    const more: Partial<SoloTrayState>[] = [
      { answer: { kind: 'left-out', why: 'spilt' } },
      {
        answer: { kind: 'choice', codes: ['157'] },
        stood: { armIds: [ARM_A, ARM_A, ARM_A, ARM_B], asPlanned: false },
      },
      {},
    ];
    const state = { ...series(alone(), 6, more), ended: true };
    const result = analyseSolo(state, { putRight: 1, fairTest: ['The warm arm held air.'] }, random());
    expect([result.counted, result.leftOut, result.otherwise]).toEqual([9, 1, 1]);
    const caveats = result.caveats.join(' ');
    for (const words of [
      'One palate',
      'ended with one tray',
      'left out before',
      'poured otherwise',
      'put right one time',
      'held air',
    ])
      expect(caveats).toContain(words);
  });

  test('nothing counted is nothing known', () => {
    const result = told(alone({ trays: 1 }), 0, [{ answer: { kind: 'left-out', why: 'seen' } }]);
    expect([result.p, result.share, result.dPrime]).toEqual([null, null, null]);
    expect(result.headline).toContain('nothing is known');
  });

  test('after a stop by lines neither p nor interval is told', () => {
    const settings = alone({ stopping: 'by-lines', trays: 10, dPrime: 2 });
    const result = told(settings, 10);
    expect([result.verdict, result.p, result.share, result.dPrime]).toEqual(['difference', null, null, null]);
    expect(result.counted).toBeLessThan(10);
    expect(result.caveats.join(' ')).toContain('what came later changes nothing');
    expect(result.says.join(' ')).toContain('spoke after tray');
    const less = told(settings, 0);
    expect(less.verdict).toBe('less');
    expect(less.says.join(' ')).toContain('not the same as no difference');
  });
});

describe('marks of one palate', () => {
  const rating = (marks: [number, number | null][], settings = rated({ trays: marks.length })) => {
    const plan = planOf(settings, random());
    const trays = marks.map(([a, b], at): Partial<SoloTrayState> => {
      // Every second tray stands the other way round.
      const row = at % 2 === 0 ? [ARM_A, ARM_B] : [ARM_B, ARM_A];
      const answer: SoloAnswer = { kind: 'marks', marks: row.map((arm) => [arm === ARM_A ? a : b]) };
      return { answer, stood: { armIds: row, asPlanned: true } };
    });
    return soloResult.parse(analyseSolo(stateOf(settings, plan, trays), FACTS, random())) as SoloRatingResult;
  };

  test('six trays all one way: p is 2 of 64', () => {
    const result = rating([
      [20, 60],
      [25, 66],
      [10, 70],
      [30, 61],
      [22, 59],
      [18, 80],
    ]);
    const [sour] = result.attributes;
    expect(sour?.p).toBeCloseTo(2 / 64, 12);
    expect(sour?.means.map(({ mean }) => mean)).toEqual([125 / 6, 396 / 6]);
    expect(result.headline).toBe('One palate marked Arm 1 and Arm 2 apart in Sourness, over six trays.');
  });

  test('a tray with a cup that could not be marked is left out of that attribute', () => {
    const result = rating([
      [20, 60],
      [60, 20],
      [10, null],
    ]);
    expect(result.attributes[0]?.trays).toBe(2);
    expect(result.attributes[0]?.p).toBe(1);
    expect(result.says.join(' ')).toContain('does not mean that they are the same');
  });
});
