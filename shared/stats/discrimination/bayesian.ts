import { betaCdf, betaPdf } from '../incomplete-beta.ts';
import { probability, properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { crossing } from '../root.ts';
import { answers } from './guessing.ts';

/** Beta prior of the share of discriminators. { a: 1, b: 1 }: every share alike likely. */
export interface SharePrior {
  a: number;
  b: number;
}

export interface SharePosterior extends MethodFacts {
  mean: number;
  median: number;
  /** Equal-tailed credible limits. */
  lower: number;
  upper: number;
  level: number;
  /** Probability that pd exceeds the share that matters. */
  exceeds: number;
  /** The same before the answers came: what the prior alone says. State it beside `exceeds`. */
  exceedsBefore: number;
  prior: SharePrior;
}

/** A weighted beta distribution; `right` of the right answers are taken as knowing, the rest as guessed. */
interface Part {
  weight: number;
  a: number;
  b: number;
}

/**
 * How probable is it, given the answers and a stated prior, that more than a share that matters discriminates?
 * Guessing model pc = p0 + (1 - p0) pd with pd ~ Beta(a, b). The posterior is an exact mixture:
 * sum over i = 0..x of w_i Beta(a + i, b + n - x), w_i in proportion to C(x, i) p0^(x-i) (1 - p0)^i B(a + i, b + n - x),
 * i being how many of the x right answers were known and not guessed.
 * A reading beside the test, not in its place: it depends on the prior, and with few answers mainly on it. pd is
 * continuous, so "exactly no discriminators" has probability 0 here. Not for repeated answers of one assessor.
 *
 * n whole from 0, correct 0..n, guessRate and level between 0 and 1, matters from 0 to 1, prior a and b above 0 (up to
 * 1e6). No data: the prior. Within 1e-10. Errors: StatsInputError.
 * Source: A. Gelman et al., Bayesian Data Analysis, section 2.4 (beta prior, from memory); the mixture by expanding the
 * likelihood.
 * Example: `sharePosterior({ correct: 13, n: 24, guessRate: 1 / 3, matters: 0.2, level: 0.9, prior: { a: 1, b: 1 } }).exceeds` is 0.781886566622
 */
export function sharePosterior({
  correct,
  n,
  guessRate,
  matters,
  level,
  prior,
}: {
  correct: number;
  n: number;
  guessRate: number;
  matters: number;
  level: number;
  prior: SharePrior;
}): SharePosterior {
  answers({ correct, n });
  properProbability('guessRate', guessRate);
  probability('matters', matters);
  properProbability('level', level);
  for (const field of ['a', 'b'] as const) {
    if (!(prior[field] > 0 && prior[field] <= 1e6)) {
      throw new StatsInputError(`prior.${field}`, prior[field], 'a number above 0, up to 1000000');
    }
  }
  const parts = mixture({ correct, n, guessRate, prior });
  const above = (limit: number, list: readonly Part[]) =>
    Math.min(
      1,
      list.reduce((sum, { weight, a, b }) => sum + weight * betaCdf(1 - limit, b, a), 0),
    );
  const tail = (1 - level) / 2;
  return {
    mean: parts.reduce((sum, { weight, a, b }) => sum + (weight * a) / (a + b), 0),
    median: quantile(0.5, parts),
    lower: quantile(tail, parts),
    upper: quantile(1 - tail, parts),
    level,
    exceeds: above(matters, parts),
    exceedsBefore: above(matters, [{ weight: 1, ...prior }]),
    prior: { a: prior.a, b: prior.b },
    method: `Posterior of the proportion of discriminators, prior Beta(${prior.a}, ${prior.b})`,
    assumption:
      'An assessor either discriminates and is right, or guesses; one answer per assessor; the prior was stated before the session.',
    source: 'Gelman et al., Bayesian Data Analysis',
  };
}

function mixture({
  correct,
  n,
  guessRate,
  prior,
}: {
  correct: number;
  n: number;
  guessRate: number;
  prior: SharePrior;
}): Part[] {
  const b = prior.b + n - correct;
  // Ratio of neighbours in logs; the largest becomes 1, so that nothing runs out of a double's range.
  const logs: number[] = [0];
  for (let i = 0, log = 0; i < correct; i += 1) {
    const odds = ((correct - i) * (1 - guessRate)) / ((i + 1) * guessRate);
    log += Math.log((odds * (prior.a + i)) / (prior.a + i + b));
    logs.push(log);
  }
  const most = logs.reduce((a, c) => Math.max(a, c), -Infinity);
  const weights = logs.map((log) => Math.exp(log - most));
  const sum = weights.reduce((a, c) => a + c, 0);
  // What weighs less than 1e-20 cannot be seen in any number given back.
  return weights
    .map((weight, i) => ({ weight: weight / sum, a: prior.a + i, b }))
    .filter(({ weight }) => weight > 1e-20);
}

function quantile(p: number, parts: readonly Part[]): number {
  return crossing({
    low: 0,
    high: 1,
    start: parts.reduce((sum, { weight, a, b }) => sum + (weight * a) / (a + b), 0),
    value: (x) => parts.reduce((sum, { weight, a, b }) => sum + weight * betaCdf(x, a, b), 0) - p,
    slope: (x) => parts.reduce((sum, { weight, a, b }) => sum + weight * betaPdf(x, a, b), 0),
  });
}
