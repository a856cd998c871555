import { assessPlan } from '@oddglass/shared/planner/planner.ts';
import type { PlannedArm, PlannedSettings } from '@oddglass/shared/planner/plan-reading.ts';
import type { DifferencePart } from '@oddglass/shared/contracts/part.ts';
import { describe, expect, test } from 'vitest';

const id = (at: number) => `00000000-0000-4000-8000-00000000000${at}`;
const arms: PlannedArm[] = ['Cool', 'Warm'].map((name, at) => ({
  id: id(at),
  name,
  volumeMl: 20_000,
  abv: 4,
}));
const triangle: DifferencePart = {
  kind: 'triangle',
  armIds: [id(0), id(1)],
  replicates: 1,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
};
const settings = (change: Partial<PlannedSettings>): PlannedSettings => ({
  assessors: 12,
  spareSeats: 2,
  cupMl: 40,
  restSeconds: 0,
  masking: false,
  servingNote: '',
  parts: [triangle],
  ...change,
});

describe('a plan in waves', () => {
  const wavesOfPlan = (change: Partial<PlannedSettings>) => {
    const { sayings, warnings } = assessPlan(settings(change), arms);
    const about = (list: readonly string[], words: RegExp) => list.filter((text) => words.test(text));
    return { says: about(sayings, / waves of at most /), warns: about(warnings, /^Pour each wave/) };
  };

  test('says how many waves, that the evening is as long as they are, and warns of cups that stand', () => {
    const { says, warns } = wavesOfPlan({ assessors: 15, spareSeats: 0, seatsAtOnce: 4 });
    expect(says).toEqual([
      '15 seats in four waves of at most four: the evening lasts about as long as four tastings, one after the other. Orders are balanced over all waves, and less evenly within one.',
    ]);
    expect(warns).toHaveLength(1);
    expect(warns[0]).toMatch(/never all at once: cups that stand lose gas and aroma/);
  });

  test('says that a last wave of spare seats need not be called', () => {
    const spare = { assessors: 12, spareSeats: 2, seatsAtOnce: 4 };
    expect(wavesOfPlan(spare).says[0]).toMatch(
      /The last wave is of spare seats only, and need not be called/,
    );
    expect(wavesOfPlan({ ...spare, assessors: 13 }).says[0]).not.toMatch(/spare seats only/);
  });

  test('says nothing where there is room for all', () => {
    for (const seatsAtOnce of [undefined, 14, 200]) {
      const plan = { assessors: 12, spareSeats: 2, ...(seatsAtOnce && { seatsAtOnce }) };
      expect(wavesOfPlan(plan)).toEqual({ says: [], warns: [] });
    }
  });
});
