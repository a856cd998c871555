import { finiteFrom, StatsInputError } from '../ground/input.ts';
import type { MethodFacts } from '../stats/method.ts';
import { crossing } from '../stats/root.ts';

/** A specific gravity: density at 20 C over that of water at 20 C, no unit. */
export interface Gravity extends MethodFacts {
  gravity: number;
  /** False where the formula is used outside of the values it was fitted to: show the number as unreliable. */
  withinRange: boolean;
}

export interface Plato extends MethodFacts {
  /** Extract, grams in 100 g of wort. */
  plato: number;
  withinRange: boolean;
}

export interface Brix extends MethodFacts {
  /** Sucrose, grams in 100 g of solution. */
  brix: number;
  withinRange: boolean;
}

const UNFERMENTED =
  'Unfermented, at 20 C or corrected to it; what is dissolved refracts and weighs as sucrose does.';

/**
 * Extract in degrees Plato from specific gravity: 135.997 SG^3 - 630.272 SG^2 + 1111.14 SG - 616.868.
 * The cubic gives -0.003 at 1.000, so results just below 0 are 0; below SG 1 the value is 0 and flagged. For a fermented
 * sample this is the apparent extract, which alcohol lowers, and may not be 0 at all: keep the gravity itself.
 * Within 0.01 P of the table for SG 1.000 to 1.130, flagged outside; SG above 0.9 to 1.2. Errors: StatsInputError.
 * Source: cubic fit to the ASBC sucrose table, common in brewing literature.
 * Example: `platoFromGravity({ gravity: 1.048 }).plato` is 11.9120807562
 */
export function platoFromGravity({ gravity }: { gravity: number }): Plato {
  if (!(gravity >= 0.9 && gravity <= 1.2)) {
    throw new StatsInputError('gravity', gravity, 'a specific gravity from 0.9 to 1.2, such as 1.048');
  }
  const plato = ((135.997 * gravity - 630.272) * gravity + 1111.14) * gravity - 616.868;
  return {
    plato: Math.max(0, plato),
    withinRange: gravity >= 1 && gravity <= 1.13,
    method: 'Degrees Plato from specific gravity, cubic',
    assumption: UNFERMENTED,
    source: 'ASBC sucrose table (cubic fit)',
  };
}

/**
 * Specific gravity from degrees Plato: 1 + P / (258.6 - 227.1 P / 258.2).
 * Back from the cubic of platoFromGravity it is within 0.05 P for 0 to 25 P. Flagged above 30 P; 0 to 40 P.
 * Errors: StatsInputError. Source: common practice in brewing, no primary source.
 * Example: `gravityFromPlato({ plato: 12 }).gravity` is 1.0483782422
 */
export function gravityFromPlato({ plato }: { plato: number }): Gravity {
  between('plato', plato, 0, 40);
  return {
    gravity: 1 + plato / (258.6 - (227.1 * plato) / 258.2),
    withinRange: plato <= 30,
    method: 'Specific gravity from degrees Plato',
    assumption: UNFERMENTED,
    source: 'common practice, no source',
  };
}

// Powers 0 to 10 of Brix / 100.
const AOAC = [
  1, 0.3875135555, 0.09702881653, 0.388335748, -1.782845295, 5.591472292, -11.00667976, 13.62230734,
  -10.33082001, 4.387787019, -0.799555873,
];
const MAX_BRIX = 95;
const MAX_GRAVITY = polynomial(AOAC, MAX_BRIX / 100);

/**
 * Specific gravity (20 C / 20 C) from degrees Brix of an unfermented sample, by a polynomial of degree 10.
 * Within 0.0001 of the table; never for a refractometer reading after fermentation began
 * (finalGravityByRefractometer). Flagged above 30 Brix, 0 to 95. Errors: StatsInputError.
 * Source: Hackbarth 2011, J. Am. Soc. Brew. Chem. 69:39, fit to the AOAC Brix table; coefficients as reproduced publicly.
 * Example: `gravityFromBrix({ brix: 12 }).gravity` is 1.048310922
 */
export function gravityFromBrix({ brix }: { brix: number }): Gravity {
  between('brix', brix, 0, MAX_BRIX);
  return {
    gravity: polynomial(AOAC, brix / 100),
    withinRange: brix <= 30,
    method: 'Specific gravity from degrees Brix, AOAC table',
    assumption: UNFERMENTED,
    source: 'Hackbarth 2011; AOAC Brix table',
  };
}

