import { probability, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { studentQuantile, studentTwoSidedP } from '../student-t.ts';
import { commonCount, pairsOf, type ComparedMeans, type Pair } from './pairs.ts';

export interface LsdPair extends Pair {
  t: number;
  /** Of this pair alone, not adjusted. */
  p: number;
  significant: boolean;
}

export interface Lsd extends MethodFacts {
  /** Empty when the overall test is not significant: then no pair may be claimed. */
  pairs: LsdPair[];
  /** Least significant difference; null when means rest on unequal numbers. */
  lsd: number | null;
  /** The overall test allows a look at pairs. */
  allowed: boolean;
  alpha: number;
}

/**
 * Least significant difference: each pair by its own t test, once the F test of samples is significant.
 * LSD = t(1 - alpha / 2; df) sqrt(2 MS / n). Not adjusted: with more than three samples the risk of a false claim is above
 * alpha, so `tukey` is to be preferred. overallP, the p of that F test, from 0 to 1; alpha between 0 and 1.
 * Errors: StatsInputError. Source: Fisher 1935, The Design of Experiments (from memory); Lawless & Heymann 2010.
 * Example: `lsd({ means: [{ sample: 'a', mean: 67.2777777778, n: 18 }, { sample: 'b', mean: 50, n: 18 }], msError: 170.835648148, df: 24, alpha: 0.05, overallP: 1.39e-7 }).lsd` is 8.9920009378
 */
export function lsd({
  means,
  msError,
  df,
  alpha,
  overallP,
}: ComparedMeans & { alpha: number; overallP: number }): Lsd {
  properProbability('alpha', alpha);
  probability('overallP', overallP);
  const pairs = pairsOf({ means, msError, df });
  const n = commonCount(means);
  const allowed = overallP <= alpha;
  return {
    pairs: allowed
      ? pairs.map((pair) => {
          const t = pair.difference / pair.standardError;
          const p = studentTwoSidedP(t, df);
          return { ...pair, t, p, significant: p <= alpha };
        })
      : [],
    lsd: n === null ? null : -studentQuantile(alpha / 2, df) * Math.sqrt((2 * msError) / n),
    allowed,
    alpha,
    method: 'Least significant difference after a significant F test, not adjusted',
    assumption: 'As for the analysis of variance whose error it uses; the risk is that of each pair alone.',
    source: 'Fisher 1935; Lawless & Heymann 2010',
  };
}
