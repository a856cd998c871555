import type { DifferencePart, RatingScale } from '../contracts/part.ts';
import type { Simulation } from '../contracts/rehearsal.ts';
import { differenceOf } from '../kinds/kinds.ts';
import { normalCdf } from '../stats/normal.ts';
import { saysDifferent } from '../stats/discrimination/same-different.ts';
import { psychometric } from '../stats/discrimination/psychometric.ts';
import { CRITERION } from './answer.ts';
import { MARK_SPREADS } from './marks.ts';

// What simulated people come to in the long run: what a host holds a result against.

type Way = Pick<Simulation, 'dPrime' | 'careless'>;

/**
 * Share of right answers that these people give in the long run: by the psychometric function where they taste, by the guessing
 * rate where they are careless. Without what a position adds. Source: Ennis 1993, J. Sens. Stud. 8:353.
 * At d-prime 0 it is the guessing rate.
 */
export function expectedShare(part: DifferencePart, { dPrime, careless }: Way): number {
  const { stats, guessRate } = differenceOf(part).test;
  return careless * guessRate + (1 - careless) * psychometric(stats, dPrime);
}

/** Share of those with a preference who prefer the second arm, where everybody has to choose: a choice between two. */
export function expectedPreference({ dPrime, careless }: Way): number {
  return careless / 2 + (1 - careless) * normalCdf(dPrime / Math.SQRT2);
}

/** Shares of pairs called different, of those that differ and of those that do not; differencing, Macmillan & Creelman 2005. */
export function expectedDifferent({ dPrime, careless }: Way): { hit: number; falseAlarm: number } {
  const tasted = saysDifferent({ dPrime, criterion: CRITERION });
  return {
    hit: careless / 2 + (1 - careless) * tasted.hit,
    falseAlarm: careless / 2 + (1 - careless) * tasted.falseAlarm,
  };
}

/** Difference between marks of neighbouring arms in the long run, in units of the scale, where no end of it is reached. */
export function expectedStep(
  scale: RatingScale | 'liking',
  attributeId: string | null,
  { dPrime, careless, attributeSteps }: Way & Pick<Simulation, 'attributeSteps'>,
): number {
  const own = attributeId === null ? undefined : attributeSteps[attributeId];
  return (1 - careless) * (own ?? dPrime * MARK_SPREADS[scale].noise);
}
