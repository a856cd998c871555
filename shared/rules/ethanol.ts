import type { Part } from '../contracts/part.ts';
import { isFlight } from '../contracts/part-fit.ts';
import { ETHANOL_GRAMS_PER_ML } from '../fermentation/ethanol.ts';
import { armsOfParts } from './parts.ts';

/**
 * The strongest cup of a session, % by volume: of its arms, and of spiked samples whose alcohol was told. All figures of
 * ethanol take every cup for it, so that they tell nothing of single cups. Null when the alcohol of a poured arm is unknown,
 * which is never taken as none. Without poured arms: 0.
 */
export function strongestCup(
  parts: readonly Part[],
  arms: readonly { id: string; abv: number | null }[],
): number | null {
  let strongest = 0;
  for (const id of armsOfParts(parts)) {
    const abv = arms.find((arm) => arm.id === id)?.abv ?? null;
    if (abv === null) return null;
    strongest = Math.max(strongest, abv);
  }
  for (const { spikeAbv } of parts.filter(isFlight).flatMap(({ samples }) => samples))
    strongest = Math.max(strongest, spikeAbv ?? 0);
  return strongest;
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
