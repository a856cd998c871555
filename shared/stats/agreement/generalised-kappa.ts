import type { MethodFacts } from '../method.ts';
import { chanceCorrected, type CategoryRatings, type ChanceCorrected } from './chance-corrected.ts';

export interface GeneralisedKappa extends ChanceCorrected, MethodFacts {
  /** Null with fewer than two categories, no unit with two ratings, or one category used only. */
  kappa: number | null;
}

/**
 * Fleiss' kappa carried on to units with unequal numbers of ratings: chance is that two ratings are drawn from the panel's
 * own shares, pe = sum pi_k^2, with agreement, shares and variance over units as in gwetAc1. With the same number of
 * ratings in each unit it is fleissKappa, here with a standard error that serves an interval.
 * Not for ordered categories; when nearly all ratings are of one category it may be near 0 although nearly all agree.
 * level between 0 and 1. Errors: StatsInputError, also for a rating that is none of the categories.
 * Source: Fleiss 1971, Psychol. Bull. 76:378; Gwet 2014, Handbook of Inter-Rater Reliability, 4th ed. (gaps, variance).
 * Example: `generalisedKappa({ units: [['a', 'a'], ['a', 'b'], ['b', 'b']], categories: ['a', 'b'], level: 0.95 }).kappa` is 0.333333333333
 */
export function generalisedKappa(ratings: CategoryRatings): GeneralisedKappa {
  const { value, ...rest } = chanceCorrected(ratings, (share) => share);
  return {
    kappa: value,
    ...rest,
    method: "Fleiss' kappa, generalised to missing ratings",
    assumption: 'Assessors rated independently; units are a random sample of those to be rated.',
    source: 'Fleiss 1971; Gwet 2014',
  };
}
