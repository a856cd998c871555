import { fUpperTail } from '../f-ratio.ts';
import type { FTest } from './anova.ts';
import { apply, dot, multiply, symmetricEigen, type Matrix } from './matrix.ts';
import type { RemlFit } from './reml.ts';

export interface Contrast {
  estimate: number;
  standardError: number;
  /** Satterthwaite degrees of freedom. */
  df: number;
}

/**
 * l' b with its standard error and degrees of freedom. Errors: none. Source: Satterthwaite 1946.
 * Example: `contrast({ beta: [2, 1], covariance: [[4, 0], [0, 1]], degreesOfFreedom: () => 7 }, [1, 0]).standardError` is 2
 */
export function contrast(
  fit: Pick<RemlFit, 'beta' | 'covariance' | 'degreesOfFreedom'>,
  row: readonly number[],
): Contrast {
  return {
    estimate: dot(row, fit.beta),
    standardError: Math.sqrt(dot(row, apply(fit.covariance, row))),
    df: fit.degreesOfFreedom(row),
  };
}

/**
 * F test that all contrasts are 0. The contrasts are turned into independent ones; F is the mean of their t^2, its
 * denominator from their degrees of freedom v_i: E = sum v_i / (v_i - 2), df2 = 2 E / (E - q); 2 if one is 2 or less.
 * Contrasts linearly independent. Errors: none.
 * Source: Fai & Cornelius 1996, J. Stat. Comput. Simul. 54:363.
 * Example: `fTestOf({ beta: [2, 1], covariance: [[4, 0], [0, 1]], degreesOfFreedom: () => 7 }, [[1, 0], [0, 1]]).f` is 1
 */
export function fTestOf(
  fit: Pick<RemlFit, 'beta' | 'covariance' | 'degreesOfFreedom'>,
  rows: readonly (readonly number[])[],
): FTest {
  const l: Matrix = rows.map((row) => [...row]);
  const spread = l.map((row) => l.map((other) => dot(row, apply(fit.covariance, other))));
  const parts = symmetricEigen(spread).map(({ value, vector }) => {
    const [row = []] = multiply([vector], l);
    return { t2: dot(row, fit.beta) ** 2 / value, df: fit.degreesOfFreedom(row) };
  });
  const f = parts.reduce((sum, { t2 }) => sum + t2, 0) / parts.length;
  const df2 = denominator(parts.map(({ df }) => df));
  return { f, df1: parts.length, df2, p: fUpperTail(f, parts.length, df2) };
}

function denominator(dfs: readonly number[]): number {
  const [first = NaN] = dfs;
  // The formula would take the difference of nearly equal numbers.
  if (dfs.every((df) => Math.abs(df - first) < 1e-7 * first)) return first;
  if (dfs.some((df) => df <= 2)) return 2;
  const e = dfs.reduce((sum, df) => sum + df / (df - 2), 0);
  return (2 * e) / (e - dfs.length);
}
