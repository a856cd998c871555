import { StatsInputError } from '../../ground/input.ts';

/** One rating of one attribute; replicates are further rows of the same assessor and sample. */
export interface AssessorRating {
  assessor: string;
  sample: string;
  /** On the scale of the ballot; a missing rating has no row. */
  value: number;
}

/** Ratings by assessor, then by sample, in order of first appearance. */
export type RatingsByAssessor = Map<string, Map<string, number[]>>;

/**
 * Sorts the rows by assessor and sample. Errors: StatsInputError for a value that is not finite.
 * Example: `ratingsByAssessor([{ assessor: 'a', sample: 's', value: 4 }]).size` is 1
 */
export function ratingsByAssessor(ratings: readonly AssessorRating[]): RatingsByAssessor {
  const sorted: RatingsByAssessor = new Map();
  for (const { assessor, sample, value } of ratings) {
    if (!Number.isFinite(value)) throw new StatsInputError('value', value, 'a finite number');
    const samples = sorted.get(assessor) ?? new Map<string, number[]>();
    sorted.set(assessor, samples.set(sample, [...(samples.get(sample) ?? []), value]));
  }
  return sorted;
}

/** Arithmetic mean; NaN of nothing. Example: `mean([1, 2, 6])` is 3 */
export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/**
 * Sum of squares around the mean, exactly 0 when all are the same.
 * Example: `squaresAround([1, 2, 6])` is 14
 */
export function squaresAround(values: readonly number[]): number {
  if (values.every((value) => value === values[0])) return 0;
  const middle = mean(values);
  return values.reduce((sum, value) => sum + (value - middle) ** 2, 0);
}

/** One assessor's analysis of variance over samples. */
export interface OwnVariance {
  /** Sums of squares, between the sample means and within samples. */
  between: number;
  within: number;
  dfBetween: number;
  dfWithin: number;
}

/**
 * Splits one assessor's ratings into between and within samples; numbers of replicates may differ.
 * Example: `ownVariance(new Map([['s', [1, 3]], ['t', [4, 6]]])).within` is 4
 */
export function ownVariance(samples: ReadonlyMap<string, readonly number[]>): OwnVariance {
  const cells = [...samples.values()];
  const all = cells.flat();
  const within = cells.reduce((sum, cell) => sum + squaresAround(cell), 0);
  const middle = mean(all);
  const means = cells.map(mean);
  const still = squaresAround(means) === 0;
  return {
    between: still
      ? 0
      : cells.reduce((sum, cell, at) => sum + cell.length * ((means[at] ?? NaN) - middle) ** 2, 0),
    within,
    dfBetween: cells.length - 1,
    dfWithin: all.length - cells.length,
  };
}

/** One assessor's means beside those of the others, for the samples that both rated. */
export interface BesideRest {
  own: number[];
  rest: number[];
}

/**
 * For each assessor the sample means, and the mean over the other assessors of theirs: every other assessor weighs the
 * same, however many replicates. Samples that nobody else rated are left out.
 * Example: `besideRest(new Map([['a', new Map([['s', [1, 3]]])], ['b', new Map([['s', [5]]])]])).get('a').rest[0]` is 5
 */
export function besideRest(sorted: RatingsByAssessor): Map<string, BesideRest> {
  const means = new Map(
    [...sorted].map(([assessor, samples]) => [
      assessor,
      new Map([...samples].map(([sample, values]) => [sample, mean(values)])),
    ]),
  );
  return new Map(
    [...means].map(([assessor, ownMeans]) => {
      const pairs = [...ownMeans].flatMap(([sample, own]) => {
        const others = [...means].flatMap(([other, theirs]) =>
          other === assessor ? [] : (theirs.get(sample) ?? []),
        );
        return others.length > 0 ? [{ own, rest: mean(others) }] : [];
      });
      return [assessor, { own: pairs.map(({ own }) => own), rest: pairs.map(({ rest }) => rest) }];
    }),
  );
}
