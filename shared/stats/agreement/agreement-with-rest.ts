import type { MethodFacts } from '../method.ts';
import {
  besideRest,
  mean,
  ratingsByAssessor,
  squaresAround,
  type AssessorRating,
} from './assessor-ratings.ts';

export interface OneAgreement {
  assessor: string;
  /** Pearson correlation, -1 to 1; null when not defined. */
  correlation: number | null;
  /** Samples rated by this assessor and by another. */
  samples: number;
  undefinedBecause:
    'fewer than three samples' | 'own means are all the same' | 'means of the rest are all the same' | null;
}

export interface AgreementWithRest extends MethodFacts {
  assessors: OneAgreement[];
}

/**
 * Whether an assessor orders and spaces the samples as the others do: correlation of their sample means with the means of
 * all other assessors (the assessor left out, or they would agree with themselves).
 * Level and width of scale use do not enter (see scaleUse). Not for samples that are alike, where the rest's means are
 * noise; with 4 samples chance alone gives 0.8 or more to one assessor in ten.
 * Ratings finite, in units of the scale. With gaps the rest of different samples are different people. Errors: StatsInputError.
 * Source: Naes, Brockhoff & Tomic 2010, Statistics for Sensory and Consumer Science; ISO 11132 (both from memory).
 * Example: `agreementWithRest({ ratings: [[1, 2], [2, 4], [4, 5]].flatMap((pair, sample) => pair.map((value, assessor) => ({ assessor: String(assessor), sample: String(sample), value }))) }).assessors[0].correlation` is 0.928571428571
 */
export function agreementWithRest({ ratings }: { ratings: readonly AssessorRating[] }): AgreementWithRest {
  return {
    assessors: [...besideRest(ratingsByAssessor(ratings))].map(([assessor, { own, rest }]) => {
      const because = reason(own, rest);
      return {
        assessor,
        correlation: because === null ? correlation(own, rest) : null,
        samples: own.length,
        undefinedBecause: because,
      };
    }),
    method: 'Correlation of each assessor with the mean of the others',
    assumption: 'Ratings on an interval scale; the others are right together.',
    source: 'Naes, Brockhoff & Tomic 2010; ISO 11132',
  };
}

function reason(own: readonly number[], rest: readonly number[]): OneAgreement['undefinedBecause'] {
  if (own.length < 3) return 'fewer than three samples';
  if (squaresAround(own) === 0) return 'own means are all the same';
  return squaresAround(rest) === 0 ? 'means of the rest are all the same' : null;
}

function correlation(a: readonly number[], b: readonly number[]): number {
  const [meanA, meanB] = [mean(a), mean(b)];
  const together = a.reduce((sum, value, at) => sum + (value - meanA) * ((b[at] ?? NaN) - meanB), 0);
  const r = together / Math.sqrt(squaresAround(a) * squaresAround(b));
  return Math.max(-1, Math.min(1, r));
}