/**
 * Degrees Brix from specific gravity: gravityFromBrix turned round to 1e-10, so that there and back is the same number.
 * Unfermented samples only. Flagged above 30 Brix (SG 1.129); SG 1 to that of 95 Brix, 1.51. Errors: StatsInputError.
 * Source: Hackbarth 2011, as gravityFromBrix.
 * Example: `brixFromGravity({ gravity: 1.0483109220014981 }).brix` is 12.0000000000
 */
export function brixFromGravity({ gravity }: { gravity: number }): Brix {
  between('gravity', gravity, 1, MAX_GRAVITY);
  const slopes = AOAC.slice(1).map((coefficient, power) => coefficient * (power + 1));
  const share = crossing({
    low: 0,
    high: MAX_BRIX / 100,
    start: 2.613 * (1 - 1 / gravity),
    value: (x) => polynomial(AOAC, x) - gravity,
    slope: (x) => polynomial(slopes, x),
  });
  return {
    brix: 100 * share,
    withinRange: share <= 0.3,
    method: 'Degrees Brix from specific gravity, AOAC table',
    assumption: UNFERMENTED,
    source: 'Hackbarth 2011; AOAC Brix table',
  };
}

export interface RefractometerGravity extends MethodFacts {
  /** Final specific gravity. */
  gravity: number;
  /** Before fermentation, from the initial reading. */
  originalGravity: number;
  /** Share of the original extract gone by the hydrometer, (OG - FG) / (OG - 1); null for water. */
  apparentAttenuation: number | null;
  reliable: boolean;
  unreliableBecause: 'the reading rose' | 'less than 61 % attenuated' | 'outside of 0 to 30 Brix' | null;
}

// The author gives poor accuracy below about this apparent attenuation.
const MIN_ATTENUATION = 0.61;

/**
 * Final gravity from refractometer readings before and after fermentation: the refractometer reads alcohol too.
 *
 * Each reading is divided by the wort factor first (Bi, Bf). Cubic: FG = 1 - 0.0044993 Bi + 0.011774 Bf + 0.00027581 Bi^2
 * - 0.0012717 Bf^2 - 0.00000728 Bi^3 + 0.000063293 Bf^3; linear: FG = 1 - 0.00085683 Bi + 0.0034941 Bf.
 * Copies with 0.00012717 and 0.0000063293 circulate; they are slips.
 * An estimate: not for duty or labels, nor for a ferment that has only begun (flagged). Readings in Brix at 20 C or
 * temperature compensated, 0 to 40; wort factor 0.9 to 1.2, measured for the instrument, 1.04 where it was not.
 * Errors: StatsInputError. Source: Terrill 2011, Refractometer FG results; checked by a public report of 23 to 12 Brix.
 * Example: `finalGravityByRefractometer({ initialBrix: 23, finalBrix: 12 }).gravity` is 1.0204231766
 */
export function finalGravityByRefractometer({
  initialBrix,
  finalBrix,
  wortFactor = 1.04,
  formula = 'cubic',
}: {
  initialBrix: number;
  finalBrix: number;
  wortFactor?: number;
  formula?: 'cubic' | 'linear';
}): RefractometerGravity {
  between('initialBrix', initialBrix, 0, 40);
  between('finalBrix', finalBrix, 0, 40);
  between('wortFactor', wortFactor, 0.9, 1.2);
  const i = initialBrix / wortFactor;
  const f = finalBrix / wortFactor;
  const gravity =
    formula === 'linear'
      ? 1 - 0.00085683 * i + 0.0034941 * f
      : polynomial([1, -0.0044993, 0.00027581, -0.00000728], i) +
        polynomial([0, 0.011774, -0.0012717, 0.000063293], f);
  const original = gravityFromBrix({ brix: i }).gravity;
  const attenuation = original > 1 ? (original - gravity) / (original - 1) : null;
  const because = doubt(i, f, attenuation);
  return {
    gravity,
    originalGravity: original,
    apparentAttenuation: attenuation,
    reliable: because === null,
    unreliableBecause: because,
    method: `Final gravity by refractometer, ${formula} formula`,
    assumption: 'Both readings with one instrument at 20 C; nothing but the original extract was fermented.',
    source: 'Terrill 2011',
  };
}

function doubt(i: number, f: number, attenuation: number | null): RefractometerGravity['unreliableBecause'] {
  if (f > i) return 'the reading rose';
  if (i > 30) return 'outside of 0 to 30 Brix';
  return attenuation === null || attenuation < MIN_ATTENUATION ? 'less than 61 % attenuated' : null;
}

function between(field: string, value: number, least: number, most: number): void {
  finiteFrom(field, value, least);
  if (value > most) throw new StatsInputError(field, value, `at most ${most}`);
}

function polynomial(coefficients: readonly number[], x: number): number {
  return coefficients.reduceRight((sum, coefficient) => sum * x + coefficient, 0);
}
