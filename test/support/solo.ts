import type { SoloDifference, SoloPlan, SoloRating, SoloSettings } from '@oddglass/shared/contracts/solo.ts';
import { drawSoloTrays } from '@oddglass/shared/design/solo-seal.ts';
import { shuffled, type RandomSource } from '@oddglass/shared/ground/random.ts';
import { soloLines } from '@oddglass/shared/planner/solo.ts';
import { soloPour, type SoloState, type SoloTrayState } from '@oddglass/shared/rules/solo.ts';

export const ARM_A = 'aaaaaaaa-0000-4000-8000-000000000001';
export const ARM_B = 'aaaaaaaa-0000-4000-8000-000000000002';

export const alone = (change: Partial<SoloDifference> = {}): SoloDifference => ({
  kind: 'triangle',
  armIds: [ARM_A, ARM_B],
  stopping: 'after-all',
  trays: 12,
  cupMl: 20,
  alpha: 0.05,
  beta: 0.2,
  dPrime: 1.5,
  ...change,
});

export const rated = (change: Partial<SoloRating> = {}): SoloRating => ({
  kind: 'rating',
  armIds: [ARM_A, ARM_B],
  trays: 6,
  cupMl: 20,
  alpha: 0.05,
  attributes: [{ id: 'sour', name: 'Sourness', low: 'none', high: 'very strong' }],
  ...change,
});

/** The plan of a series, as the server draws it. */
export function planOf(settings: SoloSettings, random: RandomSource): SoloPlan {
  const { poured, tasted } = soloPour(settings);
  return {
    arms: settings.armIds.map((id, at) => ({ id, name: `Arm ${at + 1}`, mark: 'ABCD'[at] ?? '' })),
    trays: drawSoloTrays(random, { trays: settings.trays, poured, tasted }),
    lines: settings.kind !== 'rating' && settings.stopping === 'by-lines' ? soloLines(settings) : null,
  };
}

/** Cups of one tray as a hand shuffles them: what stands where, left to right. */
export function shuffledCups(settings: SoloSettings, random: RandomSource): string[] {
  const { each } = soloPour(settings);
  return shuffled(
    random,
    settings.armIds.flatMap((arm) => Array.from({ length: each }, () => arm)),
  );
}

/** A series with these trays, cautions read; the rest is not answered. */
export const stateOf = (
  settings: SoloSettings,
  plan: SoloPlan,
  trays: readonly Partial<SoloTrayState>[],
  ended = false,
): SoloState => ({
  settings,
  plan,
  trays: plan.trays.map((_, at) => ({ answer: null, stood: null, ...trays[at] })),
  cautionsRead: true,
  ended,
});
