import { answerCount, integerIn, properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalQuantile } from '../normal.ts';
import { fitGuessedLogistic, type FittedLevel } from './guessed-logistic.ts';

/** Answers of a panel at one level. */
export interface ThresholdLevel {
  /** Above 0, in any one unit. */
  concentration: number;
  n: number;
  correct: number;
}

export interface LogisticThreshold extends MethodFacts {
  /** Concentration at which half detect, in the unit given; null when there is no fit. */
  threshold: number | null;
  /** Limits for it; null when there is no fit, or the slope is too uncertain for the interval to end. */
  lower: number | null;
  upper: number | null;
  level: number;
  undefinedBecause:
    | 'fewer than two levels with answers'
    | 'right answers do not rise with concentration'
    | 'no curve fits best: it can always be steeper or further out'
    | null;
  /** The threshold lies outside of the levels tasted. */
  extrapolated: boolean;
  /** logit of detection = b0 + b1 log10(concentration); null without a fit. */
  coefficients: { b0: number; b1: number } | null;
  standardErrors: { b0: number; b1: number; log10Threshold: number } | null;
  /** Share right at the threshold: half way from guessing to 1. */
  proportionAtThreshold: number;
  /** Sum of correct ln pc + wrong ln(1 - pc), without the binomial coefficients. */
  logLikelihood: number | null;
  /** Twice the log-likelihood that the levels' own shares have more; large beside its df: the curve is no good. */
  deviance: { value: number; df: number } | null;
}

/**
 * Threshold of a panel from forced choices at several levels: a logistic curve in log10 concentration over the guess rate,
 * pc = g + (1 - g) / (1 + exp(-(b0 + b1 log10 c))), by maximum likelihood; threshold 10^(-b0 / b1), where pc = (1 + g) / 2.
 *
 * Interval by Fieller's theorem on the log10 scale from the expected information; when b1 is within z of 0 it has no end.
 * Unlike bestEstimateThreshold it uses all answers and corrects for guessing. Not for answers that hang together, as those
 * of one assessor at all levels do: the threshold keeps its meaning, the interval is too narrow. Give each assessor's
 * answers once, and do not read it beyond the levels tasted.
 * Concentrations above 0, correct 0..n whole, guessRate from 0 to below 1, level between 0 and 1. Errors: StatsInputError.
 * Source: ISO 13301; ASTM E1432; Finney 1971, Probit Analysis, 3rd ed. (guessing as natural response; Fieller).
 * Example: `logisticThreshold({ levels: [11, 13, 16, 22, 27, 29].map((correct, at) => ({ concentration: 2 ** (at - 1), n: 30, correct })), guessRate: 1 / 3, level: 0.95 }).threshold` is 3.09303627768
 */
export function logisticThreshold({
  levels,
  guessRate,
  level,
}: {
  levels: readonly ThresholdLevel[];
  guessRate: number;
  level: number;
}): LogisticThreshold {
  properProbability('level', level);
  if (!(guessRate >= 0 && guessRate < 1)) {
    throw new StatsInputError('guessRate', guessRate, 'a number from 0 to below 1');
  }
  const points = levels.map(({ concentration, n, correct }): FittedLevel => {
    if (!(concentration > 0 && Number.isFinite(concentration))) {
      throw new StatsInputError('concentration', concentration, 'a finite number above 0');
    }
    answerCount('n', n);
    return { x: Math.log10(concentration), n, correct: integerIn('correct', correct, 0, n) };
  });
  const answered = points.filter(({ n }) => n > 0);
  const nothing = {
    threshold: null,
    lower: null,
    upper: null,
    extrapolated: false,
    coefficients: null,
    standardErrors: null,
    logLikelihood: null,
    deviance: null,
  };
  const facts = {
    level,
    proportionAtThreshold: (1 + guessRate) / 2,
    method: 'Logistic threshold corrected for guessing',
    assumption:
      'Answers are independent, wrong ones are guessed, and detection rises as a logistic curve in log concentration.',
    source: 'ISO 13301; ASTM E1432; Finney 1971',
  };
  if (new Set(answered.map(({ x }) => x)).size < 2) {
    return { ...facts, ...nothing, undefinedBecause: 'fewer than two levels with answers' };
  }
  const fit = fitGuessedLogistic(answered, guessRate);
  if (fit === null) {
    return {
      ...facts,
      ...nothing,
      undefinedBecause: 'no curve fits best: it can always be steeper or further out',
    };
  }
  if (!(fit.slope > 0)) {
    return { ...facts, ...nothing, undefinedBecause: 'right answers do not rise with concentration' };
  }

  const { centre, intercept, slope, variance } = fit;
  const { v00, v01, v11 } = variance;
  // Everything around the centre; the threshold is that far from it.
  const reach = -intercept / slope;
  const log10 = centre + reach;
  const limits = fieller(intercept, slope, variance, normalQuantile((1 + level) / 2));
  const xs = answered.map(({ x }) => x);
  return {
    ...facts,
    threshold: 10 ** log10,
    lower: limits && 10 ** (centre + limits[0]),
    upper: limits && 10 ** (centre + limits[1]),
    undefinedBecause: null,
    extrapolated: log10 < Math.min(...xs) || log10 > Math.max(...xs),
    coefficients: { b0: intercept - slope * centre, b1: slope },
    standardErrors: {
      b0: Math.sqrt(v00 - 2 * centre * v01 + centre ** 2 * v11),
      b1: Math.sqrt(v11),
      log10Threshold: Math.sqrt(v00 + 2 * reach * v01 + reach ** 2 * v11) / slope,
    },
    logLikelihood: fit.logLikelihood,
    deviance: { value: 2 * (fullLogLikelihood(answered) - fit.logLikelihood), df: answered.length - 2 },
  };
}

/** Where (a + b t)^2 = z^2 (v00 + 2 t v01 + t^2 v11); null when that set has no two ends. */
function fieller(
  a: number,
  b: number,
  { v00, v01, v11 }: { v00: number; v01: number; v11: number },
  z: number,
): readonly [number, number] | null {
  const square = z * z;
  const quadratic = b * b - square * v11;
  if (quadratic <= 0) return null;
  const half = a * b - square * v01;
  const root = Math.sqrt(Math.max(0, half * half - quadratic * (a * a - square * v00)));
  return [(-half - root) / quadratic, (-half + root) / quadratic];
}

function fullLogLikelihood(points: readonly FittedLevel[]): number {
  const part = (count: number, n: number) => (count === 0 ? 0 : count * Math.log(count / n));
  return points.reduce((sum, { correct, n }) => sum + part(correct, n) + part(n - correct, n), 0);
}
