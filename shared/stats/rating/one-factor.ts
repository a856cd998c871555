import type { Matrix } from './matrix.ts';

/** Off by less than this, correlations count as products. */
const EXACT = 1e-8;

/**
 * Loadings l with r_ij = l_i l_j for all pairs, which Dunnett's distribution needs; null when correlations are no such products
 * or a loading lies outside 0..0.999. Two comparisons can share theirs in any way: both take the square root.
 * A correlation matrix. Errors: none. Source: Dunnett & Sobel 1955, Biometrika 42:258 (product correlations; from memory).
 * Example: `oneFactor([[1, 0.5, 0.5], [0.5, 1, 0.5], [0.5, 0.5, 1]])[2]` is 0.707106781187
 */
export function oneFactor(correlation: Matrix): number[] | null {
  const k = correlation.length;
  const at = (i: number, j: number) => correlation[i]?.[j] ?? NaN;
  if (k === 1) return [0];
  const loadings = correlation.map((_, i) => {
    if (k === 2) return Math.sqrt(at(0, 1));
    // r_ij r_im / r_jm is l_i^2, whichever the two others.
    const [j = 0, m = 0] = [0, 1, 2].filter((other) => other !== i);
    return Math.sqrt((at(i, j) * at(i, m)) / at(j, m));
  });
  const fits = correlation.every((_, i) =>
    correlation.every(
      (_, j) => i === j || Math.abs((loadings[i] ?? NaN) * (loadings[j] ?? NaN) - at(i, j)) < EXACT,
    ),
  );
  return fits && loadings.every((loading) => loading >= 0 && loading <= 0.999) ? loadings : null;
}
