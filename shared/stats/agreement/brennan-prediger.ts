import type { MethodFacts } from '../method.ts';
import { chanceCorrected, type CategoryRatings, type ChanceCorrected } from './chance-corrected.ts';

export interface BrennanPrediger extends ChanceCorrected, MethodFacts {
  /** Null with fewer than two categories, or no unit with two ratings. */
  coefficient: number | null;
}

/**
 * Agreement in naming categories where chance means that each of the q categories on the form is equally likely, pe = 1 / q;
 * agreement and variance over units as in gwetAc1, ratings may be missing.
 * Grows with every category added to the form: fix the form in the plan. Not for ordered categories.
 * level between 0 and 1. Errors: StatsInputError, also for a rating that is none of the categories.
 * Source: Brennan & Prediger 1981, Educ. Psychol. Meas. 41:687; Gwet 2014 (gaps, variance).
 * Example: `brennanPrediger({ units: [['a', 'a'], ['a', 'b'], ['b', 'b'], ['b', 'b']], categories: ['a', 'b'], level: 0.95 }).coefficient` is 0.5
 */
export function brennanPrediger(ratings: CategoryRatings): BrennanPrediger {
  const { value, ...rest } = chanceCorrected(ratings, () => 1 / ratings.categories.length);
  return {
    coefficient: value,
    ...rest,
    method: 'Brennan-Prediger coefficient',
    assumption: 'Assessors rated independently; units are a random sample of those to be rated.',
    source: 'Brennan & Prediger 1981; Gwet 2014',
  };
}
