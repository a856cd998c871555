import { chebyshevTable } from './chebyshev.ts';
import { degreesOfFreedom } from './f-ratio.ts';
import { falling } from './falling.ts';
import { properProbability, StatsInputError } from '../ground/input.ts';
import { normalCdf, normalPdf, normalQuantile } from './normal.ts';
import { studentTwoSidedP } from './student-t.ts';
import { studentized } from './studentized.ts';

/**
 * Dunnett's distribution, the only door to it: the largest |t| of several samples compared with one control, where
 * the comparisons correlate as l_i l_j. With n_0 ratings of the control and n_i of a sample l_i = sqrt(n_i / (n_i + n_0)), so
 * 1 / sqrt 2 for equal numbers. Within 1e-9 relative of 25-digit quadrature (test/stats/dunnett.test.ts).
 */

/** A normal variable beyond this has a probability below the smallest double. */
const FARTHEST = 38;
/** Most tables kept; each is of one set of l. */
const KEPT = 50;

/**
 * P(max |T_i| > t): the two-sided p of a comparison with the control, adjusted for all of them.
 * t from 0, loadings (l_i) each from 0 to 0.999, at least one, df above 0 or Infinity. One comparison: the two-sided t.
 * Errors: StatsInputError. Source: Dunnett 1955, J. Am. Stat. Assoc. 50:1096; Dunnett 1964, Biometrics 20:482 (two-sided).
 * Example: `dunnettUpperTail(2.5, [Math.SQRT1_2, Math.SQRT1_2, Math.SQRT1_2], 20)` is 0.0543078058958
 */
export function dunnettUpperTail(t: number, loadings: readonly number[], df: number): number {
  if (!(t >= 0)) throw new StatsInputError('t', t, 'a number of at least 0');
  check(loadings, df);
  if (t === 0) return 1;
  if (t === Infinity) return 0;
  if (loadings.length === 1) return studentTwoSidedP(t, df);
  return studentized(knownSpread(loadings), t, df);
}

/**
 * Critical value: t with P(max |T_i| > t) = tail, 0 < tail < 1, to 1e-11 relative.
 * Errors: StatsInputError. Source: as dunnettUpperTail, inverted.
 * Example: `dunnettCritical(0.05, [Math.SQRT1_2, Math.SQRT1_2, Math.SQRT1_2], 20)` is 2.5403496099
 */
export function dunnettCritical(tail: number, loadings: readonly number[], df: number): number {
  properProbability('tail', tail);
  check(loadings, df);
  const goal = Math.log(tail);
  const start = Math.log(Math.max(1e-3, -normalQuantile(tail / 2)));
  return Math.exp(falling((u) => Math.log(dunnettUpperTail(Math.exp(u), loadings, df)) - goal, start));
}

function check(loadings: readonly number[], df: number): void {
  if (loadings.length === 0) throw new StatsInputError('loadings.length', 0, 'at least 1');
  loadings.forEach((loading, index) => {
    if (!(loading >= 0 && loading <= 0.999)) {
      throw new StatsInputError(`loadings[${index}]`, loading, 'a number from 0 to 0.999');
    }
  });
  if (df !== Infinity) degreesOfFreedom('df', df);
}

const tables = new Map<string, (r: number) => number>();

/** P(max |X_i| > r) for normal X_i, from a table of its logarithm. */
function knownSpread(loadings: readonly number[]): (r: number) => number {
  const sorted = [...loadings].sort((a, b) => a - b);
  const key = sorted.join();
  const found = tables.get(key);
  if (found) return found;
  if (tables.size >= KEPT) tables.clear();
  const log = chebyshevTable((r) => Math.log(tailAt(r, sorted)), {
    low: 0,
    high: FARTHEST,
    pieces: FARTHEST,
    nodes: 16,
  });
  const tail = (r: number) => (r >= FARTHEST ? 0 : Math.exp(log(r)));
  tables.set(key, tail);
  return tail;
}

/**
 * X_i = l_i Z + sqrt(1 - l_i^2) E_i: given Z the X_i are independent. Integrated over Z by the trapezoid rule, which has all
 * digits for such an integrand when the step is small beside the narrowest E_i.
 */
function tailAt(r: number, loadings: readonly number[]): number {
  const rest = loadings.map((loading) => Math.sqrt(1 - loading * loading));
  const step = 0.3 * Math.min(0.5, ...rest);
  const end = r * Math.max(...loadings) + 9;
  let sum = 0;
  for (let i = 0; i * step <= end; i += 1) {
    const z = i * step;
    let within = 0;
    loadings.forEach((loading, j) => {
      const spread = rest[j] ?? 1;
      const beyond = normalCdf((loading * z - r) / spread) + normalCdf((-loading * z - r) / spread);
      within += Math.log1p(-Math.min(1, beyond));
    });
    // Both signs of z at once.
    sum -= (i === 0 ? 1 : 2) * normalPdf(z) * Math.expm1(within);
  }
  return Math.min(1, step * sum);
}
