import type { RandomSource } from '../../ground/random.ts';
import { chiSquareUpper } from '../chi-square.ts';
import { completeChoices, type AssessorRows } from '../complete-rows.ts';
import { fastRandom } from '../../ground/fast-random.ts';
import { atOnce, type Steps } from '../../ground/in-slices.ts';
import { integerIn } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { ROUTE_WORDS, type PermutationRoute } from '../ranking/friedman.ts';
import { exactTailSteps, MAX_STEPS, sequentialTailSteps } from '../row-permutation.ts';

export interface CochranQ extends MethodFacts {
  assessors: number;
  samples: number;
  excluded: number[];
  /** Assessors who chose the descriptor for some samples but not for all; the others say nothing here. */
  informative: number;
  /** Times chosen, per sample. */
  totals: number[];
  /** Null when no assessor is informative. */
  q: number | null;
  df: number;
  p: number;
  route: PermutationRoute;
  /** Random orders drawn, fewer than allowed where `enough` stopped them; null on the other routes. */
  permutations: number | null;
  /** The approximation, whatever route p took. */
  pChiSquare: number;
}

export interface CochranQInput {
  rows: AssessorRows;
  random?: RandomSource;
  permutations?: number;
  /**
   * Random orders that reach Q after which no more are drawn (sequentialTail); none by default. For screening many
   * descriptors, most of which have a large p.
   */
  enough?: number;
  /** Most steps of going through all orders, row-permutation.ts; fewer when many descriptors share the time. */
  mostSteps?: number;
}

/**
 * Was a descriptor chosen more often for some samples than for others, by the same assessors?
 * Q = k (k - 1) sum of (G_j - mean G)^2 / (k sum L_i - sum L_i^2), G_j times chosen for sample j of k, L_i samples for which
 * assessor i chose it; df = k - 1. p is exact when all orders within assessors can be gone through (small panels, few
 * samples), else from random orders when a random source is given, else chi-square, which is rough for fewer than about 24
 * answers of informative assessors; `route` says which. k = 2: exact McNemar.
 * Many descriptors: adjust over all of them, holm or benjaminiHochberg. Not for different people per sample.
 *
 * rows: one per assessor, 1 chosen, 0 not, null missing (the assessor is left out and listed); permutations whole from
 * 99 to 1,000,000, enough whole from 10. No informative assessor: q null, p = 1. Errors: StatsInputError.
 * Source: Cochran 1950, Biometrika 37:256.
 * Example: `cochranQ({ rows: [[0, 1, 1], [0, 1, 1], [0, 0, 1], [0, 1, 1]] }).p` is 0.07407407407
 */
export function cochranQ(input: CochranQInput): CochranQ {
  return atOnce(cochranQSteps(input));
}

/** The same in steps for inSlices: 200 assessors with 8 samples and 10,000 orders would hold up a server for 0.1 s. */
export function* cochranQSteps({
  rows: input,
  random,
  permutations = 9999,
  enough = permutations + 1,
  mostSteps = MAX_STEPS,
}: CochranQInput): Steps<CochranQ> {
  integerIn('permutations', permutations, 99, 1_000_000);
  integerIn('enough', enough, 10, 1_000_001);
  const { rows, excluded, samples: k } = completeChoices(input);
  const totals = Array.from({ length: k }, (_, j) => rows.reduce((sum, row) => sum + (row[j] ?? 0), 0));
  const perAssessor = rows.map((row) => row.reduce((a, b) => a + b, 0));
  const all = totals.reduce((a, b) => a + b, 0);
  const room = perAssessor.reduce((sum, l) => sum + l * (k - l), 0);
  // Whole numbers up to the division.
  const spread = k * totals.reduce((sum, g) => sum + g * g, 0) - all * all;
  const q = room === 0 ? null : ((k - 1) * spread) / room;
  const df = Math.max(0, k - 1);
  const pChiSquare = q === null ? 1 : chiSquareUpper(q, df);
  const exact = yield* exactTailSteps(rows, mostSteps);
  let route: PermutationRoute = 'exact';
  if (exact === null) route = random ? 'permutation' : 'chi-square';
  const drawn =
    exact === null && random
      ? yield* sequentialTailSteps(rows, { permutations, enough, random: fastRandom(random) })
      : { p: pChiSquare, drawn: null };
  return {
    assessors: rows.length,
    samples: k,
    excluded,
    informative: perAssessor.filter((l) => l > 0 && l < k).length,
    totals,
    q,
    df,
    p: exact ?? drawn.p,
    route,
    permutations: drawn.drawn,
    pChiSquare,
    method: `Cochran's Q test, ${ROUTE_WORDS[route]}`,
    assumption:
      'Each assessor tasted all samples and assessors are independent; if samples do not differ, every order within an assessor is equally likely.',
    source: 'Cochran 1950',
  };
}
