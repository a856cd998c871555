import { apply, cholesky, inverse, type Matrix } from './matrix.ts';

/**
 * Ordered categories 0..J-1 with logit P(Y <= j) = theta_j - x' b - s u, u standard normal for each assessor, its integral by
 * Laplace's approximation; s = 0 is the model without assessors. Parameters in one list: thetas, then b, then s.
 */
export interface OrdinalModel {
  /** Category of each row, 0..categories - 1. */
  y: readonly number[];
  categories: number;
  /** Columns of the fixed part, no intercept. */
  columns: readonly (readonly number[])[];
  /** Rows of each assessor; null for the model without. */
  people: readonly (readonly number[])[] | null;
}

export interface OrdinalFit {
  /** Thetas, then b, then s (where there are assessors). */
  estimates: number[];
  covariance: Matrix;
  logLikelihood: number;
}

interface Value {
  logLikelihood: number;
  gradient: number[];
}

/** A log-odds of this size is 3 in 10 million: no data of a panel can bear it, so it is on its way to infinity. */
const INFINITE = 15;

/**
 * Maximum likelihood by Newton's method with exact gradients and their differences as Hessian; estimates to about 1e-8.
 * Null when an estimate runs off to infinity (complete separation) or no maximum is found.
 * Errors: none. Source: McCullagh 1980, J. R. Stat. Soc. B 42:109; Tierney & Kadane 1986, J. Am. Stat. Assoc. 81:82 (Laplace).
 * Example: `fitOrdinal({ y: [0, 0, 1, 1, 1, 1], categories: 2, columns: [], people: null }).estimates[0]` is -0.69314718056
 */
export function fitOrdinal(model: OrdinalModel): OrdinalFit | null {
  const { y, categories, columns, people } = model;
  // Start: cumulative shares, no effects, a middling spread of assessors.
  const thetas = Array.from({ length: categories - 1 }, (_, j) => {
    const below = y.filter((category) => category <= j).length;
    return Math.log(below / (y.length - below));
  });
  const fixed = newton({ ...model, people: null }, [...thetas, ...columns.map(() => 0)]);
  if (!fixed || !people) return fixed;
  return newton(model, [...fixed.estimates, 1]);
}

/** The model at work, with the modes found last: the next ones are near. */
interface Work extends OrdinalModel {
  modes: Float64Array;
}

function newton(given: OrdinalModel, start: readonly number[]): OrdinalFit | null {
  const model: Work = { ...given, modes: new Float64Array(given.people?.length ?? 0) };
  let at = [...start];
  let now = evaluate(model, at);
  for (let turn = 0; turn < 200; turn += 1) {
    const l = cholesky(hessian(model, at));
    const scale = Math.max(1, ...now.gradient.map(Math.abs));
    let step = l ? apply(inverse(l), now.gradient) : now.gradient.map((slope) => slope / scale);
    const longest = Math.max(...step.map(Math.abs));
    if (longest > 3) step = step.map((s) => (3 * s) / longest);
    let found: { at: number[]; value: Value } | null = null;
    for (let halving = 0; halving < 40 && !found; halving += 1) {
      const next = at.map((value, i) => value + (step[i] ?? 0));
      const value = evaluate(model, next);
      if (value.logLikelihood >= now.logLikelihood - 1e-12 * Math.abs(now.logLikelihood)) {
        found = { at: next, value };
      }
      step = step.map((s) => s / 2);
    }
    if (!found) return null;
    [at, now] = [found.at, found.value];
    if (at.some((value) => Math.abs(value) > INFINITE)) return null;
    if (l && longest < 1e-8) {
      const end = cholesky(hessian(model, at));
      return end && { estimates: at, covariance: inverse(end), logLikelihood: now.logLikelihood };
    }
  }
  return null;
}

/** Less the second derivatives, from differences of the gradient. */
function hessian(model: Work, at: readonly number[]): Matrix {
  const step = 1e-5;
  const rows = at.map((_, i) => {
    const shifted = (by: number) =>
      evaluate(
        model,
        at.map((value, j) => (i === j ? value + by : value)),
      ).gradient;
    const [up, down] = [shifted(step), shifted(-step)];
    return up.map((value, j) => ((down[j] ?? 0) - value) / (2 * step));
  });
  return rows.map((row, i) => row.map((value, j) => (value + (rows[j]?.[i] ?? 0)) / 2));
}

