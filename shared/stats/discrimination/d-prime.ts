import { finiteFrom, probability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalQuantile } from '../normal.ts';
import { crossing } from '../root.ts';
import { answers, GUESS_RATE } from './guessing.ts';
import { psychometric, psychometricSlope, type ThurstonianTest } from './psychometric.ts';

/** Largest d' looked for: beyond about 12 every proportion rounds to 1. */
export const LARGEST_D_PRIME = 30;

/**
 * d' at which `proportion` answers are right: the psychometric function inverted on [0, 30].
 * At or below guessing: 0. All right: null, d' is unbounded. proportion from 0 to 1.
 * Errors: StatsInputError. Source: as psychometric.
 * Example: `dPrimeFromProportion('triangle', 0.5)` is 1.46626278006
 */
export function dPrimeFromProportion(test: ThurstonianTest, proportion: number): number | null {
  probability('proportion', proportion);
  if (proportion <= GUESS_RATE[test]) return 0;
  if (proportion >= psychometric(test, LARGEST_D_PRIME)) return null;
  return crossing({
    low: 0,
    high: LARGEST_D_PRIME,
    start: 1.5,
    value: (d) => psychometric(test, d) - proportion,
    slope: (d) => psychometricSlope(test, d),
  });
}

/**
 * Variance factor B of a d' estimated from `proportion`: var(d') = B / n, B = pc (1 - pc) / slope^2.
 * Null at or below guessing and for all right. Errors: StatsInputError.
 * Source: Bi, Ennis & O'Mahony 1997, J. Sens. Stud. 12:87.
 * Example: `dPrimeVarianceFactor('triangle', 0.5)` is 6.87729
 */
export function dPrimeVarianceFactor(test: ThurstonianTest, proportion: number): number | null {
  const d = dPrimeFromProportion(test, proportion);
  if (d === null || d === 0) return null;
  return (proportion * (1 - proportion)) / psychometricSlope(test, d) ** 2;
}

export interface DPrimeInterval extends MethodFacts {
  /** d', not below 0; null without data and, unbounded, when all are right. */
  estimate: number | null;
  /** 2-AFC only: d' with its direction, sqrt(2) z(pc). Null for other tests, without data, for none or all right. */
  signed: number | null;
  /** By the delta method; null where the slope is 0 or no estimate exists. */
  standardError: number | null;
  lower: number;
  /** Null: unbounded. */
  upper: number | null;
}

/**
 * Size of a difference in perceptual standard deviations, with limits carried over from those of the proportion
 * correct (exact or Wilson), which hold near 0 where d' +- z SE fails.
 * SE = sqrt(pc (1 - pc) / n) / pc'(d'). For repeated answers pass the limits of replicatedProportion, and its
 * effective number as `effectiveN`, which then takes the place of n in the SE.
 * Assumes unidimensional normal percepts of equal variance, the unbiased rule of the method and assessors alike.
 *
 * correct 0..n, limits from 0 to 1, effectiveN above 0 or left out. No data: nulls and [0, unbounded).
 * Errors: StatsInputError. Source: Ennis 1993, J. Sens. Stud. 8:353; Bi, Ennis & O'Mahony 1997, J. Sens. Stud. 12:87;
 * ASTM E2262.
 * Example: `dPrimeInterval({ test: 'triangle', correct: 15, n: 30, lower: 0.312970285868, upper: 0.687029714132 }).upper` is 2.43172953
 */
export function dPrimeInterval({
  test,
  correct,
  n,
  lower,
  upper,
  effectiveN = n,
}: {
  test: ThurstonianTest;
  correct: number;
  n: number;
  lower: number;
  upper: number;
  effectiveN?: number;
}): DPrimeInterval {
  answers({ correct, n });
  probability('lower', lower);
  probability('upper', upper);
  finiteFrom('effectiveN', effectiveN, 0);
  if (n > 0 && effectiveN === 0) throw new StatsInputError('effectiveN', effectiveN, 'a number above 0');
  const proportion = n === 0 ? null : correct / n;
  const factor = proportion === null ? null : dPrimeVarianceFactor(test, proportion);
  return {
    estimate: proportion === null ? null : dPrimeFromProportion(test, proportion),
    signed:
      test === '2-AFC' && proportion !== null && proportion > 0 && proportion < 1
        ? Math.SQRT2 * normalQuantile(proportion)
        : null,
    standardError: factor === null ? null : Math.sqrt(factor / effectiveN),
    // A lower limit of 1 cannot be met: it is not reached by any level below 1.
    lower: dPrimeFromProportion(test, lower) ?? LARGEST_D_PRIME,
    upper: dPrimeFromProportion(test, upper),
    method: 'Thurstonian d-prime, interval from the limits of the proportion correct',
    assumption:
      'Percepts vary normally along one dimension with equal spread, assessors are alike and use the rule of the method.',
    source: "Ennis 1993; Bi, Ennis & O'Mahony 1997; ASTM E2262",
  };
}
