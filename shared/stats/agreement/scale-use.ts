import { StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import {
  besideRest,
  mean,
  ratingsByAssessor,
  squaresAround,
  type AssessorRating,
} from './assessor-ratings.ts';

export interface OneScaleUse {
  assessor: string;
  ratings: number;
  mean: number;
  lowest: number;
  highest: number;
  /** (highest - lowest) over the length of the scale. */
  shareUsed: number;
  /** Share of ratings at one of the two ends, where a scale can no longer tell more from much. */
  shareAtEnds: number;
  /** Mean of own sample means less those of the rest, on shared samples; null without any. */
  shift: number | null;
  /** Standard deviation of own sample means over that of the rest's means; 1 is the same width, null when not defined. */
  widthRatio: number | null;
}

export interface ScaleUse extends MethodFacts {
  assessors: OneScaleUse[];
}

/**
 * Where on the scale and how widely each assessor rates, beside the rest of the panel (the assessor left out).
 * Differences in scale use are no errors: they say who needs a reference sample, or that a method should take the
 * assessor's level out. The rest's means are narrower than any one person's whenever the others disagree, so width ratios
 * lie above 1 on average: compare assessors with each other. Not for ranks.
 * Ratings finite and within the scale, in its units. Errors: StatsInputError.
 * Source: Naes, Brockhoff & Tomic 2010, Statistics for Sensory and Consumer Science (from memory); shareUsed and
 * shareAtEnds are common practice, no source.
 * Example: `scaleUse({ ratings: [[1, 2], [3, 6]].flatMap((pair, sample) => pair.map((value, assessor) => ({ assessor: String(assessor), sample: String(sample), value }))), scale: { from: 0, to: 10 } }).assessors[1].widthRatio` is 2
 */
export function scaleUse({
  ratings,
  scale,
}: {
  ratings: readonly AssessorRating[];
  /** The two ends of the scale on the ballot. */
  scale: { from: number; to: number };
}): ScaleUse {
  if (!(Number.isFinite(scale.from) && Number.isFinite(scale.to) && scale.from < scale.to)) {
    throw new StatsInputError('scale', `${scale.from} to ${scale.to}`, 'finite ends, from below to');
  }
  for (const { value } of ratings) {
    if (value < scale.from || value > scale.to) {
      throw new StatsInputError('value', value, `a number from ${scale.from} to ${scale.to}`);
    }
  }
  const sorted = ratingsByAssessor(ratings);
  const beside = besideRest(sorted);
  return {
    assessors: [...sorted].map(([assessor, samples]) => {
      const all = [...samples.values()].flat();
      const { own, rest } = beside.get(assessor) ?? { own: [], rest: [] };
      const [lowest, highest] = [Math.min(...all), Math.max(...all)];
      const restSquares = squaresAround(rest);
      return {
        assessor,
        ratings: all.length,
        mean: mean(all),
        lowest,
        highest,
        shareUsed: (highest - lowest) / (scale.to - scale.from),
        shareAtEnds: all.filter((value) => value === scale.from || value === scale.to).length / all.length,
        shift: own.length > 0 ? mean(own) - mean(rest) : null,
        widthRatio: restSquares > 0 ? Math.sqrt(squaresAround(own) / restSquares) : null,
      };
    }),
    method: 'Level and width of scale use per assessor',
    assumption: 'Assessors rated the same samples; what they share is compared.',
    source: 'Naes, Brockhoff & Tomic 2010; common practice',
  };
}
