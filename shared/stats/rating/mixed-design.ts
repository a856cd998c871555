import { StatsInputError } from '../../ground/input.ts';
import { cholesky, dot } from './matrix.ts';
import { nesting, type Nesting } from './nested-variance.ts';
import { namesOf, ratingTable, type Rating } from './ratings.ts';
import { reml, type RemlFit } from './reml.ts';

/** A rating with what else was fixed about the cup: order of serving, session, bottle. */
export interface RatingInContext extends Rating {
  also?: Readonly<Record<string, string>>;
}

export interface MixedDesign {
  samples: string[];
  assessors: string[];
  /** Ratings behind each sample, in the order of samples. */
  counts: number[];
  /** Assessors behind each sample. */
  raters: number[];
  y: number[];
  columns: number[][];
  /** Contrast whose estimate is the mean of sample i, further factors taken at equal shares of their levels. */
  meanRows: number[][];
  /** Names of further fixed factors with more than one level. */
  further: string[];
  nesting: Nesting;
  /** The same with cells of assessor and sample. */
  nestingByCell: Nesting;
  /** Some assessor rated some sample more than once. */
  replicated: boolean;
}

/**
 * Samples (and further factors) as columns of 0 and 1 against their first level, assessors as blocks. Ratings in an order of
 * their own, so that the order given changes nothing. Every rating must name the same further factors.
 * Errors: StatsInputError for a factor that some ratings lack, and when effects cannot be told apart.
 * Example: `mixedDesign([{ assessor: 'a', sample: 's', value: 3 }, { assessor: 'a', sample: 't', value: 4 }]).columns.length` is 2
 */
export function mixedDesign(ratings: readonly RatingInContext[]): MixedDesign {
  const { samples, assessors, cells } = ratingTable(ratings);
  const named = namesOf(ratings.flatMap(({ also }) => Object.keys(also ?? {})));
  ratings.forEach(({ also }, index) => {
    for (const name of named) {
      if (!also?.[name]) throw new StatsInputError(`ratings[${index}].also.${name}`, also?.[name], 'a level');
    }
  });
  const rows = [...ratings].sort((a, b) => compare(keyOf(a, named), keyOf(b, named)) || a.value - b.value);
  const levels = named.map((name) => ({ name, levels: namesOf(rows.map(({ also }) => also?.[name] ?? '')) }));
  const further = levels.filter((factor) => factor.levels.length > 1);

  const indicator = (test: (row: RatingInContext) => boolean) => rows.map((row) => (test(row) ? 1 : 0));
  const columns = [
    rows.map(() => 1),
    ...samples.slice(1).map((sample) => indicator((row) => row.sample === sample)),
    ...further.flatMap((factor) =>
      factor.levels.slice(1).map((level) => indicator(({ also }) => also?.[factor.name] === level)),
    ),
  ];
  if (rows.length > 0 && !cholesky(columns.map((a) => columns.map((b) => dot(a, b))))) {
    throw new StatsInputError(
      'also',
      named.join(', '),
      'factors that are not confounded with samples or each other',
    );
  }
  const shares = further.flatMap((factor) => factor.levels.slice(1).map(() => 1 / factor.levels.length));
  const person = new Map(assessors.map((name, index) => [name, index]));
  const cup = new Map(samples.map((name, index) => [name, index]));
  const byAssessor = rows.map(({ assessor }) => person.get(assessor) ?? 0);
  return {
    samples,
    assessors,
    counts: cells.map((row) => row.reduce((sum, cell) => sum + cell.length, 0)),
    raters: cells.map((row) => row.filter((cell) => cell.length > 0).length),
    y: rows.map(({ value }) => value),
    columns,
    meanRows: samples.map((_, i) => [1, ...samples.slice(1).map((_, j) => (i === j + 1 ? 1 : 0)), ...shares]),
    further: further.map(({ name }) => name),
    nesting: nesting(byAssessor, null),
    nestingByCell: nesting(
      byAssessor,
      rows.map(({ sample }) => cup.get(sample) ?? 0),
    ),
    replicated: cells.some((row) => row.some((cell) => cell.length > 1)),
  };
}

/**
 * Independent contrasts that are all 0 when samples do not differ. Any full set gives the same F; the denominator's degrees of
 * freedom hang a little on the set, and these are the sets of general mixed-model software, so that results can be
 * compared: with samples alone, rows of the triangular factor of X' X; with further factors, each sample less the first.
 * At least two samples. Errors: none. Source: Goodnight 1979, Am. Stat. 33:149 (sequential hypotheses from X' X; from
 * memory); R lmerTest 3.1-3, anova (which set when).
 * Example: `sampleContrasts(mixedDesign(['s', 't', 'u'].map((sample, i) => ({ assessor: 'a', sample, value: i }))))[0][2]` is -0.5
 */
export function sampleContrasts(design: MixedDesign): number[][] {
  const { columns, samples, further } = design;
  const places = samples.slice(1).map((_, i) => i + 1);
  if (further.length > 0) return places.map((place) => difference(design, place, 0));
  const l = cholesky(columns.map((a) => columns.map((b) => dot(a, b)))) ?? [];
  return places.map((place) =>
    columns.map((_, below) => (below < place ? 0 : (l[below]?.[place] ?? 0) / (l[place]?.[place] ?? NaN))),
  );
}

/**
 * The REML fit of a design, with or without a variance of assessor x sample; null without residual variation.
 * Errors: none. Example: `fitDesign(mixedDesign([5, 6, 7, 5.5, 6.5, 6, 4.5, 6, 7.5].map((value, i) => ({ assessor: 'abc'.charAt(i / 3), sample: 'xyz'.charAt(i % 3), value }))), false).assessor` is 0
 */
export function fitDesign(design: MixedDesign, cells: boolean): RemlFit | null {
  const { y, columns } = design;
  return reml({ y, columns, nesting: cells ? design.nestingByCell : design.nesting, cells });
}

/**
 * Contrast of two samples, i less j. Errors: none.
 * Example: `difference({ meanRows: [[1, 0], [1, 1]] }, 1, 0)[1]` is 1
 */
export function difference({ meanRows }: Pick<MixedDesign, 'meanRows'>, i: number, j: number): number[] {
  return (meanRows[i] ?? []).map((value, column) => value - (meanRows[j]?.[column] ?? 0));
}

function keyOf({ assessor, sample, also }: RatingInContext, named: readonly string[]): string {
  return [assessor, sample, ...named.map((name) => also?.[name] ?? '')].join('\u0000');
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
