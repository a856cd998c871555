import { probability, StatsInputError } from '../ground/input.ts';
import { deviance, stirlingError } from './saddle-point.ts';

/**
 * Cumulative beta distribution I_x(a, b), for real a, b > 0: the binomial upper tail carried on to real counts.
 *
 * Continued fraction (modified Lentz) on the side where it converges, prefactor in saddle-point form instead of
 * log-gammas. Within 1e-12 relative of exact binomial tails for a + b up to 10,000.
 * Errors: StatsInputError. Source: DLMF 8.17.22 (fraction), 8.17.5 (link to the binomial);
 * Loader (2000) (prefactor).
 * Example: `betaCdf(1 / 3, 13, 12)` is 0.0284411280955
 */
export function betaCdf(x: number, a: number, b: number): number {
  checkShapes(a, b);
  probability('x', x);
  if (x === 0) return 0;
  if (x === 1) return 1;
  return x < (a + 1) / (a + b + 2) ? lowerPart(x, 1 - x, a, b) : 1 - lowerPart(1 - x, x, b, a);
}

/**
 * Density of the beta distribution at x, 0 < x < 1.
 * Errors: StatsInputError. Example: `betaPdf(0.5, 2, 2)` is 1.5
 */
export function betaPdf(x: number, a: number, b: number): number {
  checkShapes(a, b);
  probability('x', x);
  return kernel(x, 1 - x, a, b) / (x * (1 - x));
}

function checkShapes(a: number, b: number): void {
  for (const [field, value] of [
    ['a', a],
    ['b', b],
  ] as const) {
    if (!(value > 0 && Number.isFinite(value))) throw new StatsInputError(field, value, 'a number above 0');
  }
}

/** x^a y^b / B(a, b). */
function kernel(x: number, y: number, a: number, b: number): number {
  const n = a + b;
  const exponent =
    stirlingError(n) - stirlingError(a) - stirlingError(b) - deviance(a, n * x) - deviance(b, n * y);
  return Math.exp(exponent) * Math.sqrt((a * b) / (2 * Math.PI * n));
}

function lowerPart(x: number, y: number, a: number, b: number): number {
  const tiny = 1e-300;
  const away = (v: number) => (Math.abs(v) < tiny ? tiny : v);
  let c = 1;
  let d = 1 / away(1 - ((a + b) * x) / (a + 1));
  let fraction = d;
  for (let m = 1; m < 20_000; m += 1) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / away(1 + even * d);
    c = away(1 + even / c);
    fraction *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / away(1 + odd * d);
    c = away(1 + odd / c);
    fraction *= d * c;
    if (Math.abs(d * c - 1) < 1e-16) break;
  }
  return (kernel(x, y, a, b) / a) * fraction;
}
