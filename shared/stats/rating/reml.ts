import {
  apply,
  cholesky,
  dot,
  inverse,
  logDeterminant,
  multiply,
  traceOfProduct,
  type Matrix,
} from './matrix.ts';
import { solveV, spread, traces, type Nesting, type Part, type Ratios } from './nested-variance.ts';

/** A linear mixed model y = X b + assessor (+ cell) + residual. */
export interface RemlModel {
  y: ArrayLike<number>;
  /** Columns of the fixed part, linearly independent. */
  columns: readonly ArrayLike<number>[];
  nesting: Nesting;
  /** Estimate a variance of cells too. */
  cells: boolean;
}

export interface RemlFit {
  beta: number[];
  /** Covariance of beta. */
  covariance: Matrix;
  /** Variances; a component at the edge of what is possible is 0. */
  residual: number;
  assessor: number;
  cell: number;
  /** -2 log restricted likelihood at the optimum. */
  criterion: number;
  /** y - X b, before assessors are taken out. */
  marginalResiduals: number[];
  /** What is left after assessors (and cells) as predicted: the residuals to look at. */
  residuals: number[];
  /** Satterthwaite degrees of freedom of the contrast l' b. */
  degreesOfFreedom: (contrast: readonly number[]) => number;
}

/** The same in one kind of array. */
interface Model extends RemlModel {
  y: Float64Array;
  columns: Float64Array[];
}

interface State {
  ratios: Ratios;
  criterion: number;
  beta: number[];
  /** (X' V^-1 X)^-1. */
  c: Matrix;
  /** V^-1 X, by column. */
  solved: Float64Array[];
  /** P y. */
  e: Float64Array;
  /** y' P y. */
  q: number;
  r: Float64Array;
}

/** Ratios of variances beyond e^+-18 are taken as none and as all. */
const EDGE = 18;

/**
 * Restricted maximum likelihood for one or two nested variances: the criterion
 * (n - p)(1 + ln(2 pi s^2)) + ln|V| + ln|X' V^-1 X| is minimised over the ratios of variances to the residual, by Newton
 * in their logarithms with exact derivatives, from the best point of a coarse grid, once for every set of components
 * above 0; the best set wins. Estimates are exact to about 1e-9 relative.
 *
 * Degrees of freedom: 2 v^2 / (g' A g), v = l' C l, g its slopes in the variances, A twice the inverse of the observed
 * Hessian; components estimated as 0 stay out, as at the edge their slope in the standard deviation is 0.
 * Null: columns not independent, no row left for the residual, or no residual variation. Errors: none.
 * Source: Patterson & Thompson 1971, Biometrika 58:545; Bates et al. 2015, J. Stat. Softw. 67(1); Satterthwaite 1946,
 * Biometrics Bull. 2:110; Giesbrecht & Burns 1985, Biometrics 41:477 (contrasts; from memory).
 * Example: `reml({ y: [5, 6, 7, 5.5, 6.5, 6, 4.5, 6, 7.5], columns: [[1, 1, 1, 1, 1, 1, 1, 1, 1], [0, 1, 0, 0, 1, 0, 0, 1, 0], [0, 0, 1, 0, 0, 1, 0, 0, 1]], nesting: { n: 9, blocks: [[[0, 1, 2]], [[3, 4, 5]], [[6, 7, 8]]], people: [[0, 1, 2], [3, 4, 5], [6, 7, 8]] }, cells: false }).residual` is 0.30555555556
 */
export function reml(given: RemlModel): RemlFit | null {
  // One kind of array, so that the engine's inner loops stay fast.
  const model: Model = {
    ...given,
    y: Float64Array.from(given.y),
    columns: given.columns.map((column) => Float64Array.from(column)),
  };
  const { y, columns } = model;
  const free = y.length - columns.length;
  if (free < 1) return null;
  const plain = evaluate(model, [0, 0]);
  if (!plain) return null;
  const total = product(y, y);
  if (plain.q <= 1e-22 * total) return null;

  let best = plain;
  let active: Part[] = [];
  const sets: Part[][] = model.cells ? [[1], [2], [1, 2]] : [[1]];
  for (const set of sets) {
    const found = optimise(model, set, active, best);
    if (found === 'no residual') return null;
    // A component has to earn its place beyond rounding.
    if (found && found.criterion < best.criterion - 1e-9) [best, active] = [found, set];
  }
  return describe(model, best, active, free);
}

