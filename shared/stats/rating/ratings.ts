import { MAX_ANSWERS, StatsInputError } from '../../ground/input.ts';

/** One rating of one cup: who, which sample, how much, in units of the scale. A missing rating has no entry. */
export interface Rating {
  assessor: string;
  sample: string;
  value: number;
}

/** Ratings by sample and assessor. Names in the order of their characters, so that row order changes nothing. */
export interface RatingTable {
  samples: string[];
  assessors: string[];
  /** cells[sample][assessor]: the ratings of that cell, in ascending order; empty where there is none. */
  cells: number[][][];
  n: number;
}

/**
 * Sorts ratings into cells. Values finite, names not empty, at most 100,000 ratings.
 * Errors: StatsInputError that names the rating.
 * Example: `ratingTable([{ assessor: 'a', sample: 's', value: 3 }, { assessor: 'b', sample: 's', value: 5 }]).n` is 2
 */
export function ratingTable(ratings: readonly Rating[]): RatingTable {
  if (ratings.length > MAX_ANSWERS) {
    throw new StatsInputError('ratings.length', ratings.length, `at most ${MAX_ANSWERS}`);
  }
  ratings.forEach(({ assessor, sample, value }, index) => {
    if (!Number.isFinite(value))
      throw new StatsInputError(`ratings[${index}].value`, value, 'a finite number');
    if (assessor === '') throw new StatsInputError(`ratings[${index}].assessor`, assessor, 'a name');
    if (sample === '') throw new StatsInputError(`ratings[${index}].sample`, sample, 'a name');
  });
  const samples = namesOf(ratings.map(({ sample }) => sample));
  const assessors = namesOf(ratings.map(({ assessor }) => assessor));
  const rowOf = new Map(samples.map((name, index) => [name, index]));
  const columnOf = new Map(assessors.map((name, index) => [name, index]));
  const cells: number[][][] = samples.map(() => assessors.map(() => []));
  for (const { assessor, sample, value } of ratings) {
    cells[rowOf.get(sample) ?? 0]?.[columnOf.get(assessor) ?? 0]?.push(value);
  }
  // Sums must not depend on the order of rows either.
  for (const row of cells) for (const cell of row) cell.sort((a, b) => a - b);
  return { samples, assessors, cells, n: ratings.length };
}

/**
 * Each name once, in the order of its characters (not of a language, which would differ from machine to machine).
 * Errors: none. Example: `namesOf(['b', 'a', 'b']).length` is 2
 */
export function namesOf(names: readonly string[]): string[] {
  return [...new Set(names)].sort((a, b) => (a < b ? -1 : a > b ? 1 : 0));
}
