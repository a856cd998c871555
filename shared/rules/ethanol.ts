import type { Part, SampleInput } from '../contracts/part.ts';
import { isFlight } from '../contracts/part-fit.ts';
import { ETHANOL_GRAMS_PER_ML } from '../fermentation/ethanol.ts';
import { mostMillilitres } from './kitchen-units.ts';
import { armsOfParts } from './parts.ts';

/**
 * Alcohol of a spiked cup, at most, % by volume: as it was told, or from what the reference cup adds at its dose (volumes
 * taken to add up). Null when nobody knows, which is never taken as none.
 * @param armAbv of the arm it goes into, % by volume; null: unknown.
 */
export function spikedAbv(
  { spikeAbv, spikeReference, spikeDose }: Pick<SampleInput, 'spikeAbv' | 'spikeReference' | 'spikeDose'>,
  armAbv: number | null,
): number | null {
  if (spikeAbv === 'none') return armAbv;
  if (spikeAbv !== undefined) return spikeAbv;
  const added = spikeReference?.abv ?? null;
  if (added === null || armAbv === null) return null;
  // Something without alcohol can only thin the arm.
  if (added === 0) return armAbv;
  const addedMl = spikeDose ? mostMillilitres(spikeDose.amount, spikeDose.unit) : null;
  if (!spikeDose || addedMl === null) return null;
  const mixed = (armAbv * spikeDose.perMl + added * addedMl) / (spikeDose.perMl + addedMl);
  return Math.max(armAbv, mixed);
}

/**
 * The strongest cup of a session, % by volume: of its arms and of spiked samples. All figures of ethanol take every cup for
 * it, so that they tell nothing of single cups. Null when the alcohol of a poured arm or of a spiked cup is unknown, which is
 * never taken as none. Without poured arms: 0.
 */
export function strongestCup(
  parts: readonly Part[],
  arms: readonly { id: string; abv: number | null }[],
): number | null {
  const abvOf = (armId: string): number | null => arms.find(({ id }) => id === armId)?.abv ?? null;
  const spiked = parts
    .flatMap((part) => (isFlight(part) ? part.samples : []))
    .filter(({ role }) => role === 'spiked');
  const all = [
    ...armsOfParts(parts).map(abvOf),
    ...spiked.map((sample) => spikedAbv(sample, abvOf(sample.armId))),
  ];
  return all.reduce<number | null>(
    (strongest, abv) => (strongest === null || abv === null ? null : Math.max(strongest, abv)),
    0,
  );
}

const one = (value: number): string => value.toFixed(1);

/**
 * Grams of ethanol as standard drinks, which differ from country to country: '2.4 drinks of 10 g (Australia), 1.7 of 14 g
 * (United States) or 3.0 UK units'. Says nothing about what is safe.
 * Grams from 0. Source: beside each field of StandardDrinks in ethanol.ts.
 * Example: `drinksInWords(24)` is '2.4 drinks of 10 g (Australia), 1.7 of 14 g (United States) or 3.0 UK units'
 */
export function drinksInWords(grams: number): string {
  const units = grams / ETHANOL_GRAMS_PER_ML / 10;
  return `${one(grams / 10)} drinks of 10 g (Australia), ${one(grams / 14)} of 14 g (United States) or ${one(units)} UK units`;
}
