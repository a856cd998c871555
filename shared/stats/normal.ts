import { crossing } from './root.ts';
import { properProbability } from '../ground/input.ts';

/**
 * Standard normal distribution, the only door to it. The lower tail keeps its digits; take the upper one as
 * normalCdf(-z). Measured at 1,230 points from -37.5 to 8.5 against 40-digit arithmetic: within 5e-16 relative, tails
 * included; below -37.5 doubles themselves have fewer digits (test/stats/normal.test.ts).
 * Source: W. J. Cody 1969, Math. Comp. 23:631, rational Chebyshev approximations, in the form and with the
 * coefficients of ANORM, Cody 1993, ACM TOMS 19:22, algorithm 715 (from memory, hence checked so densely).
 */

const ROOT_TWO_PI = Math.sqrt(2 * Math.PI);

/** Numerator and denominator from the highest power down; the denominator's first coefficient is 1. */
interface Ratio {
  over: readonly number[];
  under: readonly number[];
}

// In z^2, for |z| up to 0.67448975: (Phi(z) - 1/2) / z.
const MIDDLE: Ratio = {
  over: [0.06568233791820745, 2.2352520354606837, 161.02823106855587, 1067.6894854603709, 18154.98125334356],
  under: [1, 47.202581904688245, 976.0985517377767, 10260.932208618979, 45507.78933502673],
};
// In z, up to sqrt(32): Phi(-z) exp(z^2 / 2).
const SHOULDER: Ratio = {
  over: [
    1.0765576773720192e-8, 0.39894151208813466, 8.883149794388377, 93.50665613217785, 597.2702763948002,
    2494.5375852903726, 6848.190450536283, 11602.65143764735, 9842.714838383978,
  ],
  under: [
    1, 22.266688044328117, 235.387901782625, 1519.3775994075547, 6485.558298266761, 18615.571640885097,
    34900.95272114598, 38912.00328609327, 19685.429676859992,
  ],
};
// In 1 / z^2, beyond: what the first term of the asymptotic series lacks.
const FAR: Ratio = {
  over: [
    0.023073441764940174, 0.215898534057957, 0.12740116116024736, 0.022235277870649807, 0.0014216191932278934,
    2.9112874951168793e-5,
  ],
  under: [
    1, 1.284260096144911, 0.4682382124808651, 0.06598813786892856, 0.0037823963320275824,
    7.297515550839662e-5,
  ],
};
const MIDDLE_ENDS = 0.67448975;
const SHOULDER_ENDS = Math.sqrt(32);
/** Phi(-z) is below half the smallest double from here. */
const NOTHING = 38.6;

/** P(Z <= z); 0 and 1 at the infinities, NaN for NaN. Example: `normalCdf(-3)` is 0.00134989803163 */
export function normalCdf(z: number): number {
  const y = Math.abs(z);
  if (y <= MIDDLE_ENDS) return 0.5 + z * ratioAt(MIDDLE, z * z);
  const tail = y > NOTHING ? 0 : lowerTail(y);
  return z > 0 ? 1 - tail : tail;
}

/** Phi(-y) for y beyond the middle. */
function lowerTail(y: number): number {
  const square = 1 / (y * y);
  const scaled =
    y <= SHOULDER_ENDS ? ratioAt(SHOULDER, y) : (1 / ROOT_TWO_PI - square * ratioAt(FAR, square)) / y;
  // y^2 in two parts, the first without rounding: an error of the exponent would be one of every digit.
  const whole = Math.trunc(y * 16) / 16;
  const rest = (y - whole) * (y + whole);
  return Math.exp((-whole * whole) / 2) * Math.exp(-rest / 2) * scaled;
}

function ratioAt({ over, under }: Ratio, x: number): number {
  return valueAt(over, x) / valueAt(under, x);
}

function valueAt(coefficients: readonly number[], x: number): number {
  let sum = 0;
  for (const one of coefficients) sum = sum * x + one;
  return sum;
}

/** Density at z. Example: `normalPdf(1)` is 0.241970724519 */
export function normalPdf(z: number): number {
  return Math.exp(-0.5 * z * z) / ROOT_TWO_PI;
}

/**
 * z with P(Z <= z) = p, 0 < p < 1; inverted from normalCdf to 1e-14.
 * Errors: StatsInputError. Example: `normalQuantile(0.975)` is 1.95996398454
 */
export function normalQuantile(p: number): number {
  properProbability('p', p);
  if (p === 0.5) return 0;
  // The lower half only: there the cdf has all its digits. In logs the curve is nearly straight for Newton.
  if (p > 0.5) return -normalQuantile(1 - p);
  const goal = Math.log(p);
  return -crossing({
    low: 0,
    high: 39,
    start: Math.sqrt(-2 * Math.log(2 * p)),
    value: (z) => goal - Math.log(normalCdf(-z)),
    slope: (z) => normalPdf(z) / normalCdf(-z),
  });
}
