import { normalBelow, normalDensity, whereReached } from './verify-distributions.ts';

// The verifier's own psychometric functions and ranges of normal numbers (verify.ts), by sums over a fine grid.

const GRID = 256;
const REACH = 9;
const HEIGHTS = Array.from({ length: 2 * REACH * GRID + 1 }, (_, i) => normalBelow(i / GRID - REACH));
/** P(Z <= z) within 1e-12, from a table: cubics through heights and slopes. */
function below(z: number): number {
  if (z <= -REACH) return 0;
  if (z >= REACH) return 1;
  const at = Math.min(HEIGHTS.length - 2, Math.floor((z + REACH) * GRID));
  const left = at / GRID - REACH;
  const t = (z - left) * GRID;
  const [a = 0, b = 0] = [HEIGHTS[at], HEIGHTS[at + 1]];
  const [da, db] = [normalDensity(left) / GRID, normalDensity(left + 1 / GRID) / GRID];
  return (
    a * (1 + 2 * t) * (1 - t) ** 2 + da * t * (1 - t) ** 2 + b * t * t * (3 - 2 * t) + db * t * t * (t - 1)
  );
}

// Gauss and Legendre's five points on -1 to 1.
const POINTS = [
  { x: 0, weight: 128 / 225 },
  ...[-1, 1].flatMap((sign) => [
    { x: (sign / 3) * Math.sqrt(5 - 2 * Math.sqrt(10 / 7)), weight: (322 + 13 * Math.sqrt(70)) / 900 },
    { x: (sign / 3) * Math.sqrt(5 + 2 * Math.sqrt(10 / 7)), weight: (322 - 13 * Math.sqrt(70)) / 900 },
  ]),
];
/** Sum of a function over a range, in so many panels. */
function over(low: number, high: number, panels: number, f: (x: number) => number): number {
  const half = (high - low) / panels / 2;
  let sum = 0;
  for (let i = 0; i < panels; i += 1) {
    const middle = low + (2 * i + 1) * half;
    for (const { x, weight } of POINTS) sum += weight * f(middle + x * half);
  }
  return sum * half;
}
const line = (f: (z: number) => number): number => over(-REACH, REACH, 36, (z) => f(z) * normalDensity(z));

/** Five cups, two and three alike: the chance that the largest of three lies more than v above their mean. */
const aboveMean = (v: number): number =>
  (3 / Math.PI) * over(0, Math.PI / 3, 3, (turn) => Math.exp((-0.75 * v * v) / Math.cos(turn) ** 2));

/**
 * The chance that cups are split wrongly although the groups' means lie `apart`: the two are themselves further apart than
 * either is from the three, or one of the three stands with them.
 */
function missed(apart: number): number {
  const pair = (h: number): number => 2 * Math.SQRT2 * normalDensity(h * Math.SQRT2);
  return (
    (2 * below(0.6 * apart * Math.SQRT2) - 1) * aboveMean(0.4 * apart) +
    over(0.6 * apart, apart, 6, (h) => pair(h) * aboveMean(apart - h)) +
    2 * below(-apart * Math.SQRT2)
  );
}
const MISSES = new Map<number, number>();
function missesAt(x: number): number {
  const known = MISSES.get(x) ?? missed(x * Math.sqrt(5 / 6));
  MISSES.set(x, known);
  return known;
}

// Chance of a right answer at a distance of d standard deviations of a percept (Ennis 1993; Ennis and Jesionka 2011; of
// two-out-of-five by the rule of least squares within the two groups).
const RIGHT: Record<string, (d: number) => number> = {
  triangle: (d) =>
    2 *
    over(0, REACH, 18, (z) => {
      const [apart, spread] = [d * Math.sqrt(2 / 3), z * Math.sqrt(3)];
      return normalDensity(z) * (below(apart - spread) + below(-apart - spread));
    }),
  'duo-trio': (d) => {
    const [pair, reference] = [below(d / Math.SQRT2), below(d / Math.sqrt(6))];
    return 1 - pair - reference + 2 * pair * reference;
  },
  tetrad: (d) => 1 - 2 * line((z) => below(z - d) * (2 * below(z) - below(z - d))),
  'three-afc': (d) => line((z) => below(z + d) ** 2),
  'directional-pair': (d) => below(d / Math.SQRT2),
  'two-out-of-five': (d) => {
    const delta = d * Math.sqrt(6 / 5);
    return 1 - over(0, 19, 38, (x) => missesAt(x) * (normalDensity(x - delta) + normalDensity(x + delta)));
  },
};

/** The chance of a right answer of a kind at d'. */
export const rightAt = (kind: string, d: number): number => RIGHT[kind]?.(d) ?? NaN;

/** d' at which so many answers are right: 0 at guessing and below, null where it has no bound. */
export function dPrimeAt(kind: string, share: number, guess: number): number | null {
  if (share <= guess) return 0;
  // Beyond 15 every chance of these kinds is 1 to ten digits.
  if (share >= rightAt(kind, 15) - 1e-12) return null;
  return whereReached((d) => rightAt(kind, d), share, 0, 15);
}

/** How fast the chance of a right answer grows with d'. */
export function slopeAt(kind: string, d: number): number {
  const h = 1e-3;
  // Five points: the error goes with the fourth power of the step.
  const at = (shift: number): number => rightAt(kind, d + shift);
  return (8 * (at(h) - at(-h)) - (at(2 * h) - at(-2 * h))) / (12 * h);
}

/** P(range of k normal numbers > q). */
function rangeAbove(q: number, k: number): number {
  if (q <= 0) return 1;
  return 1 - k * line((z) => (below(z) - below(z - q)) ** (k - 1));
}

/** Upper tail of the studentized range (Tukey; of ranks by Nemenyi with df Infinity). */
export function studentizedRangeAbove(q: number, k: number, df: number): number {
  if (!Number.isFinite(df) || df > 25_000) return rangeAbove(q, k);
  // The spread s of df + 1 numbers: df s^2 is a chi-square. Density of s up to a factor, which the sum over it gives.
  const sd = 1 / Math.sqrt(2 * df);
  const [low, high] = [Math.max(1e-6, 1 - 9 * sd), 1 + 9 * sd + 3 / df];
  const weight = (s: number): number => Math.exp((df - 1) * Math.log(s) - (df * (s * s - 1)) / 2);
  const steps = df < 5 ? 40 : 16;
  return over(low, high, steps, (s) => weight(s) * rangeAbove(q * s, k)) / over(low, high, steps, weight);
}
