import type { ReadingView } from '../contracts/reading.ts';

type Row = Pick<ReadingView, 'arm' | 'current' | 'takenAt'>;

/**
 * The readings of an arm that count, in the order in which their samples were taken: what was corrected is left out.
 * Example: `readingsOf([{ arm: 'a', current: true, takenAt: '2031-03-04T18:00:00Z' }], 'a').length` is 1
 */
export function readingsOf<Reading extends Row>(readings: readonly Reading[], arm: string): Reading[] {
  return readings
    .filter((one) => one.arm === arm && one.current)
    .sort((one, other) => Date.parse(one.takenAt) - Date.parse(other.takenAt));
}

/** The last values of an arm before a moment; each is the newest that was read. */
export interface LastValues {
  ph: number | null;
  phAt: string | null;
  gravity: number | null;
  gravityAt: string | null;
}

/**
 * The newest pH and the newest gravity of an arm before a moment, each with when it was taken: the last pull may have read
 * one of them only.
 * Example: `lastValues([], 'a', '2031-03-04T18:00:00Z').ph ?? -1` is -1
 */
export function lastValues(
  all: readonly (Row & Pick<ReadingView, 'ph' | 'gravity'>)[],
  arm: string,
  before: string,
): LastValues {
  const readings = readingsOf(all, arm).filter(({ takenAt }) => Date.parse(takenAt) < Date.parse(before));
  const ph = readings.findLast((one) => one.ph !== null);
  const gravity = readings.findLast((one) => one.gravity !== null);
  return {
    ph: ph?.ph ?? null,
    phAt: ph?.takenAt ?? null,
    gravity: gravity?.gravity ?? null,
    gravityAt: gravity?.takenAt ?? null,
  };
}

/**
 * Degrees Brix of an arm before it fermented: its first reading by refractometer; null where there is none. Later readings
 * by refractometer need it (`finalGravityByRefractometer`).
 * Example: `firstBrix([], 'a', Number) ?? -1` is -1
 */
export function firstBrix(
  readings: readonly (Row & Pick<ReadingView, 'typed'>)[],
  arm: string,
  numberOf: (typed: string) => number | null,
): number | null {
  for (const { typed } of readingsOf(readings, arm)) {
    const { gravity } = typed;
    if (gravity === null || gravity.instrument !== 'refractometer' || gravity.unit === 'sg') continue;
    return gravity.originalBrix ?? numberOf(gravity.text);
  }
  return null;
}
