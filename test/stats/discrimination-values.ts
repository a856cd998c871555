import { readFileSync } from 'node:fs';
import type { Pull } from '@oddglass/shared/stats/discrimination/compare-d-prime.ts';
import type { ThurstonianTest } from '@oddglass/shared/stats/discrimination/psychometric.ts';

interface Values {
  about: string;
  fisher: {
    first: [number, number];
    second: [number, number];
    greater: number;
    twoSided: number;
    scipyTwoSided: number;
  }[];
  rIndex: {
    signal: number[];
    noise: number[];
    rIndex: number;
    standardError: number;
    greater?: number;
    twoSided?: number;
    normalGreater?: number;
    normalTwoSided?: number;
  }[];
  betaBinomial: {
    people: [correct: number, answers: number][];
    guessRate: number;
    mu: number;
    gamma: number;
    logLikelihood: number;
    logLikelihoodBinomial: number;
    standardErrorMu: number;
    standardErrorGamma: number;
    p: number;
    topOfTheCurve: boolean;
  }[];
  likelihood: {
    test: ThurstonianTest;
    correct: number;
    n: number;
    level: number;
    lower: number;
    upper: number | null;
  }[];
  compare: {
    first: [ThurstonianTest, number, number];
    second: [ThurstonianTest, number, number];
    common: number;
    likelihoodRatio: number;
    p: number;
  }[];
  posterior: {
    correct: number;
    n: number;
    guessRate: number;
    a: number;
    b: number;
    matters: number;
    exceeds: number;
    mean: number;
  }[];
  posteriorFlat: {
    correct: number;
    n: number;
    guessRate: number;
    level: number;
    lower: number;
    median: number;
    upper: number;
  }[];
  sequential: {
    guessRate: number;
    pd: number;
    alpha: number;
    beta: number;
    truePd: number;
    mostAnswers: number;
    difference: number;
    less: number;
    undecided: number;
    expected: number;
  }[];
  wald: Record<'p0' | 'p1' | 'alpha' | 'beta' | 'slope' | 'upper' | 'lower', number>[];
  sameDifferent: {
    different: { said: number; answers: number };
    same: { said: number; answers: number };
    level: number;
    weight: number;
    estimate: number | null;
    lower: number;
    upper: number | null;
  }[];
  sameDifferentPower: {
    assessors: number;
    trays: 1 | 2;
    alpha: number;
    dPrime: number;
    criterion: number;
    hit: number;
    falseAlarm: number;
    power: number;
  }[];
}

/** test/reference/discrimination-values.json, written by discrimination.py beside it. */
export const VALUES = JSON.parse(
  readFileSync(new URL('../reference/discrimination-values.json', import.meta.url), 'utf8'),
) as Values;

/** SciPy and mpmath with their versions, for the names of tests. */
export const SOFTWARE = VALUES.about.split(';')[0] ?? '';

/** [test, correct, n] with names. */
export function pull([test, correct, n]: [ThurstonianTest, number, number]): Pull {
  return { test, correct, n };
}
