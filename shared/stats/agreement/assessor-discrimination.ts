import { fUpperTail } from '../f-ratio.ts';
import type { MethodFacts } from '../method.ts';
import { ownVariance, ratingsByAssessor, type AssessorRating } from './assessor-ratings.ts';

export interface OneDiscrimination {
  assessor: string;
  /** Variance between samples over variance of replicates; null when not defined. */
  f: number | null;
  df1: number;
  df2: number;
  p: number | null;
  undefinedBecause: 'fewer than two samples' | 'no replicates' | 'replicates never differ' | null;
}

export interface AssessorDiscrimination extends MethodFacts {
  assessors: OneDiscrimination[];
}

/**
 * Whether an assessor tells the samples apart on this attribute: one-way analysis of variance of their own ratings,
 * F = mean square between samples / mean square within samples, df samples - 1 and ratings - samples.
 * Says nothing about the order of the samples (see agreementWithRest), nor that samples differ for the panel: with many
 * assessors some p are small by chance. Not without replicates, and not for an attribute on which the samples are alike.
 * Ratings finite, in units of the scale; gaps and unequal replicates are fine. Errors: StatsInputError.
 * Source: Naes, Brockhoff & Tomic 2010, Statistics for Sensory and Consumer Science; ISO 11132 (both from memory).
 * Example: `assessorDiscrimination({ ratings: [['s', 1], ['s', 3], ['t', 4], ['t', 6]].map(([sample, value]) => ({ assessor: 'a', sample, value })) }).assessors[0].f` is 4.5
 */
export function assessorDiscrimination({
  ratings,
}: {
  ratings: readonly AssessorRating[];
}): AssessorDiscrimination {
  return {
    assessors: [...ratingsByAssessor(ratings)].map(([assessor, samples]) => {
      const { between, within, dfBetween: df1, dfWithin: df2 } = ownVariance(samples);
      const because = reason(df1, df2, within);
      const f = because === null ? between / df1 / (within / df2) : null;
      return {
        assessor,
        f,
        df1,
        df2,
        p: f === null ? null : fUpperTail(f, df1, df2),
        undefinedBecause: because,
      };
    }),
    method: 'One-way analysis of variance per assessor',
    assumption: 'Replicates are blind and independent, errors normal and of one size over the samples.',
    source: 'Naes, Brockhoff & Tomic 2010; ISO 11132',
  };
}

function reason(df1: number, df2: number, within: number): OneDiscrimination['undefinedBecause'] {
  if (df1 < 1) return 'fewer than two samples';
  if (df2 < 1) return 'no replicates';
  return within === 0 ? 'replicates never differ' : null;
}