function evaluate(model: Model, ratios: Ratios): State | null {
  const { y, columns, nesting } = model;
  const solved = columns.map((column) => solveV(nesting, ratios, column));
  const l = cholesky(symmetric(columns, solved));
  if (!l) return null;
  const c = inverse(l);
  const beta = apply(
    c,
    solved.map((column) => product(column, y)),
  );
  const r = Float64Array.from(y);
  columns.forEach((x, j) => {
    for (let row = 0; row < r.length; row += 1) r[row] = (r[row] ?? 0) - (x[row] ?? 0) * (beta[j] ?? 0);
  });
  const e = solveV(nesting, ratios, r);
  const q = product(r, e);
  const free = y.length - columns.length;
  const criterion =
    free * (1 + Math.log((2 * Math.PI * q) / free)) + traces(nesting, ratios).logDet + logDeterminant(l);
  return { ratios, criterion, beta, c, solved, e, q, r };
}

interface Derivatives {
  /** tr(P V_i) and e' V_i e, by part given. */
  first: { trace: number; q: number }[];
  /** tr(P V_i P V_j) and e' V_i P V_j e. */
  second: { trace: number; q: number }[][];
  /** A' V_i A with A = V^-1 X. */
  b: Matrix[];
}

function derivatives(
  { nesting }: Model,
  { ratios, c, solved, e }: State,
  parts: readonly Part[],
): Derivatives {
  const known = traces(nesting, ratios);
  const work = parts.map((part) => {
    const spreadA = solved.map((column) => spread(nesting, part, column));
    const spreadE = spread(nesting, part, e);
    return {
      part,
      spreadA,
      spreadE,
      solvedA: spreadA.map((column) => solveV(nesting, ratios, column)),
      solvedE: solveV(nesting, ratios, spreadE),
      b: symmetric(solved, spreadA),
      ae: solved.map((column) => product(column, spreadE)),
    };
  });
  return {
    first: work.map(({ part, b, spreadE }) => ({
      trace: (known.single[part] ?? 0) - traceOfProduct(c, b),
      q: product(e, spreadE),
    })),
    second: work.map((one) =>
      work.map((other) => {
        const middle =
          one === other
            ? symmetric(one.spreadA, one.solvedA)
            : one.spreadA.map((column) => other.solvedA.map((solvedA) => product(column, solvedA)));
        return {
          trace:
            (known.double[one.part]?.[other.part] ?? 0) -
            2 * traceOfProduct(c, middle) +
            traceOfProduct(multiply(c, one.b), multiply(c, other.b)),
          q: product(one.spreadE, other.solvedE) - dot(one.ae, apply(c, other.ae)),
        };
      }),
    ),
    b: work.map(({ b }) => b),
  };
}

