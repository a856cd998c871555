import type { SoloResult } from '../../contracts/solo-result.ts';
import type { RandomSource } from '../../ground/random.ts';
import type { SoloState } from '../../rules/solo.ts';
import { differenceOfSolo } from './difference.ts';
import type { SoloFacts } from './facts.ts';
import { ratingOfSolo } from './rating.ts';

/**
 * What one palate found, once the series is over: from plan, answers and what stood where, and nothing else.
 * @param random for orders drawn where there are too many to go through; seeded, so that the same series gives the same.
 */
export function analyseSolo(state: SoloState, facts: SoloFacts, random: RandomSource): SoloResult {
  const { settings } = state;
  return settings.kind === 'rating'
    ? ratingOfSolo({ ...state, settings }, facts, random)
    : differenceOfSolo({ ...state, settings }, facts);
}
