import { GUESS_RATE, type TestKind } from '@oddglass/shared/stats/discrimination/guessing.ts';
import type { ThurstonianTest } from '@oddglass/shared/stats/discrimination/psychometric.ts';
import { xoshiro } from '@oddglass/shared/ground/fast-random.ts';
import type { DifferencePartKind } from '@oddglass/shared/kinds/kind.ts';
import { decide } from '@oddglass/shared/simulation/decide.ts';
import { drawsFrom } from '@oddglass/shared/simulation/draws.ts';

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

/** The kind whose rule is followed, and the cups that a right answer names, in the order in which they are tasted here. */
const RULES: Record<ThurstonianTest, { kind: DifferencePartKind; right: number[] }> = {
  '2-AFC': { kind: 'directional-pair', right: [0] },
  '3-AFC': { kind: 'three-afc', right: [0] },
  'duo-trio': { kind: 'duo-trio', right: [0] },
  triangle: { kind: 'triangle', right: [2] },
  tetrad: { kind: 'tetrad', right: [0, 1] },
  'two-of-five': { kind: 'two-out-of-five', right: [0, 1] },
};

/** The same seed simulates the same panel. */
export function simulatedPanel(seed: number): Panel {
  const next = xoshiro([0x9e3779b9, 0x243f6a88, 0xb7e15162, seed >>> 0]);
  // The first numbers still show the state they came from.
  for (let i = 0; i < 64; i += 1) next();
  const { uniform, normal } = drawsFrom(next);
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
  // Cups that belong together first; the reference of a duo-trio is tasted before them.
  const tasted: Record<ThurstonianTest, (d: number) => number[]> = {
    '2-AFC': (d) => [normal() + d, normal()],
    '3-AFC': (d) => [normal() + d, normal(), normal()],
    'duo-trio': (d) => [normal(), normal() + d],
    triangle: (d) => [normal(), normal(), normal() + d],
    tetrad: (d) => [normal(), normal(), normal() + d, normal() + d],
    'two-of-five': (d) => [normal() + d, normal() + d, normal(), normal(), normal()],
  };
  const answer = (test: ThurstonianTest, d: number): boolean => {
    const reference = test === 'duo-trio' ? normal() : null;
    const { kind, right } = RULES[test];
    const { cups } = decide(kind, { reference, cups: tasted[test](d), criterion: 0, indifference: 0 });
    return cups.length === right.length && right.every((cup, at) => cups[at] === cup);
  };
  return {
    uniform,
    normal,
    answer,
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
