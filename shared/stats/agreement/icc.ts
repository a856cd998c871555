import { fCritical } from '../f-ratio.ts';
import { integerIn, properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';

/**
 * The six forms of Shrout & Fleiss: which model, and whether one rating or the mean of all k is meant.
 * 1: other assessors for each unit. 2: assessors are a random sample, their level counts (absolute agreement).
 * 3: these assessors only, their level does not count (consistency).
 */
export type IccForm = '1,1' | '2,1' | '3,1' | '1,k' | '2,k' | '3,k';

export interface IccEstimate {
  /** May be negative; null when there is nothing to divide by. */
  estimate: number | null;
  /** Null with estimate, and where the F they rest on is 0 or not finite. */
  lower: number | null;
  upper: number | null;
}

export interface IntraclassCorrelation extends MethodFacts {
  forms: Record<IccForm, IccEstimate>;
  level: number;
  /** Mean squares, in squared units of the scale. */
  meanSquares: {
    /** Between units (BMS). */
    between: number;
    /** Within units (WMS). */
    within: number;
    /** Between assessors (JMS). */
    assessors: number;
    /** What is left over (EMS). */
    residual: number;
  };
  units: number;
  assessors: number;
}

const NOTHING: IccEstimate = { estimate: null, lower: null, upper: null };

/**
 * Share of the variance of ratings that lies between the units, in all six forms, each with its interval.
 *
 * (1,1) = (B - W) / (B + (k - 1) W); (2,1) = (B - E) / (B + (k - 1) E + k (J - E) / n); (3,1) = (B - E) / (B + (k - 1) E);
 * (1,k) = (B - W) / B; (2,k) = (B - E) / (B + (J - E) / n); (3,k) = (B - E) / B. Intervals of models 1 and 3 are exact,
 * from F = B / W or B / E over its quantiles; that of model 2 takes Satterthwaite's degrees of freedom, and (2,k) is
 * (2,1) stepped up by k L / (1 + (k - 1) L).
 *
 * For a panel of randomly drawn assessors: '2,1' for one assessor, '2,k' for the panel mean. Name the form wherever it
 * is quoted; samples that are much alike lower it. Intervals are wide below 5 units or with 2 assessors. Not for
 * missing ratings (fit a mixed model), nor for ranks or categories.
 * Rows: units (2 or more), columns: assessors (2 or more), finite numbers; level between 0 and 1. No variance at all:
 * null. Errors: StatsInputError. Source: Shrout & Fleiss 1979, Psychol. Bull. 86:420; McGraw & Wong 1996,
 * Psychol. Methods 1:30.
 * Example: `intraclassCorrelation({ ratings: [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], level: 0.95 }).forms['2,1'].estimate` is 0.289763779528
 */
export function intraclassCorrelation({
  ratings,
  level,
}: {
  ratings: readonly (readonly number[])[];
  level: number;
}): IntraclassCorrelation {
  properProbability('level', level);
  const n = integerIn('units', ratings.length, 2, 100_000);
  const k = integerIn('assessors', ratings[0]?.length ?? 0, 2, 100_000);
  for (const row of ratings) {
    if (row.length !== k)
      throw new StatsInputError('ratings', `a row of ${row.length}`, `${k} ratings in each row`);
    for (const rating of row) {
      if (!Number.isFinite(rating))
        throw new StatsInputError('ratings', rating, 'finite numbers, none missing');
    }
  }
  const squares = meanSquares(ratings, n, k);
  return {
    forms: squares.between + squares.within > 0 ? allForms(squares, n, k, (1 - level) / 2) : noForms(),
    level,
    meanSquares: squares,
    units: n,
    assessors: k,
    method: 'Intraclass correlation, six forms of Shrout & Fleiss',
    assumption: 'Ratings on an interval scale, normal errors of one size; units are a random sample.',
    source: 'Shrout & Fleiss 1979; McGraw & Wong 1996',
  };
}

type Squares = IntraclassCorrelation['meanSquares'];

function meanSquares(ratings: readonly (readonly number[])[], n: number, k: number): Squares {
  const all = ratings.flat();
  const mean = (list: readonly number[]) => list.reduce((sum, value) => sum + value, 0) / list.length;
  const squared = (list: readonly number[]) => list.reduce((sum, value) => sum + value ** 2, 0);
  // Far from 0 the centred ratings keep their digits.
  const grand = mean(all);
  const centred = ratings.map((row) => row.map((rating) => rating - grand));
  const rows = centred.map(mean);
  const columns = (centred[0] ?? []).map((_, j) => mean(centred.map((row) => row[j] ?? NaN)));
  const within = squared(centred.flatMap((row, i) => row.map((value) => value - (rows[i] ?? NaN))));
  const residual = squared(
    centred.flatMap((row, i) => row.map((value, j) => value - (rows[i] ?? NaN) - (columns[j] ?? NaN))),
  );
  // Sums that are nothing but rounding are 0.
  const dust = n * k * (1e-14 * Math.max(...all.map(Math.abs))) ** 2;
  const clean = (sum: number) => (sum <= dust ? 0 : sum);
  return {
    between: clean(squared(rows) * k) / (n - 1),
    within: clean(within) / (n * (k - 1)),
    assessors: clean(squared(columns) * n) / (k - 1),
    residual: clean(residual) / ((n - 1) * (k - 1)),
  };
}

function noForms(): Record<IccForm, IccEstimate> {
  return { '1,1': NOTHING, '2,1': NOTHING, '3,1': NOTHING, '1,k': NOTHING, '2,k': NOTHING, '3,k': NOTHING };
}

function allForms(
  { between: b, within: w, assessors: j, residual: e }: Squares,
  n: number,
  k: number,
  tail: number,
): Record<IccForm, IccEstimate> {
  const one = limitsByRatio(b / w, n - 1, n * (k - 1), tail);
  const three = limitsByRatio(b / e, n - 1, (n - 1) * (k - 1), tail);
  const two = over(b - e, b + (k - 1) * e + (k * (j - e)) / n);
  const [lower, upper] = limitsOfTwo({ b, j, e, n, k, icc: two, tail });
  const stepped = (limit: number | null) => limit && over(k * limit, 1 + (k - 1) * limit);
  return {
    '1,1': single(over(b - w, b + (k - 1) * w), one, k),
    '2,1': { estimate: two, lower, upper },
    '3,1': single(over(b - e, b + (k - 1) * e), three, k),
    '1,k': mean(over(b - w, b), one),
    '2,k': { estimate: over(b - e, b + (j - e) / n), lower: stepped(lower), upper: stepped(upper) },
    '3,k': mean(over(b - e, b), three),
  };
}

function over(above: number, below: number): number | null {
  return below > 0 ? above / below : null;
}

type Ratios = readonly [lower: number, upper: number] | null;

/** Limits for the ratio of expected mean squares. */
function limitsByRatio(f: number, df1: number, df2: number, tail: number): Ratios {
  if (!(f > 0 && f < Infinity)) return null;
  return [f / fCritical(tail, df1, df2), f * fCritical(tail, df2, df1)];
}

function single(estimate: number | null, ratios: Ratios, k: number): IccEstimate {
  const limit = (f: number) => (f - 1) / (f + k - 1);
  const known = estimate !== null && ratios !== null;
  return { estimate, lower: known ? limit(ratios[0]) : null, upper: known ? limit(ratios[1]) : null };
}

function mean(estimate: number | null, ratios: Ratios): IccEstimate {
  const known = estimate !== null && ratios !== null;
  return { estimate, lower: known ? 1 - 1 / ratios[0] : null, upper: known ? 1 - 1 / ratios[1] : null };
}

function limitsOfTwo({
  b,
  j,
  e,
  n,
  k,
  icc,
  tail,
}: {
  b: number;
  j: number;
  e: number;
  n: number;
  k: number;
  icc: number | null;
  tail: number;
}): readonly [number | null, number | null] {
  if (icc === null || b === 0 || e === 0) return [null, null];
  const f = j / e;
  const rest = n * (1 + (k - 1) * icc) - k * icc;
  const df =
    ((k - 1) * (n - 1) * (k * icc * f + rest) ** 2) / ((n - 1) * k ** 2 * icc ** 2 * f ** 2 + rest ** 2);
  if (!(df > 0)) return [null, null];
  const high = fCritical(tail, n - 1, df);
  const low = fCritical(tail, df, n - 1);
  const others = k * j + (k * n - k - n) * e;
  // Divided by the critical value, which leaves no room for a number when degrees of freedom are next to none: what it
  // multiplies is then all that is left of the limit.
  return [over(n * (b / high - e), others + (n * b) / high), over(n * (low * b - e), others + n * low * b)];
}
