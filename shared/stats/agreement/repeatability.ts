import type { MethodFacts } from '../method.ts';
import { ownVariance, ratingsByAssessor, type AssessorRating } from './assessor-ratings.ts';

export interface AssessorRepeatability {
  assessor: string;
  /** Standard deviation of the replicates of one sample, in units of the scale; null without replicates. */
  standardDeviation: number | null;
  /** Ratings less samples: what the standard deviation rests on. */
  degreesOfFreedom: number;
  /** Own variance over that of all other assessors pooled; 1 is as steady as the rest, null when they have none. */
  varianceRatio: number | null;
}

export interface Repeatability extends MethodFacts {
  assessors: AssessorRepeatability[];
  /** All assessors pooled; null without replicates. */
  panelStandardDeviation: number | null;
}

/**
 * How near an assessor comes to their own earlier rating of the same sample: s = sqrt(sum of squares within samples /
 * (ratings - samples)), per assessor and pooled over the panel.
 * A small s says nothing of itself: who always gives a 5 repeats perfectly (see assessorDiscrimination). Not for
 * replicates that the assessor could know to be the same sample.
 * Ratings of one attribute, finite, in units of the scale; gaps and unequal replicates are fine. Errors: StatsInputError.
 * Source: Naes, Brockhoff & Tomic 2010, Statistics for Sensory and Consumer Science; ISO 11132 (both from memory).
 * Example: `repeatability({ ratings: [4, 6].map((value) => ({ assessor: 'a', sample: 's', value })) }).panelStandardDeviation` is 1.41421356237
 */
export function repeatability({ ratings }: { ratings: readonly AssessorRating[] }): Repeatability {
  const own = [...ratingsByAssessor(ratings)].map(([assessor, samples]) => {
    const { within, dfWithin } = ownVariance(samples);
    return { assessor, within, df: dfWithin };
  });
  const variance = (list: readonly { within: number; df: number }[]): number | null => {
    const df = list.reduce((sum, one) => sum + one.df, 0);
    return df > 0 ? list.reduce((sum, one) => sum + one.within, 0) / df : null;
  };
  const root = (value: number | null) => (value === null ? null : Math.sqrt(value));
  return {
    assessors: own.map((one) => {
      const mine = variance([one]);
      const rest = variance(own.filter((other) => other !== one));
      return {
        assessor: one.assessor,
        standardDeviation: root(mine),
        degreesOfFreedom: one.df,
        varianceRatio: mine === null || !rest ? null : mine / rest,
      };
    }),
    panelStandardDeviation: root(variance(own)),
    method: 'Repeatability standard deviation per assessor',
    assumption: 'Replicates are blind, and their scatter is of one size over the scale.',
    source: 'Naes, Brockhoff & Tomic 2010; ISO 11132',
  };
}
