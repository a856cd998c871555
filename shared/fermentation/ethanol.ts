import { finiteFrom, StatsInputError } from '../ground/input.ts';

/** Density of ethanol at 20 C, g/mL. Source: common handbook value, as in the national standard drinks below. */
export const ETHANOL_GRAMS_PER_ML = 0.789;

/** A poured or swallowed amount. */
export interface Pour {
  /** Volume, mL. */
  ml: number;
  /** Alcohol by volume, per cent. */
  abvPercent: number;
}

/**
 * Grams of pure ethanol in a pour: mL x ABV / 100 x 0.789. An unknown ABV gives null, never 0.
 * Volume from 0 mL, ABV 0 to 100 per cent. Errors: StatsInputError. Source: the mass of the volume at 20 C.
 * Example: `ethanolGrams({ ml: 330, abvPercent: 5 })` is 13.0185
 */
export function ethanolGrams(pour: Pour): number;
export function ethanolGrams(pour: { ml: number; abvPercent: number | null }): number | null;
export function ethanolGrams({ ml, abvPercent }: { ml: number; abvPercent: number | null }): number | null {
  const pure = ethanolMl(ml, abvPercent);
  return pure === null ? null : pure * ETHANOL_GRAMS_PER_ML;
}

export interface StandardDrinks {
  /** Australia: 10 g (NHMRC; Food Standards Code 2.7.1). */
  australia: number;
  /** United States: 14 g (NIAAA; 0.6 US fl oz). */
  unitedStates: number;
  /** United Kingdom: units of 10 mL pure ethanol, 7.89 g (UK Chief Medical Officers). */
  ukUnits: number;
  /** The UK unit as it is often told, 8 g: 1.4 % fewer units than by volume. */
  ukUnitsOf8Grams: number;
}

/**
 * A pour in national standard drinks. An unknown ABV gives null, never 0. Says nothing about what is safe.
 * Volume from 0 mL, ABV 0 to 100 per cent. Errors: StatsInputError. Source: beside each field of StandardDrinks.
 * Example: `standardDrinks({ ml: 568, abvPercent: 4 }).ukUnits` is 2.272
 */
export function standardDrinks(pour: Pour): StandardDrinks;
export function standardDrinks(pour: { ml: number; abvPercent: number | null }): StandardDrinks | null;
export function standardDrinks({
  ml,
  abvPercent,
}: {
  ml: number;
  abvPercent: number | null;
}): StandardDrinks | null {
  const pure = ethanolMl(ml, abvPercent);
  if (pure === null) return null;
  const grams = pure * ETHANOL_GRAMS_PER_ML;
  return {
    australia: grams / 10,
    unitedStates: grams / 14,
    ukUnits: pure / 10,
    ukUnitsOf8Grams: grams / 8,
  };
}

function ethanolMl(ml: number, abvPercent: number | null): number | null {
  finiteFrom('ml', ml, 0);
  if (abvPercent === null) return null;
  if (!(abvPercent >= 0 && abvPercent <= 100)) {
    throw new StatsInputError('abvPercent', abvPercent, 'a number from 0 to 100');
  }
  return (ml * abvPercent) / 100;
}