function evaluate(model: Work, at: readonly number[]): Value {
  const { y, categories, columns, people } = model;
  const thetas = at.slice(0, categories - 1);
  const ordered = thetas.every((theta, j) => j === 0 || theta > (thetas[j - 1] ?? 0));
  if (!ordered) return { logLikelihood: -Infinity, gradient: at.map(() => 0) };
  const b = at.slice(categories - 1, categories - 1 + columns.length);
  const shift = y.map((_, row) =>
    columns.reduce((sum, column, k) => sum + (column[row] ?? 0) * (b[k] ?? 0), 0),
  );
  const gradient = at.map(() => 0);
  const add = (place: number, value: number) => (gradient[place] = (gradient[place] ?? 0) + value);
  const beta = categories - 1;

  let logLikelihood = 0;
  if (!people) {
    y.forEach((category, row) => {
      const p = piece(thetas, category, shift[row] ?? 0);
      logLikelihood += p.log;
      if (category < categories - 1) add(category, p.byUpper);
      if (category > 0) add(category - 1, p.byLower);
      columns.forEach((column, k) => add(beta + k, (column[row] ?? 0) * p.first));
    });
    return { logLikelihood, gradient };
  }

  const s = at.at(-1) ?? 0;
  const last = at.length - 1;
  people.forEach((rows, person) => {
    const u = modeOf(model, rows, { thetas, shift, s, start: model.modes[person] ?? 0 });
    model.modes[person] = u;
    const pieces = rows.map((row) => piece(thetas, y[row] ?? 0, (shift[row] ?? 0) + s * u));
    const sum = (of: (p: Piece) => number) => pieces.reduce((total, p) => total + of(p), 0);
    const [first, second, third] = [sum((p) => p.first), sum((p) => p.second), sum((p) => p.third)];
    const curve = 1 - s * s * second;
    logLikelihood += sum((p) => p.log) - (u * u) / 2 - Math.log(curve) / 2;
    // Each parameter acts on the value, on the curvature, and on the place of the mode.
    const byMode = -(s ** 3) * third;
    const total = (value: number, curvature: number, mixed: number) =>
      value - (curvature + (byMode * mixed) / curve) / (2 * curve);
    rows.forEach((row, i) => {
      const p = pieces[i];
      if (!p) return;
      const category = y[row] ?? 0;
      if (category < categories - 1) {
        add(category, total(p.byUpper, s * s * p.upperBend, s * p.upperSlope));
      }
      if (category > 0) add(category - 1, total(p.byLower, s * s * p.lowerBend, s * p.lowerSlope));
      columns.forEach((column, k) => {
        const x = column[row] ?? 0;
        if (x !== 0) add(beta + k, total(x * p.first, -s * s * x * p.third, s * x * p.second));
      });
    });
    add(last, total(u * first, -2 * s * second - s * s * u * third, first + s * u * second));
  });
  return { logLikelihood, gradient };
}

interface Piece {
  /** ln P(category). */
  log: number;
  /** Its slopes in the upper and the lower threshold. */
  byUpper: number;
  byLower: number;
  /** Its derivatives in the shift. */
  first: number;
  second: number;
  third: number;
  /** Logistic density at the thresholds and its slope. */
  upperSlope: number;
  lowerSlope: number;
  upperBend: number;
  lowerBend: number;
}

/** P = F(b) - F(a) = F(b) F(-a) (1 - e^(a - b)), thresholds less shift; ends at infinity drop out. */
function piece(thetas: readonly number[], category: number, shift: number): Piece {
  const b = (thetas[category] ?? Infinity) - shift;
  const a = category > 0 ? (thetas[category - 1] ?? Infinity) - shift : -Infinity;
  const upper = logistic(b);
  const lower = logistic(a);
  const between = b === Infinity || a === -Infinity ? 0 : 1 / Math.expm1(b - a);
  const upperSlope = upper * logistic(-b);
  const lowerSlope = lower * logistic(-a);
  const upperBend = upperSlope * (1 - 2 * upper);
  const lowerBend = lowerSlope * (1 - 2 * lower);
  return {
    log: logLogistic(b) + logLogistic(-a) + Math.log(-Math.expm1(a - b)),
    byUpper: logistic(-b) + between,
    byLower: -lower - between,
    first: lower - logistic(-b),
    second: -upperSlope - lowerSlope,
    third: upperBend + lowerBend,
    upperSlope,
    lowerSlope,
    upperBend,
    lowerBend,
  };
}

/** Where the joint likelihood of one assessor is highest in u: a concave function, Newton with halving. */
function modeOf(
  { y }: OrdinalModel,
  rows: readonly number[],
  {
    thetas,
    shift,
    s,
    start,
  }: { thetas: readonly number[]; shift: readonly number[]; s: number; start: number },
): number {
  const read = (u: number) => {
    let [log, first, second] = [0, 0, 0];
    for (const row of rows) {
      const p = piece(thetas, y[row] ?? 0, (shift[row] ?? 0) + s * u);
      log += p.log;
      first += p.first;
      second += p.second;
    }
    return { value: log - (u * u) / 2, slope: s * first - u, curve: 1 - s * s * second };
  };
  let u = start;
  let now = read(u);
  for (let turn = 0; turn < 100; turn += 1) {
    let step = now.slope / now.curve;
    let next = read(u + step);
    for (
      let halving = 0;
      halving < 30 && next.value < now.value - 1e-12 * Math.abs(now.value);
      halving += 1
    ) {
      step /= 2;
      next = read(u + step);
    }
    u += step;
    now = next;
    if (Math.abs(step) < 1e-11) break;
  }
  return u;
}

function logistic(x: number): number {
  return x >= 0 ? 1 / (1 + Math.exp(-x)) : Math.exp(x) / (1 + Math.exp(x));
}

function logLogistic(x: number): number {
  return x >= 0 ? -Math.log1p(Math.exp(-x)) : x - Math.log1p(Math.exp(x));
}
