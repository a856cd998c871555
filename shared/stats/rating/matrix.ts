/** Small dense linear algebra: what the model fits need and nothing else. Row by row; sizes up to some dozens. */
export type Matrix = number[][];

/**
 * Lower triangle L with L L' = a, for a symmetric positive definite matrix; null when it is none, judged by a pivot below
 * 1e-11 of its diagonal (columns that say the same). Errors: none.
 * Source: Golub & Van Loan, Matrix Computations, section 4.2 (from memory).
 * Example: `cholesky([[4, 2], [2, 5]])[1][1]` is 2
 */
export function cholesky(a: Matrix): Matrix | null {
  const l: Matrix = [];
  for (let i = 0; i < a.length; i += 1) {
    const row: number[] = [];
    for (let j = 0; j <= i; j += 1) {
      let sum = at(a, i, j);
      const other = j === i ? row : (l[j] ?? []);
      for (let k = 0; k < j; k += 1) sum -= (row[k] ?? 0) * (other[k] ?? 0);
      if (j < i) row.push(sum / at(l, j, j));
      else if (sum > 1e-11 * at(a, i, i)) row.push(Math.sqrt(sum));
      else return null;
    }
    l.push(row);
  }
  return l;
}

/** ln det of L L'. Example: `logDeterminant([[2], [1, 2]])` is 2.77258872224 */
export function logDeterminant(l: Matrix): number {
  return l.reduce((total, row, i) => total + 2 * Math.log(row[i] ?? NaN), 0);
}

/** x with L L' x = b. Example: `solveCholesky([[2], [1, 2]], [8, 9])[0]` is 1.375 */
export function solveCholesky(l: Matrix, b: readonly number[]): number[] {
  const x = [...b];
  for (let i = 0; i < x.length; i += 1) {
    for (let k = 0; k < i; k += 1) x[i] = (x[i] ?? 0) - at(l, i, k) * (x[k] ?? 0);
    x[i] = (x[i] ?? 0) / at(l, i, i);
  }
  for (let i = x.length - 1; i >= 0; i -= 1) {
    for (let k = i + 1; k < x.length; k += 1) x[i] = (x[i] ?? 0) - at(l, k, i) * (x[k] ?? 0);
    x[i] = (x[i] ?? 0) / at(l, i, i);
  }
  return x;
}

/** Inverse of L L'. Example: `inverse([[2], [1, 2]])[0][0]` is 0.3125 */
export function inverse(l: Matrix): Matrix {
  return l.map((_, i) => solveCholesky(l, unit(l.length, i)));
}

/** a b. Example: `multiply([[1, 2]], [[3], [4]])[0][0]` is 11 */
export function multiply(a: Matrix, b: Matrix): Matrix {
  const columns = b[0]?.length ?? 0;
  return a.map((row) =>
    Array.from({ length: columns }, (_, j) => row.reduce((sum, value, k) => sum + value * at(b, k, j), 0)),
  );
}

/** a v. Example: `apply([[1, 2], [0, 1]], [3, 4])[0]` is 11 */
export function apply(a: Matrix, v: readonly number[]): number[] {
  return a.map((row) => dot(row, v));
}

/** u' v. Example: `dot([1, 2], [3, 4])` is 11 */
export function dot(u: ArrayLike<number>, v: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < u.length; i += 1) sum += (u[i] ?? 0) * (v[i] ?? 0);
  return sum;
}

/** Trace of a b. Example: `traceOfProduct([[1, 2], [3, 4]], [[1, 0], [0, 1]])` is 5 */
export function traceOfProduct(a: Matrix, b: Matrix): number {
  let sum = 0;
  a.forEach((row, i) => row.forEach((value, j) => (sum += value * at(b, j, i))));
  return sum;
}

/** A row of zeros with 1 at `place`. Example: `unit(3, 1)[1]` is 1 */
export function unit(length: number, place: number): number[] {
  return Array.from({ length }, (_, i) => (i === place ? 1 : 0));
}

/**
 * Eigenvalues and eigenvectors (as rows) of a symmetric matrix by Jacobi's rotations, not sorted.
 * Errors: none. Source: Golub & Van Loan, Matrix Computations, section 8.5 (from memory).
 * Example: `symmetricEigen([[2, 1], [1, 2]]).map(({ value }) => value).sort()[1]` is 3
 */
export function symmetricEigen(matrix: Matrix): { value: number; vector: number[] }[] {
  const n = matrix.length;
  const a = matrix.map((row) => [...row]);
  const vectors = a.map((_, i) => unit(n, i));
  const scale = a.reduce((total, row) => total + dot(row, row), 0);
  for (let sweep = 0; sweep < 60; sweep += 1) {
    let off = 0;
    for (let i = 0; i < n; i += 1) for (let j = 0; j < i; j += 1) off += at(a, i, j) ** 2;
    if (off <= 1e-32 * scale) break;
    for (let p = 0; p < n; p += 1) {
      for (let q = p + 1; q < n; q += 1) {
        if (at(a, p, q) === 0) continue;
        const half = (at(a, q, q) - at(a, p, p)) / (2 * at(a, p, q));
        const t = (half < 0 ? -1 : 1) / (Math.abs(half) + Math.sqrt(half * half + 1));
        const c = 1 / Math.sqrt(t * t + 1);
        rotate(a, p, q, c, t * c);
        for (const row of a) rotatePair(row, p, q, c, t * c);
        rotate(vectors, p, q, c, t * c);
      }
    }
  }
  return vectors.map((vector, i) => ({ value: at(a, i, i), vector }));
}

function rotate(a: Matrix, p: number, q: number, c: number, s: number): void {
  const [above = [], below = []] = [a[p], a[q]];
  above.forEach((x, i) => {
    const y = below[i] ?? 0;
    above[i] = c * x - s * y;
    below[i] = s * x + c * y;
  });
}

function rotatePair(row: number[], p: number, q: number, c: number, s: number): void {
  const [x, y] = [row[p] ?? 0, row[q] ?? 0];
  row[p] = c * x - s * y;
  row[q] = s * x + c * y;
}

function at(a: Matrix, i: number, j: number): number {
  return a[i]?.[j] ?? 0;
}
