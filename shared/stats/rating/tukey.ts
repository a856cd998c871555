import { properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { studentizedRangeCritical, studentizedRangeUpperTail } from '../studentized-range.ts';
import { commonCount, pairsOf, type ComparedMeans, type Pair } from './pairs.ts';

export interface TukeyPair extends Pair {
  /** |difference| over the standard error of one mean of such a pair. */
  q: number;
  /** Adjusted for all pairs. */
  p: number;
  /** Limits of the difference that hold for all pairs at once. */
  lower: number;
  upper: number;
  significant: boolean;
}

export interface Tukey extends MethodFacts {
  pairs: TukeyPair[];
  /** Critical studentized range. */
  q: number;
  /** Honestly significant difference: the smallest that is significant. Null when means rest on unequal numbers. */
  hsd: number | null;
  alpha: number;
}

/**
 * Which samples differ, all pairs compared at one risk alpha together: Tukey's honestly significant difference, and
 * Kramer's form of it for unequal n. HSD = q(1 - alpha; k, df) sqrt(MS / n); p = P(Q >= |difference| / (SE / sqrt 2)),
 * SE = sqrt(MS (1 / n_i + 1 / n_j)). Two samples: the t test. Needs no F test before it.
 *
 * The error must be that of the F test of samples. Not for means of a mixed model with missing ratings (its own pairs),
 * nor for comparisons with one control only (compareWithControl). alpha between 0 and 1. Errors: StatsInputError.
 * Source: Tukey 1953, The problem of multiple comparisons; Kramer 1956, Biometrics 12:307.
 * Example: `tukey({ means: [{ sample: 'a', mean: 67.2777777778, n: 18 }, { sample: 'b', mean: 50, n: 18 }, { sample: 'c', mean: 40.5555555556, n: 18 }, { sample: 'd', mean: 31.0555555556, n: 18 }], msError: 170.835648148, df: 24, alpha: 0.05 }).pairs[0].p` is 0.003014657
 */
export function tukey({ means, msError, df, alpha }: ComparedMeans & { alpha: number }): Tukey {
  properProbability('alpha', alpha);
  const pairs = pairsOf({ means, msError, df });
  const critical = studentizedRangeCritical(alpha, means.length, df);
  const n = commonCount(means);
  return {
    pairs: pairs.map((pair) => {
      const unit = pair.standardError / Math.SQRT2;
      const q = Math.abs(pair.difference) / unit;
      const p = studentizedRangeUpperTail(q, means.length, df);
      const reach = critical * unit;
      return {
        ...pair,
        q,
        p,
        lower: pair.difference - reach,
        upper: pair.difference + reach,
        significant: p <= alpha,
      };
    }),
    q: critical,
    hsd: n === null ? null : critical * Math.sqrt(msError / n),
    alpha,
    method:
      n === null
        ? 'Tukey-Kramer comparison of all pairs'
        : "Tukey's honestly significant difference, all pairs",
    assumption:
      'As for the analysis of variance whose error it uses; the risk is that of all pairs together.',
    source: n === null ? 'Tukey 1953; Kramer 1956' : 'Tukey 1953',
  };
}