/** The optimum with the parts of the set above 0; null when one of them goes to 0. */
function optimise(
  model: Model,
  set: readonly Part[],
  active: readonly Part[],
  best: State,
): State | 'no residual' | null {
  const free = model.y.length - model.columns.length;
  const state = (logs: readonly number[]) => evaluate(model, ratiosOf(set, logs));
  let logs: number[] = [];
  let now: State | null = null;
  const grid = [-4, -2, -0.5, 1, 3];
  // Both components: around the better of those with one.
  const known = (part: Part) => (active.includes(part) ? [Math.log(best.ratios[part - 1] ?? 1)] : grid);
  const [first = grid, second = [0]] = set.length === 1 ? [grid] : set.map(known);
  const starts = first.flatMap((a) => second.map((b) => [a, b].slice(0, set.length)));
  for (const start of starts) {
    const at = state(start);
    if (at && (!now || at.criterion < now.criterion)) [now, logs] = [at, start];
  }
  for (let turn = 0; now && turn < 100; turn += 1) {
    const { q } = now;
    const { first, second } = derivatives(model, now, set);
    const t = logs.map(Math.exp);
    const gradient = first.map((d, i) => (t[i] ?? 0) * (d.trace - (free * d.q) / q));
    const hessian = second.map((row, i) =>
      row.map((d, j) => {
        const curve = -d.trace + free * ((2 * d.q) / q - ((first[i]?.q ?? 0) * (first[j]?.q ?? 0)) / (q * q));
        return (t[i] ?? 0) * (t[j] ?? 0) * curve + (i === j ? (gradient[i] ?? 0) : 0);
      }),
    );
    const l = cholesky(hessian);
    // Where the criterion is not bowl-shaped: downhill by a fixed length.
    let step = l ? apply(inverse(l), gradient) : gradient.map((slope) => Math.sign(slope));
    const longest = Math.max(...step.map(Math.abs));
    if (longest > 2) step = step.map((s) => (2 * s) / longest);
    let next: State | null = null;
    let moved = logs;
    for (let halving = 0; halving < 30; halving += 1) {
      moved = logs.map((log, i) => log - (step[i] ?? 0));
      next = state(moved);
      if (next && next.criterion <= now.criterion + 1e-11 * (1 + Math.abs(now.criterion))) break;
      step = step.map((s) => s / 2);
      next = null;
    }
    if (!next) return now;
    [now, logs] = [next, moved];
    if (logs.some((log) => log > EDGE)) return 'no residual';
    if (logs.some((log) => log < -EDGE)) return null;
    if (l && Math.max(...step.map(Math.abs)) < 1e-9) return now;
  }
  return now;
}

function ratiosOf(set: readonly Part[], logs: readonly number[]): Ratios {
  const ratio = (part: Part) => {
    const place = set.indexOf(part);
    return place < 0 ? 0 : Math.exp(logs[place] ?? 0);
  };
  return [ratio(1), ratio(2)];
}

function describe(model: Model, state: State, active: readonly Part[], free: number): RemlFit {
  const residual = state.q / free;
  const { c, e } = state;
  const parts: Part[] = [0, ...active];
  const { second, b } = derivatives(model, state, parts);
  // Observed Hessian of the criterion in the variances: -tr(P V_i P V_j) + 2 y' P V_i P V_j P y, P for the full covariance.
  const hessian = second.map((row) => row.map((d) => (-d.trace + (2 * d.q) / residual) / residual ** 2));
  const l = cholesky(hessian);
  const spreadOfVariances = l ? inverse(l).map((row) => row.map((value) => 2 * value)) : null;
  return {
    beta: state.beta,
    covariance: c.map((row) => row.map((value) => value * residual)),
    residual,
    assessor: state.ratios[0] * residual,
    cell: state.ratios[1] * residual,
    criterion: state.criterion,
    marginalResiduals: [...state.r],
    // R V^-1 r in units of the residual variance.
    residuals: [...e],
    degreesOfFreedom: (contrast) => {
      const cl = apply(c, contrast);
      const variance = dot(contrast, cl) * residual;
      const slopes = b.map((part) => dot(cl, apply(part, cl)));
      if (!spreadOfVariances) return free;
      return (2 * variance ** 2) / dot(slopes, apply(spreadOfVariances, slopes));
    },
  };
}

/** u' v over rows of the table. Apart from `dot`, which sees arrays of all kinds and is some times slower for it. */
function product(u: Float64Array, v: Float64Array): number {
  let sum = 0;
  for (let row = 0; row < u.length; row += 1) sum += (u[row] ?? 0) * (v[row] ?? 0);
  return sum;
}

/** u' v of all columns, where that is symmetric: half of it is worked out. */
function symmetric(us: readonly Float64Array[], vs: readonly Float64Array[]): Matrix {
  const all: Matrix = us.map(() => []);
  us.forEach((u, i) => {
    for (let j = 0; j <= i; j += 1) {
      const value = product(u, vs[j] ?? u);
      (all[i] ?? [])[j] = value;
      (all[j] ?? [])[i] = value;
    }
  });
  return all;
}
