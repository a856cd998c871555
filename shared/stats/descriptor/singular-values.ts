/** A = U diag(values) V', columns of U and V given as lists, values falling. */
export interface SingularValues {
  values: number[];
  /** One list per value, as long as A has rows. Zeros where the value is 0. */
  left: number[][];
  /** One list per value, as long as A has columns. */
  right: number[][];
}

/**
 * Singular value decomposition of a small full matrix by one-sided Jacobi rotations, which keep small values to full
 * relative accuracy. min(rows, columns) values. For matrices of up to some hundred columns on the shorter side.
 * matrix: rows of one length, finite. Errors: none.
 * Source: Hestenes 1958, J. SIAM 6:51; Demmel & Veselic 1992, SIAM J. Matrix Anal. Appl. 13:1204 (from memory).
 * Example: `singularValues([[3, 0], [4, 5]]).values[0]` is 6.7082039325
 */
export function singularValues(matrix: readonly (readonly number[])[]): SingularValues {
  const rows = matrix.length;
  const columns = matrix[0]?.length ?? 0;
  if (columns > rows) {
    const turned = singularValues(
      Array.from({ length: columns }, (_, j) => matrix.map((row) => row[j] ?? 0)),
    );
    return { values: turned.values, left: turned.right, right: turned.left };
  }
  // Columns of A, turned until each is at right angles to all others; the same turns give V.
  const a = Array.from({ length: columns }, (_, j) => Float64Array.from(matrix, (row) => row[j] ?? 0));
  const v = Array.from({ length: columns }, (_, j) =>
    Float64Array.from({ length: columns }, (_unused, i) => (i === j ? 1 : 0)),
  );
  for (let sweep = 0; sweep < 60; sweep += 1) {
    let turned = false;
    for (let p = 0; p < columns - 1; p += 1) {
      for (let q = p + 1; q < columns; q += 1) {
        const [x, y, vx, vy] = [a[p], a[q], v[p], v[q]];
        if (x && y && vx && vy && rightAngle(x, y, vx, vy)) turned = true;
      }
    }
    if (!turned) break;
  }
  const order = a
    .map((column, index) => ({ value: Math.sqrt(dot(column, column)), index }))
    .sort((one, other) => other.value - one.value);
  return {
    values: order.map(({ value }) => value),
    left: order.map(({ value, index }) =>
      Array.from(a[index] ?? [], (entry) => (value === 0 ? 0 : entry / value)),
    ),
    right: order.map(({ index }) => Array.from(v[index] ?? [])),
  };
}

/** Turns two columns to a right angle; false when they already are. */
function rightAngle(x: Float64Array, y: Float64Array, vx: Float64Array, vy: Float64Array): boolean {
  const [xx, yy, xy] = [dot(x, x), dot(y, y), dot(x, y)];
  if (Math.abs(xy) <= 1e-15 * Math.sqrt(xx * yy) || xx === 0 || yy === 0) return false;
  const zeta = (yy - xx) / (2 * xy);
  const t = (zeta < 0 ? -1 : 1) / (Math.abs(zeta) + Math.hypot(1, zeta));
  const c = 1 / Math.hypot(1, t);
  turn(x, y, c, c * t);
  turn(vx, vy, c, c * t);
  return true;
}

function turn(x: Float64Array, y: Float64Array, c: number, s: number): void {
  for (let i = 0; i < x.length; i += 1) {
    const [one, other] = [x[i] ?? 0, y[i] ?? 0];
    x[i] = c * one - s * other;
    y[i] = s * one + c * other;
  }
}

function dot(x: Float64Array, y: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < x.length; i += 1) sum += (x[i] ?? 0) * (y[i] ?? 0);
  return sum;
}
