import { StatsInputError } from '../ground/input.ts';
import type { MethodFacts } from '../stats/method.ts';
import { waterDensity } from './water-density.ts';

export interface HydrometerGravity extends MethodFacts {
  /** Specific gravity at 20 deg C over 20 deg C. */
  gravity: number;
  /** False far from the temperature for which the hydrometer was made: show the number as rough. */
  withinRange: boolean;
}

// Volume of soda-lime glass for each kelvin, as tables for glass hydrometers take it (NBS Circular 440: 0.000025).
const GLASS = 25e-6;

/**
 * What a hydrometer read in a sample that was warmer or colder than it was made for (20 deg C, or 15.6 deg C = 60 deg F).
 * The density of the sample is what it reads, times water at `calibratedAtC`, less what the glass has grown; the sample is
 * taken to expand as water does, so that the same ratio holds at 20 deg C. Sugar makes it expand somewhat more: about 0.0002
 * at 10 K and 12 % extract. Flagged beyond 15 K from `calibratedAtC`: cool the sample instead. 0 to 100 deg C.
 * Errors: StatsInputError. Source: Kell 1975 for water; common practice for 'expands as water'.
 * Example: `hydrometerGravity({ reading: 1.048, sampleC: 30, calibratedAtC: 20 }).gravity` is 1.050428710699
 */
export function hydrometerGravity({
  reading,
  sampleC,
  calibratedAtC,
}: {
  reading: number;
  sampleC: number;
  calibratedAtC: 20 | 15.6;
}): HydrometerGravity {
  if (!Number.isFinite(reading)) throw new StatsInputError('reading', reading, 'a finite number');
  const grown = 1 + GLASS * (sampleC - calibratedAtC);
  const water = waterDensity({ celsius: calibratedAtC }) / waterDensity({ celsius: sampleC });
  return {
    gravity: (reading * water) / grown,
    withinRange: Math.abs(sampleC - calibratedAtC) <= 15,
    method: 'Hydrometer corrected for temperature',
    assumption:
      'The sample expands as water does, the hydrometer is of soda-lime glass and carries no gas bubbles.',
    source: 'Kell 1975 (water); common practice',
  };
}
