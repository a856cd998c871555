/**
 * The covariance of ratings of assessors, in units of the residual variance: V = I + t1 Z1 Z1' + t2 Z2 Z2', where Z1
 * collects an assessor and Z2 a cell of assessor and sample within. It falls into blocks, one an assessor, whose inverse
 * is known in closed form (Sherman-Morrison twice), so that nothing of the size of the table is ever inverted.
 * Source: Searle, Casella & McCulloch 1992, Variance Components, appendix M (from memory).
 */
export interface Nesting {
  n: number;
  /** assessors -> cells -> rows of the table. */
  blocks: number[][][];
  /** assessors -> rows. */
  people: number[][];
}

/** t1 for assessors, t2 for cells. */
export type Ratios = readonly [number, number];

/** 1: assessors, 2: cells, 0: the residual itself. */
export type Part = 0 | 1 | 2;

/**
 * Rows grouped by assessor, and within by cell; without cells an assessor is one cell.
 * Errors: none. Example: `nesting([0, 0, 1], [0, 1, 2]).blocks[0].length` is 2
 */
export function nesting(assessor: readonly number[], cell: readonly number[] | null): Nesting {
  const byAssessor = new Map<number, Map<number, number[]>>();
  assessor.forEach((person, row) => {
    const cells = byAssessor.get(person) ?? new Map<number, number[]>();
    byAssessor.set(person, cells);
    const key = cell?.[row] ?? 0;
    const rows = cells.get(key) ?? [];
    cells.set(key, rows);
    rows.push(row);
  });
  const blocks = [...byAssessor.values()].map((cells) => [...cells.values()]);
  return { n: assessor.length, blocks, people: blocks.map((cells) => cells.flat()) };
}

/** V^-1 v. Example: `solveV(nesting([0, 0], null), [0.5, 0], [3, 3])[0]` is 1.5 */
export function solveV({ n, blocks }: Nesting, [t1, t2]: Ratios, v: ArrayLike<number>): Float64Array {
  const out = new Float64Array(n);
  for (const cells of blocks) {
    let weightAll = 0;
    let sumAll = 0;
    const sums = cells.map((rows) => {
      let sum = 0;
      for (const row of rows) sum += v[row] ?? 0;
      const weight = 1 / (1 + t2 * rows.length);
      weightAll += rows.length * weight;
      sumAll += weight * sum;
      return sum;
    });
    const common = (t1 / (1 + t1 * weightAll)) * sumAll;
    cells.forEach((rows, c) => {
      const less = (t2 * (sums[c] ?? 0) + common) / (1 + t2 * rows.length);
      for (const row of rows) out[row] = (v[row] ?? 0) - less;
    });
  }
  return out;
}

/** Z Z' v of a part. Example: `spread(nesting([0, 0], null), 1, [1, 4])[0]` is 5 */
export function spread({ blocks, people }: Nesting, part: Part, v: ArrayLike<number>): Float64Array {
  const out = Float64Array.from(v);
  if (part === 0) return out;
  const groups = part === 1 ? people : blocks.flat();
  for (const rows of groups) {
    let sum = 0;
    for (const row of rows) sum += v[row] ?? 0;
    for (const row of rows) out[row] = sum;
  }
  return out;
}

export interface Traces {
  /** ln det V. */
  logDet: number;
  /** tr(V^-1 V_i), by part. */
  single: number[];
  /** tr(V^-1 V_i V^-1 V_j), by parts. */
  double: number[][];
}

/**
 * ln det V and the traces that derivatives need, by part (0 residual, 1 assessors, 2 cells).
 * Errors: none. Example: `traces(nesting([0, 0], null), [3, 0]).logDet` is 1.94591014906
 */
export function traces({ n, blocks }: Nesting, [t1, t2]: Ratios): Traces {
  let [logDet, one1, one2, two11, two12, two22] = [0, 0, 0, 0, 0, 0];
  for (const cells of blocks) {
    let [s, squares, cubes] = [0, 0, 0];
    for (const { length } of cells) {
      logDet += Math.log1p(t2 * length);
      const a = length / (1 + t2 * length);
      s += a;
      squares += a * a;
      cubes += a * a * a;
    }
    const share = 1 / (1 + t1 * s);
    const k = t1 * share;
    logDet += Math.log1p(t1 * s);
    one1 += s * share;
    one2 += s - k * squares;
    two11 += (s * share) ** 2;
    two12 += squares * share * share;
    two22 += squares - 2 * k * cubes + (k * squares) ** 2;
  }
  // V V^-1 = I gives the traces with the residual part from the others.
  const one0 = n - t1 * one1 - t2 * one2;
  const two01 = one1 - t1 * two11 - t2 * two12;
  const two02 = one2 - t1 * two12 - t2 * two22;
  const two00 = one0 - t1 * two01 - t2 * two02;
  return {
    logDet,
    single: [one0, one1, one2],
    double: [
      [two00, two01, two02],
      [two01, two11, two12],
      [two02, two12, two22],
    ],
  };
}
