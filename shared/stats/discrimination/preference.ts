import { upperTail } from '../binomial.ts';
import { answerCount, integerIn, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { RISK_TOLERANCE } from './critical-number.ts';
import { clopperPearson } from './proportion-interval.ts';

/**
 * What becomes of "no preference", declared before the session. `exclude`: only those who prefer one count.
 * `split`: half of them to each sample; of an odd number the last one is left out, so that neither side gains.
 */
export type NoPreferencePolicy = 'exclude' | 'split';

export interface PairedPreference extends MethodFacts {
  p: number;
  policy: NoPreferencePolicy;
  /** Votes for A and for both that were analysed, after the policy. */
  preferA: number;
  n: number;
  /** preferA / n; null without votes. */
  share: number | null;
  /** Exact limits of that share; [0, 1] without votes. */
  lower: number;
  upper: number;
  level: number;
  /** "No preference" as it was answered, and its share of all answers (null without answers): show it in every chart. */
  noPreference: number;
  noPreferenceShare: number | null;
  /** Votes for the sample preferred more often that are significant at 1 - level; null when no count is. */
  critical: number | null;
}

/**
 * Two-sided exact p of `count` of `n` against one half: min(1, 2 P(X >= max(count, n - count) | n, 1/2)).
 * n whole from 0, count 0..n. n = 0 and count = n / 2: 1. Within 1e-12 relative. Errors: StatsInputError.
 * Source: Roessler, Pangborn, Sidel & Stone 1978, J. Food Sci. 43:940; ISO 5495.
 * Example: `twoSidedP({ count: 15, n: 20 })` is 0.041389465332
 */
export function twoSidedP({ count, n }: { count: number; n: number }): number {
  answerCount('n', n);
  integerIn('count', count, 0, n);
  return Math.min(1, 2 * upperTail(Math.max(count, n - count), n, 0.5));
}

/**
 * Fewest votes for one sample, either of the two, that are significant at two-sided `alpha`; null when none are.
 * n whole from 0, alpha between 0 and 1. Errors: StatsInputError. Source: as twoSidedP.
 * Example: `twoSidedCriticalNumber({ n: 40, alpha: 0.05 })` is 27
 */
export function twoSidedCriticalNumber({ n, alpha }: { n: number; alpha: number }): number | null {
  answerCount('n', n);
  properProbability('alpha', alpha);
  const limit = alpha * (1 + RISK_TOLERANCE);
  if (n === 0 || twoSidedP({ count: n, n }) > limit) return null;
  // Halving: an even split has p = 1, n of n is significant.
  let not = n >> 1;
  let yes = n;
  while (yes - not > 1) {
    const middle = (not + yes) >> 1;
    if (twoSidedP({ count: middle, n }) <= limit) yes = middle;
    else not = middle;
  }
  return yes;
}

/**
 * Which of two samples do people like better? Also for a two-sided paired comparison of an attribute.
 * Two-sided exact binomial against 1/2, always: "we expected A" does not halve a p. An even split is no proof that
 * the samples are alike. Splitting takes undecided people for voters, which makes the test cautious about a
 * difference and pulls the share to 1/2; excluding speaks only of those who prefer. The two are never compared to
 * choose one. Not for repeated votes of one person.
 *
 * Counts whole from 0, together at most MAX_ANSWERS; level between 0 and 1 (interval, and 1 - level for the critical
 * number). No votes: p = 1, share null. Errors: StatsInputError. Source: ISO 5495; Roessler et al. 1978;
 * interval: Clopper & Pearson 1934. The rule for the odd vote is our own.
 * Example: `pairedPreference({ preferA: 17, preferB: 5, noPreference: 8, policy: 'exclude', level: 0.95 }).p` is 0.016900539398
 */
export function pairedPreference({
  preferA,
  preferB,
  noPreference,
  policy,
  level,
}: {
  preferA: number;
  preferB: number;
  noPreference: number;
  policy: NoPreferencePolicy;
  level: number;
}): PairedPreference {
  answerCount('preferA', preferA);
  answerCount('preferB', preferB);
  answerCount('noPreference', noPreference);
  const all = answerCount('preferA + preferB + noPreference', preferA + preferB + noPreference);
  const given = policy === 'split' ? noPreference >> 1 : 0;
  const votes = preferA + given;
  const n = preferA + preferB + 2 * given;
  const { estimate, lower, upper } = clopperPearson({ correct: votes, n, level });
  return {
    p: twoSidedP({ count: votes, n }),
    policy,
    preferA: votes,
    n,
    share: estimate,
    lower,
    upper,
    level,
    noPreference,
    noPreferenceShare: all === 0 ? null : noPreference / all,
    critical: twoSidedCriticalNumber({ n, alpha: 1 - level }),
    method:
      policy === 'split'
        ? 'Exact binomial test, two-sided, "no preference" split evenly'
        : 'Exact binomial test, two-sided, "no preference" excluded',
    assumption:
      policy === 'split'
        ? 'One vote per person; who has no preference would vote for either sample alike.'
        : 'One vote per person; the result speaks only of people who have a preference.',
    source: 'ISO 5495; Roessler, Pangborn, Sidel & Stone 1978',
  };
}
