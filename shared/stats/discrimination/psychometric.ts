import { gaussLegendre } from '../gauss-legendre.ts';
import { finiteFrom } from '../../ground/input.ts';
import { normalCdf, normalPdf } from '../normal.ts';
import type { TestKind } from './guessing.ts';
import { twoOfFive, twoOfFiveSlope } from './two-of-five.ts';

/** Tests with a psychometric function: all of them. */
export type ThurstonianTest = TestKind;

const ROOT_2 = Math.SQRT2;
const ROOT_3 = Math.sqrt(3);
const ROOT_6 = Math.sqrt(6);
const ROOT_2_3 = Math.sqrt(2 / 3);

// The normal density beyond 9 holds 1e-19. Panels of width 1: the integrands change on a scale of about 1/2.
const LINE = gaussLegendre(-9, 9, 18).map(({ x, weight }) => ({
  x,
  cdf: normalCdf(x),
  weight: weight * normalPdf(x),
}));
const HALF_LINE = gaussLegendre(0, 9, 9).map(({ x, weight }) => ({ x, weight: weight * normalPdf(x) }));

/** Integral of f(x, Phi(x)) phi(x) over the real line. */
function overLine(f: (x: number, cdf: number) => number): number {
  let sum = 0;
  for (const { x, cdf, weight } of LINE) sum += weight * f(x, cdf);
  return sum;
}

/** Integral of f(x) phi(x) from 0 up. */
function overHalfLine(f: (x: number) => number): number {
  let sum = 0;
  for (const { x, weight } of HALF_LINE) sum += weight * f(x);
  return sum;
}

const PROPORTION: Readonly<Record<ThurstonianTest, (d: number) => number>> = {
  '2-AFC': (d) => normalCdf(d / ROOT_2),
  '3-AFC': (d) => overLine((x) => normalCdf(x + d) ** 2),
  'duo-trio': (d) => {
    const a = normalCdf(d / ROOT_2);
    const b = normalCdf(d / ROOT_6);
    return a * b + (1 - a) * (1 - b);
  },
  triangle: (d) =>
    2 * overHalfLine((x) => normalCdf(-x * ROOT_3 + d * ROOT_2_3) + normalCdf(-x * ROOT_3 - d * ROOT_2_3)),
  tetrad: (d) =>
    1 -
    2 *
      overLine((x, cdf) => {
        const shifted = normalCdf(x - d);
        return 2 * cdf * shifted - shifted * shifted;
      }),
  'two-of-five': twoOfFive,
};

const SLOPE: Readonly<Record<ThurstonianTest, (d: number) => number>> = {
  '2-AFC': (d) => normalPdf(d / ROOT_2) / ROOT_2,
  '3-AFC': (d) => 2 * overLine((x) => normalCdf(x + d) * normalPdf(x + d)),
  'duo-trio': (d) =>
    (normalPdf(d / ROOT_2) / ROOT_2) * (2 * normalCdf(d / ROOT_6) - 1) +
    (normalPdf(d / ROOT_6) / ROOT_6) * (2 * normalCdf(d / ROOT_2) - 1),
  triangle: (d) =>
    2 *
    ROOT_2_3 *
    overHalfLine((x) => normalPdf(-x * ROOT_3 + d * ROOT_2_3) - normalPdf(-x * ROOT_3 - d * ROOT_2_3)),
  tetrad: (d) => 4 * overLine((x, cdf) => normalPdf(x - d) * (cdf - normalCdf(x - d))),
  'two-of-five': twoOfFiveSlope,
};

/**
 * Thurstonian psychometric function: chance of a right answer when the samples lie d' perceptual standard
 * deviations apart.
 * 2-AFC Phi(d/sqrt2); 3-AFC Int phi(z) Phi(z + d)^2 dz; duo-trio Phi(d/sqrt2) Phi(d/sqrt6) + the same of both
 * complements; triangle 2 Int_0^inf [Phi(-z sqrt3 + d sqrt(2/3)) + Phi(-z sqrt3 - d sqrt(2/3))] phi(z) dz;
 * tetrad 1 - 2 Int phi(x) [2 Phi(x) Phi(x - d) - Phi(x - d)^2] dx; two-of-five in `two-of-five.ts`.
 * Not across methods: a triangle answer needs the triangle function, although 3-AFC has the same guess rate.
 *
 * d' finite, from 0; the result is a probability, within 1e-14. Errors: StatsInputError.
 * Source: Ura 1960; David & Trivedi 1962; Ennis 1993, J. Sens. Stud. 8:353; Ennis & Jesionka 2011 (tetrad);
 * two-of-five by our own derivation.
 * Example: `psychometric('triangle', 1)` is 0.418046674715
 */
export function psychometric(test: ThurstonianTest, dPrime: number): number {
  finiteFrom('dPrime', dPrime, 0);
  return Math.min(1, PROPORTION[test](dPrime));
}

/**
 * Slope of psychometric at d', by the analytic derivative: per unit of d'. 0 at d' = 0 for triangle, duo-trio,
 * tetrad and two-of-five. d' finite, from 0; within 1e-14. Errors: StatsInputError. Source: as psychometric;
 * Bi, Ennis & O'Mahony 1997, J. Sens. Stud. 12:87.
 * Example: `psychometricSlope('triangle', 1.46626278006)` is 0.19066076509
 */
export function psychometricSlope(test: ThurstonianTest, dPrime: number): number {
  finiteFrom('dPrime', dPrime, 0);
  return SLOPE[test](dPrime);
}
