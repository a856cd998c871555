import type { ReadingValues, TypedGravity, TypedValues } from '../contracts/reading.ts';
import { finalGravityByRefractometer, gravityFromBrix, gravityFromPlato } from './gravity.ts';
import { hydrometerGravity } from './hydrometer.ts';
import { typedNumber } from './typed-number.ts';

export type ReadingField = keyof TypedValues;

/** What was typed, in the units in which it is counted, and which fields hold no number. */
export interface CountedReading {
  values: ReadingValues;
  /** Fields whose text is no number: they have to be typed again. */
  noNumber: ReadingField[];
}

// From 40 P the formulas for wort say nothing, below -5 P no drink is that light.
const MAX_EXTRACT = 40;
const MIN_EXTRACT = -5;

/**
 * The values of a reading from what was typed: pH as it is, gravity as SG at 20 deg C over 20 deg C (corrected for the
 * temperature of a hydrometer's sample, or for the alcohol that a refractometer sees), temperature in deg C, volume in mL.
 * What cannot be converted (a gravity of 60 Plato) is null, and what was typed is kept beside it. Nothing is rounded.
 * Source: gravity.ts, hydrometer.ts.
 * Example: `readingValues({ ph: { text: '4,2', meterCalibratedOn: null }, gravity: null, temperature: null, taken: null }).values.ph` is 4.2
 */
export function readingValues(typed: TypedValues): CountedReading {
  const noNumber: ReadingField[] = [];
  const read = (field: ReadingField): number | null => {
    const one = typed[field];
    if (one === null) return null;
    const number = typedNumber(one.text);
    if (number === null) noNumber.push(field);
    return number?.value ?? null;
  };
  const ph = read('ph');
  const gravity = read('gravity');
  const temperature = read('temperature');
  const taken = read('taken');
  return {
    values: {
      ph,
      meterCalibratedOn: ph === null ? null : (typed.ph?.meterCalibratedOn ?? null),
      gravity: gravity === null || typed.gravity === null ? null : gravityOf(gravity, typed.gravity),
      temperatureC:
        temperature !== null && typed.temperature?.unit === 'F' ? ((temperature - 32) * 5) / 9 : temperature,
      takenMl: taken !== null && typed.taken?.unit === 'L' ? taken * 1000 : taken,
    },
    noNumber,
  };
}

function gravityOf(value: number, how: TypedGravity): number | null {
  if (how.instrument === 'refractometer') return refracted(value, how);
  const bare = how.unit === 'sg' ? value : fromExtract(value, how.unit);
  if (bare === null) return null;
  const { sampleC, calibratedAtC } = how;
  if (sampleC === null || sampleC === calibratedAtC) return bare;
  // Ice and steam have no gravity to correct.
  if (sampleC < 0 || sampleC > 100) return null;
  return hydrometerGravity({ reading: bare, sampleC, calibratedAtC }).gravity;
}

function refracted(value: number, { unit, originalBrix, wortFactor }: TypedGravity): number | null {
  // A refractometer with a scale of SG shows what sugar alone would weigh.
  const brix = unit === 'sg' ? null : value;
  if (brix === null) return originalBrix === null ? value : null;
  if (brix < 0 || brix > MAX_EXTRACT) return null;
  if (originalBrix === null) return gravityFromBrix({ brix: brix / wortFactor }).gravity;
  return finalGravityByRefractometer({ initialBrix: originalBrix, finalBrix: brix, wortFactor }).gravity;
}

/** Below 0, as a hydrometer shows in dry cider or mead, the formula for Plato goes on. */
function fromExtract(value: number, unit: 'plato' | 'brix'): number | null {
  if (value < MIN_EXTRACT || value > MAX_EXTRACT) return null;
  if (value < 0) return 1 + value / (258.6 - (227.1 * value) / 258.2);
  return unit === 'plato'
    ? gravityFromPlato({ plato: value }).gravity
    : gravityFromBrix({ brix: value }).gravity;
}
