import { gaussLegendre } from '../gauss-legendre.ts';
import { normalCdf, normalPdf } from '../normal.ts';

// Of five cups, two of one sample and three of the other. An assessor is taken to split them into two and three so that
// cups lie closest together within both groups: least sum of squared distances from the means of the groups.

const D_OF_X = Math.sqrt(5 / 6);
const X_OF_D = Math.sqrt(6 / 5);
const ROOT_2 = Math.SQRT2;
const PANELS_OF_X = 19;
const PANELS_OF_H = 4;

// The distance from the middle of an equilateral triangle to its edge grows as 1 / cos over a sixth of a turn.
const SIXTH = gaussLegendre(0, Math.PI / 3, 1).map(({ x, weight }) => ({
  steepness: 1 / (2 * Math.cos(x) ** 2),
  weight: (3 / Math.PI) * weight,
}));

/** Chance that the largest of three standard normal numbers lies more than v above their mean, v from 0. */
function beyondMean(v: number): number {
  const square = 1.5 * v * v;
  let sum = 0;
  for (const { steepness, weight } of SIXTH) sum += weight * Math.exp(-square * steepness);
  return sum;
}

/**
 * Chance that the split is wrong although the mean of the two lies x standard errors above that of the three. With the
 * means D apart, the split is right when the largest of the three lies below the mean of all five, 2/5 D above its own
 * mean, and below the smaller of the two, which is D - h, with h half the distance of the two.
 */
function missed(x: number): number {
  const apart = D_OF_X * x;
  let sum = (2 * normalCdf(0.6 * apart * ROOT_2) - 1) * beyondMean(0.4 * apart);
  for (const { x: h, weight } of gaussLegendre(0.6 * apart, apart, PANELS_OF_H)) {
    sum += weight * 2 * ROOT_2 * normalPdf(h * ROOT_2) * beyondMean(apart - h);
  }
  return sum + 2 * normalCdf(-apart * ROOT_2);
}

// Beyond 19 nothing is missed to 1e-16. Made at the first use, for few sessions ask for it.
let table: readonly { x: number; weight: number }[] | null = null;
const missedAt = (): readonly { x: number; weight: number }[] =>
  (table ??= gaussLegendre(0, PANELS_OF_X, PANELS_OF_X).map(({ x, weight }) => ({
    x,
    weight: weight * missed(x),
  })));

/**
 * Chance of a right two-out-of-five answer at d'. The difference of the means of the groups, in standard errors, is normal
 * around delta = d' sqrt(6/5), and independent of how cups lie within their groups: 1 - Int_0^inf [phi(x - delta) +
 * phi(x + delta)] M(x) dx, M the chance that the split is wrong with means so far apart.
 * Source: our own derivation from the rule above; held against simulation and SciPy's quadrature. 0.1 at d' = 0.
 * Example: `twoOfFive(1)` is 0.212843565257
 */
export function twoOfFive(dPrime: number): number {
  const delta = X_OF_D * dPrime;
  let sum = 0;
  for (const { x, weight } of missedAt()) sum += weight * (normalPdf(x - delta) + normalPdf(x + delta));
  return 1 - sum;
}

/**
 * Slope of twoOfFive per unit of d', by its derivative; 0 at d' = 0. Source: as twoOfFive.
 * Example: `twoOfFiveSlope(1)` is 0.212475353303
 */
export function twoOfFiveSlope(dPrime: number): number {
  const delta = X_OF_D * dPrime;
  let sum = 0;
  for (const { x, weight } of missedAt()) {
    sum += weight * ((delta - x) * normalPdf(x - delta) + (x + delta) * normalPdf(x + delta));
  }
  return X_OF_D * sum;
}
