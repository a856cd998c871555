import { GUESS_RATE, type TestKind } from '@oddglass/shared/stats/discrimination/guessing.ts';
import type { ThurstonianTest } from '@oddglass/shared/stats/discrimination/psychometric.ts';
import { xoshiro } from '@oddglass/shared/ground/fast-random.ts';

/** The first pair is that of the two cups that belong together. */
const PAIRS_OF_FIVE = [0, 1, 2, 3, 4].flatMap((at) =>
  [1, 2, 3, 4].filter((other) => other > at).map((other) => [at, other]),
);
function squares(group: readonly number[]): number {
  const mean = group.reduce((sum, one) => sum + one, 0) / group.length;
  return group.reduce((sum, one) => sum + (one - mean) ** 2, 0);
}

/** Simulated assessors: they taste (draw percepts) and follow the rule of the test; no formula of ours is used. */
export interface Panel {
  /** A number from 0 to below 1. */
  uniform(): number;
  normal(): number;
  /** One answer of somebody who perceives the samples `d` apart; true: right. */
  answer(test: ThurstonianTest, d: number): boolean;
  /** One answer by the guessing model: knows with chance `pd`, else guesses. */
  guess(test: TestKind, pd: number): boolean;
  /** A beta variate, for between-assessor variation. */
  beta(a: number, b: number): number;
}

/** The same seed simulates the same panel. */
export function simulatedPanel(seed: number): Panel {
  const next = xoshiro([0x9e3779b9, 0x243f6a88, 0xb7e15162, seed >>> 0]);
  // The first numbers still show the state they came from.
  for (let i = 0; i < 64; i += 1) next();
  const uniform = () => (next() * 2 ** 21 + (next() >>> 11)) / 2 ** 53;
  // Box & Muller 1958; the second number of a pair is kept.
  let kept: number | null = null;
  const normal = () => {
    if (kept !== null) {
      const value = kept;
      kept = null;
      return value;
    }
    const radius = Math.sqrt(-2 * Math.log(1 - uniform()));
    const angle = 2 * Math.PI * uniform();
    kept = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  };
  // Marsaglia & Tsang 2000; below 1 by the power of a uniform number.
  const gamma = (shape: number): number => {
    if (shape < 1) return gamma(shape + 1) * (1 - uniform()) ** (1 / shape);
    const d = shape - 1 / 3;
    const c = 1 / Math.sqrt(9 * d);
    for (;;) {
      const x = normal();
      const v = (1 + c * x) ** 3;
      if (v > 0 && Math.log(1 - uniform()) < x * x * 0.5 + d - d * v + d * Math.log(v)) return d * v;
    }
  };
  const rules: Record<ThurstonianTest, (d: number) => boolean> = {
    '2-AFC': (d) => normal() + d > normal(),
    '3-AFC': (d) => normal() + d > Math.max(normal(), normal()),
    // The cup nearer to the reference is taken for it.
    'duo-trio': (d) => {
      const reference = normal();
      return Math.abs(normal() - reference) < Math.abs(normal() + d - reference);
    },
    // The two nearest cups are taken for the pair.
    triangle: (d) => {
      const [a, b, odd] = [normal(), normal(), normal() + d];
      const pair = Math.abs(a - b);
      return pair < Math.abs(a - odd) && pair < Math.abs(b - odd);
    },
    // The two highest and the two lowest are taken for the pairs.
    tetrad: (d) => {
      const [a, b] = [normal(), normal()];
      const [c, e] = [normal() + d, normal() + d];
      return Math.max(a, b) < Math.min(c, e) || Math.max(c, e) < Math.min(a, b);
    },
    // Of the ten ways to part five cups into two and three, the one with the least squares within the groups is taken.
    'two-of-five': (d) => {
      const cups = [normal() + d, normal() + d, normal(), normal(), normal()];
      const [right = Infinity, ...others] = PAIRS_OF_FIVE.map(
        (pair) =>
          squares(cups.filter((_, at) => pair.includes(at))) +
          squares(cups.filter((_, at) => !pair.includes(at))),
      );
      return others.every((other) => right < other);
    },
  };
  return {
    uniform,
    normal,
    answer: (test, d) => rules[test](d),
    guess: (test, pd) => uniform() < pd || uniform() < GUESS_RATE[test],
    beta: (a, b) => {
      const x = gamma(a);
      return x / (x + gamma(b));
    },
  };
}

/** How many of n came out true. */
export function count(n: number, once: () => boolean): number {
  let sum = 0;
  for (let i = 0; i < n; i += 1) if (once()) sum += 1;
  return sum;
}
