import { StatsInputError } from '../ground/input.ts';
import type { MethodFacts } from '../stats/method.ts';

export interface AlcoholByVolume extends MethodFacts {
  /** Per cent by volume; an estimate. */
  abvPercent: number;
  /** False above 8 %, where the straight line falls short of what fermentation gives. */
  withinRange: boolean;
}

/**
 * Alcohol by volume from the drop in specific gravity: ABV = (OG - FG) x 131.25.
 * An estimate for ordinary beer: too low above about 8 % (flagged), and wrong for anything distilled, blended, diluted or
 * sweetened after the first reading. Not for labels or duty, nor to say that a drink is free of alcohol.
 * Both at 20 C; a refractometer's final reading first through finalGravityByRefractometer. OG 1 to 1.2, FG 0.9 to OG.
 * Errors: StatsInputError. Source: common practice in brewing, from memory.
 * Example: `abvFromGravity({ originalGravity: 1.05, finalGravity: 1.01 }).abvPercent` is 5.2500000000
 */
export function abvFromGravity({
  originalGravity,
  finalGravity,
}: {
  originalGravity: number;
  finalGravity: number;
}): AlcoholByVolume {
  if (!(originalGravity >= 1 && originalGravity <= 1.2)) {
    throw new StatsInputError('originalGravity', originalGravity, 'a specific gravity from 1 to 1.2');
  }
  if (!(finalGravity >= 0.9 && finalGravity <= originalGravity)) {
    throw new StatsInputError(
      'finalGravity',
      finalGravity,
      `a specific gravity from 0.9 to ${originalGravity}`,
    );
  }
  const abvPercent = (originalGravity - finalGravity) * 131.25;
  return {
    abvPercent,
    withinRange: abvPercent <= 8,
    method: 'ABV from the drop in specific gravity',
    assumption: 'All alcohol comes from the extract between the two readings, as in ordinary beer.',
    source: 'common practice, no source',
  };
}
