import { StatsInputError } from '../../ground/input.ts';

/** What an assessor gave: a number on a scale, or the name of a category. */
export type Rating = number | string;

/** One row per unit (a sample, or a sample on one attribute), its ratings in it; null where one is missing. */
export type RatingTable = readonly (readonly (Rating | null)[])[];

/**
 * The ratings of each unit without the gaps. Which assessor gave which rating is not kept.
 * `numbers` refuses names of categories. Errors: StatsInputError for a number that is not finite.
 * Example: `givenRatings([[1, null, 2]], { numbers: true })[0].length` is 2
 */
export function givenRatings(units: RatingTable, { numbers }: { numbers: boolean }): Rating[][] {
  return units.map((row) => {
    const given = row.filter((rating): rating is Rating => rating !== null);
    for (const rating of given) {
      if (typeof rating === 'number' ? !Number.isFinite(rating) : numbers) {
        throw new StatsInputError('units', rating, 'finite numbers, or null where a rating is missing');
      }
    }
    return given;
  });
}
