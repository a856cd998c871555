import { integerIn, MAX_ANSWERS, StatsInputError } from '../../ground/input.ts';
import { stirlingError } from '../saddle-point.ts';
import type { AssessorAnswers } from './replicated.ts';

/**
 * Likelihood and fit behind beta-binomial.ts and chance-corrected-beta-binomial.ts.
 * Each assessor knows the answer with a chance of his own, pi ~ Beta with mean mu and gamma = 1 / (a + b + 1), and
 * otherwise guesses right with `guessRate`: pc = g + (1 - g) pi. With guessRate 0 that is the beta-binomial itself.
 * In mu and gamma instead of a and b the ends are regular: gamma = 0 is the binomial, gamma = 1 all or nothing.
 */

/** Assessors who gave the same answers, counted once. */
export interface AnswerGroup {
  answers: number;
  correct: number;
  assessors: number;
}

export interface BetaBinomialFit {
  mu: number;
  gamma: number;
  /** With binomial coefficients, natural logarithm. */
  logLikelihood: number;
  /** Of the binomial of the same mean model, gamma = 0, at its own best mu. */
  logLikelihoodBinomial: number;
  /** From the observed information; null at an end of the range, where it does not hold. */
  standardErrorMu: number | null;
  standardErrorGamma: number | null;
}

/** Largest number of answers of one assessor a fit takes; its cost grows with the square. Our own bound; no source. */
export const MAX_REPLICATES = 50;
/** Above this gamma the likelihood is taken as that of gamma = 1. */
const NEARLY_ONE = 1 - 1e-9;

/**
 * Checked assessors with at least one answer, equal ones put together, in an order that does not follow the input's.
 * Errors: StatsInputError. Example: `groupAnswers([{ answers: 4, correct: 2 }, { answers: 4, correct: 2 }])[0].assessors` is 2
 */
export function groupAnswers(clusters: readonly AssessorAnswers[]): AnswerGroup[] {
  const groups = new Map<string, AnswerGroup>();
  for (const { answers, correct } of clusters) {
    integerIn('answers', answers, 0, MAX_REPLICATES);
    integerIn('correct', correct, 0, answers);
    if (answers === 0) continue;
    const key = `${answers}/${correct}`;
    const group = groups.get(key);
    if (group) group.assessors += 1;
    else groups.set(key, { answers, correct, assessors: 1 });
  }
  const list = [...groups.values()].sort((a, b) => a.answers - b.answers || a.correct - b.correct);
  const n = list.reduce((sum, { answers, assessors }) => sum + answers * assessors, 0);
  if (n > MAX_ANSWERS) throw new StatsInputError('n', n, `at most ${MAX_ANSWERS} answers`);
  return list;
}

/** Value, first and second derivatives in (mu, gamma). */
interface Surface {
  value: number;
  byMu: number;
  byGamma: number;
  muMu: number;
  muGamma: number;
  gammaGamma: number;
}

const FLAT: Surface = { value: 0, byMu: 0, byGamma: 0, muMu: 0, muGamma: 0, gammaGamma: 0 };

/**
 * ln of B(a + i, b + j) / B(a, b): i known and j not, out of i + j. A product of (r = 0, 1, ...)
 * mu (1 - gamma) + r gamma, i times; (1 - mu)(1 - gamma) + r gamma, j times; over (1 - gamma) + r gamma, i + j times.
 * The three factors of r = 0 leave mu, 1 - mu and, with both i and j above 0, one 1 - gamma.
 */
function known(i: number, j: number, mu: number, gamma: number): Surface {
  const s = { ...FLAT };
  const rest = 1 - gamma;
  const add = (sign: 1 | -1, base: number, slope: number, r: number) => {
    const u = base * rest + r * gamma;
    const byMu = (slope * rest) / u;
    const byGamma = (r - base) / u;
    s.value += sign * Math.log(u);
    s.byMu += sign * byMu;
    s.byGamma += sign * byGamma;
    s.muMu -= sign * byMu * byMu;
    s.gammaGamma -= sign * byGamma * byGamma;
    s.muGamma += sign * (-slope / u - byMu * byGamma);
  };
  if (i > 0) {
    s.value += Math.log(mu);
    s.byMu += 1 / mu;
    s.muMu -= 1 / (mu * mu);
  }
  if (j > 0) {
    s.value += Math.log(1 - mu);
    s.byMu -= 1 / (1 - mu);
    s.muMu -= 1 / ((1 - mu) * (1 - mu));
  }
  if (i > 0 && j > 0) {
    s.value += Math.log(rest);
    s.byGamma -= 1 / rest;
    s.gammaGamma -= 1 / (rest * rest);
  }
  for (let r = 1; r < i; r += 1) add(1, mu, 1, r);
  for (let r = 1; r < j; r += 1) add(1, 1 - mu, -1, r);
  for (let r = 1; r < i + j; r += 1) add(-1, 1, 0, r);
  return s;
}

