import { finiteFrom, integerIn, MAX_ANSWERS, StatsInputError } from '../../ground/input.ts';
import { degreesOfFreedom } from '../f-ratio.ts';

/** Means to compare, with the error they share. */
export interface ComparedMeans {
  /** At least two; n, the ratings behind each mean, whole from 1. */
  means: readonly { sample: string; mean: number; n: number }[];
  /** Error mean square, of the same error as the F test of samples; above 0. */
  msError: number;
  /** Its degrees of freedom, above 0. */
  df: number;
}

export interface Pair {
  first: string;
  second: string;
  /** Mean of first less mean of second. */
  difference: number;
  standardError: number;
}

/**
 * Every pair of means once, in the order given, with the standard error of its difference,
 * sqrt(MS (1 / n_i + 1 / n_j)). Errors: StatsInputError.
 * Example: `pairsOf({ means: [{ sample: 'a', mean: 5, n: 8 }, { sample: 'b', mean: 3, n: 8 }], msError: 4, df: 7 })[0].standardError` is 1
 */
export function pairsOf({ means, msError, df }: ComparedMeans): Pair[] {
  if (means.length < 2) throw new StatsInputError('means.length', means.length, 'at least 2');
  finiteFrom('msError', msError, 0);
  if (msError === 0) throw new StatsInputError('msError', msError, 'a number above 0');
  degreesOfFreedom('df', df);
  means.forEach(({ mean, n }, index) => {
    if (!Number.isFinite(mean)) throw new StatsInputError(`means[${index}].mean`, mean, 'a finite number');
    integerIn(`means[${index}].n`, n, 1, MAX_ANSWERS);
  });
  return means.flatMap((one, index) =>
    means.slice(index + 1).map((other) => ({
      first: one.sample,
      second: other.sample,
      difference: one.mean - other.mean,
      standardError: Math.sqrt(msError * (1 / one.n + 1 / other.n)),
    })),
  );
}

/**
 * The number of ratings behind every mean if it is one and the same; null if not.
 * Errors: none. Example: `commonCount([{ n: 18 }, { n: 18 }])` is 18
 */
export function commonCount(means: readonly { n: number }[]): number | null {
  const n = means[0]?.n ?? 0;
  return means.every((one) => one.n === n) ? n : null;
}
