import { isChoice } from '../contracts/part-fit.ts';
import type { Part, SampleRole } from '../contracts/part.ts';
import { armsOfPart } from '../rules/parts.ts';

/**
 * Where the arms of a part lie: each so much further than the one that the part names before it, the first at 0. Where an
 * arm is named as the stronger of two, that one lies further; of a control, the control lies at 0.
 */
export function armPlaces(poured: Part, step: number): ReadonlyMap<string, number> {
  const arms = armsOfPart(poured);
  const stronger = isChoice(poured) && 'strongerArmId' in poured ? poured.strongerArmId : null;
  const order = stronger === null ? arms : [...arms.filter((armId) => armId !== stronger), stronger];
  return new Map(order.map((armId, at) => [armId, at * step]));
}

// What is added is clearly there.
const SPIKE_STEPS = 2;

/** Where a cup lies; what was spiked lies two steps beyond its arm. An arm that the part does not name lies at 0. */
export function placeOf(
  places: ReadonlyMap<string, number>,
  { armId, role }: { armId: string; role: SampleRole },
): number {
  const [, step = 0] = [...places.values()];
  return (places.get(armId) ?? 0) + (role === 'spiked' ? SPIKE_STEPS * step : 0);
}