/** ln n! */
function logFactorial(n: number): number {
  return n === 0 ? 0 : (n + 0.5) * Math.log(n) - n + Math.log(2 * Math.PI) / 2 + stirlingError(n);
}

function logChoose(n: number, k: number): number {
  return logFactorial(n) - logFactorial(k) - logFactorial(n - k);
}

/** ln P(correct of answers): a sum over how many of the right answers were known, the others guessed. */
function cell(
  { answers: m, correct: x }: AnswerGroup,
  mu: number,
  gamma: number,
  guessRate: number,
): Surface {
  const parts: Surface[] = [];
  for (let i = guessRate === 0 ? x : 0; i <= x; i += 1) {
    const part = known(i, m - x, mu, gamma);
    const guessed =
      guessRate === 0
        ? 0
        : logChoose(x, i) + (x - i) * Math.log(guessRate) - (x - i) * Math.log1p(-guessRate);
    parts.push({ ...part, value: part.value + guessed });
  }
  const most = parts.reduce((top, { value }) => Math.max(top, value), -Infinity);
  let sum = 0;
  const mean = { ...FLAT };
  for (const part of parts) {
    const weight = Math.exp(part.value - most);
    sum += weight;
    mean.byMu += weight * part.byMu;
    mean.byGamma += weight * part.byGamma;
    // Second derivatives of exp(f): f'' + f' f'.
    mean.muMu += weight * (part.muMu + part.byMu * part.byMu);
    mean.muGamma += weight * (part.muGamma + part.byMu * part.byGamma);
    mean.gammaGamma += weight * (part.gammaGamma + part.byGamma * part.byGamma);
  }
  const byMu = mean.byMu / sum;
  const byGamma = mean.byGamma / sum;
  return {
    value: logChoose(m, x) + m * Math.log1p(-guessRate) + most + Math.log(sum),
    byMu,
    byGamma,
    muMu: mean.muMu / sum - byMu * byMu,
    muGamma: mean.muGamma / sum - byMu * byGamma,
    gammaGamma: mean.gammaGamma / sum - byGamma * byGamma,
  };
}

/** Log-likelihood of all assessors; mu strictly between 0 and 1, gamma from 0 to below 1. */
function surface(groups: readonly AnswerGroup[], mu: number, gamma: number, guessRate: number): Surface {
  const total = { ...FLAT };
  for (const group of groups) {
    const one = cell(group, mu, gamma, guessRate);
    for (const key of Object.keys(total) as (keyof Surface)[]) total[key] += group.assessors * one[key];
  }
  return total;
}

/**
 * Log-likelihood at a given mean mu and gamma, binomial coefficients included.
 * mu between 0 and 1, gamma from 0 to below 1, guessRate from 0 to below 1. Errors: StatsInputError.
 * Source: Brockhoff 2003, Food Qual. Pref. 14:405; with guessRate 0 Ennis & Bi 1998, J. Sens. Stud. 13:389.
 * Example: `betaBinomialLogLikelihood({ groups: [{ answers: 2, correct: 1, assessors: 1 }], mu: 0.5, gamma: 1 / 3, guessRate: 0 })` is -1.09861228867
 */
export function betaBinomialLogLikelihood({
  groups,
  mu,
  gamma,
  guessRate,
}: {
  groups: readonly AnswerGroup[];
  mu: number;
  gamma: number;
  guessRate: number;
}): number {
  if (!(mu > 0 && mu < 1)) throw new StatsInputError('mu', mu, 'a number between 0 and 1');
  for (const [field, value] of [
    ['gamma', gamma],
    ['guessRate', guessRate],
  ] as const) {
    if (!(value >= 0 && value < 1)) throw new StatsInputError(field, value, 'a number from 0 to below 1');
  }
  return surface(groups, mu, gamma, guessRate).value;
}

/**
 * Maximum likelihood of mu and gamma: Newton's steps, kept inside the range and uphill, from the best points of a grid.
 * Null where gamma cannot be known: nobody answered twice, all answers right, or not more right than guessing gives
 * (mu = 0, all the same whatever gamma). Estimates within 1e-8.
 * Errors: none beyond those of groupAnswers. Source: as betaBinomialLogLikelihood.
 * Example: `fitBetaBinomial({ groups: groupAnswers([4, 4, 3, 1, 2, 0, 1, 4, 2, 1, 3, 4, 1, 2, 4].map((correct) => ({ answers: 4, correct }))), guessRate: 1 / 3 }).mu` is 0.392705776
 */
export function fitBetaBinomial({
  groups,
  guessRate,
}: {
  groups: readonly AnswerGroup[];
  guessRate: number;
}): BetaBinomialFit | null {
  const n = groups.reduce((sum, group) => sum + group.assessors * group.answers, 0);
  const right = groups.reduce((sum, group) => sum + group.assessors * group.correct, 0);
  const repeated = groups.some(({ answers }) => answers > 1);
  if (!repeated || right === 0 || right === n) return null;

  const pc = Math.max(guessRate, right / n);
  const logLikelihoodBinomial = groups.reduce(
    (sum, { answers: m, correct: x, assessors }) =>
      sum + assessors * (logChoose(m, x) + x * Math.log(pc) + (m - x) * Math.log1p(-pc)),
    0,
  );
  const at = (mu: number, gamma: number): Point => ({ mu, gamma, ...surface(groups, mu, gamma, guessRate) });
  const higher = (top: Point, next: Point) => (next.value > top.value ? next : top);
  // The likelihood can have a crest at either end of gamma: climb from the best of every row of the grid.
  const starts = GRID_GAMMA.map((gamma) => GRID_MU.map((mu) => at(mu, gamma)).reduce(higher));
  if (pc > guessRate) starts.push(at((pc - guessRate) / (1 - guessRate), 0));
  const best = starts.map((start) => climb(start, at)).reduce(higher);
  if (best.mu <= 2 * MIN_MU) return null;
  const inside = best.gamma > 0 && best.gamma < NEARLY_ONE;
  const det = best.muMu * best.gammaGamma - best.muGamma ** 2;
  const informed = inside && best.muMu < 0 && det > 0;
  return {
    mu: best.mu,
    gamma: best.gamma >= NEARLY_ONE ? 1 : best.gamma,
    logLikelihood: Math.max(best.value, logLikelihoodBinomial),
    logLikelihoodBinomial,
    standardErrorMu: informed ? Math.sqrt(-best.gammaGamma / det) : null,
    standardErrorGamma: informed ? Math.sqrt(-best.muMu / det) : null,
  };
}

interface Point extends Surface {
  mu: number;
  gamma: number;
}

const MIN_MU = 1e-9;
const GRID_MU = [0.02, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.98];
const GRID_GAMMA = [0, 0.05, 0.25, 0.6, 0.9, 0.999];

function climb(start: Point, at: (mu: number, gamma: number) => Point): Point {
  let best = start;
  for (let turn = 0; turn < 300; turn += 1) {
    const next = uphill(best, at);
    if (next === null) break;
    best = next;
  }
  return best;
}

/** One Newton step inside the range, shortened until it does not go down; null when no step helps. */
function uphill(from: Point, at: (mu: number, gamma: number) => Point): Point | null {
  const slope = freeSlope(from);
  const { muMu, muGamma, gammaGamma } = from;
  let stepMu = slope.mu === 0 ? 0 : slope.mu / Math.max(Math.abs(muMu), 1e-8);
  let stepGamma = slope.gamma === 0 ? 0 : slope.gamma / Math.max(Math.abs(gammaGamma), 1e-8);
  const det = muMu * gammaGamma - muGamma * muGamma;
  if (slope.mu !== 0 && slope.gamma !== 0 && muMu < 0 && det > 0) {
    stepMu = (muGamma * slope.gamma - gammaGamma * slope.mu) / det;
    stepGamma = (muGamma * slope.mu - muMu * slope.gamma) / det;
  }
  const steep = Math.hypot(slope.mu, slope.gamma);
  for (let part = 1; part > 1e-12; part /= 2) {
    const mu = Math.min(1 - MIN_MU, Math.max(MIN_MU, from.mu + part * stepMu));
    const gamma = Math.min(NEARLY_ONE, Math.max(0, from.gamma + part * stepGamma));
    if (mu === from.mu && gamma === from.gamma) return null;
    const next = at(mu, gamma);
    if (next.value > from.value) return next;
    // At the top the value no longer changes in a double, but the slope still falls.
    const level = next.value > from.value - 1e-13 * (1 + Math.abs(from.value));
    const flatter = freeSlope(next);
    if (level && Math.hypot(flatter.mu, flatter.gamma) < steep / 2) return next;
  }
  return null;
}

/** Slope without what points out of the range. */
function freeSlope({ mu, gamma, byMu, byGamma }: Point): { mu: number; gamma: number } {
  const leaving = (value: number, low: number, high: number, slope: number) =>
    (value <= low && slope < 0) || (value >= high && slope > 0);
  return {
    mu: leaving(mu, MIN_MU, 1 - MIN_MU, byMu) ? 0 : byMu,
    gamma: leaving(gamma, 0, NEARLY_ONE, byGamma) ? 0 : byGamma,
  };
}
