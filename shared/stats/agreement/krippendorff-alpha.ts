import { StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { bootstrapLimits, type BootstrapLimits, type BootstrapSettings } from './bootstrap.ts';
import { givenRatings, type Rating, type RatingTable } from './ratings.ts';

/** How far apart two ratings are: same or not, by rank, by difference, by difference in proportion. */
export type RatingScale = 'nominal' | 'ordinal' | 'interval' | 'ratio';

export interface KrippendorffAlpha extends MethodFacts {
  /** 1 full agreement, 0 as by chance, below 0 worse than chance; null when not defined. */
  alpha: number | null;
  undefinedBecause: 'fewer than two units with two ratings' | 'all ratings are the same' | null;
  scale: RatingScale;
  /** Units with two ratings or more: the others say nothing about agreement and are left out. */
  units: number;
  /** Ratings in those units. */
  ratings: number;
  /** Mean distance within units, and between any two ratings; null with alpha. */
  observedDisagreement: number | null;
  expectedDisagreement: number | null;
}

/** Ratings counted: which of the distinct values, by index, and how often each. */
interface Tally {
  size: number;
  places: number[];
  times: number[];
}
interface Coded {
  units: Tally[];
  values: readonly Rating[];
}

/**
 * Agreement of any number of assessors on a scale, corrected for chance; ratings may be missing.
 *
 * alpha = 1 - Do / De. Do: mean distance of the pairs within a unit, each unit of m ratings weighing m (so a pair
 * weighs 1 / (m - 1)); De: mean distance of all pairs of the n pairable ratings. Distance: nominal 0 or 1; interval
 * (c - k)^2; ratio ((c - k) / (c + k))^2; ordinal the squared difference of mid-ranks among the n ratings, which is
 * (sum of n_g from c to k - (n_c + n_k) / 2)^2.
 *
 * Not for assessors who used different scales (see scaleUse), nor to compare panels that tasted different samples:
 * the more alike the samples, the lower alpha. Ordinal distances depend on how often each value was given.
 * Names of categories on the nominal scale only; ratio needs values from 0. Fewer than two units with two ratings,
 * or no variation: null. Errors: StatsInputError.
 * Source: Krippendorff 2011, Computing Krippendorff's alpha-reliability; Krippendorff 2019, Content Analysis, 4th ed.
 * Example: `krippendorffAlpha({ units: [[1, 1], [2, 2], [3, 4]], scale: 'interval' }).alpha` is 0.878048780488
 */
export function krippendorffAlpha({
  units,
  scale,
}: {
  units: RatingTable;
  scale: RatingScale;
}): KrippendorffAlpha {
  const coded = code(units, scale);
  const ratings = coded.units.reduce((sum, { size }) => sum + size, 0);
  const few = coded.units.length < 2;
  const found = few ? null : disagreements(coded, coded.units, scale);
  const reason = few ? 'fewer than two units with two ratings' : 'all ratings are the same';
  return {
    alpha: found && 1 - found.observed / found.expected,
    undefinedBecause: found ? null : reason,
    scale,
    units: coded.units.length,
    ratings,
    observedDisagreement: found && found.observed,
    expectedDisagreement: found && found.expected,
    method: `Krippendorff's alpha, ${scale} scale`,
    assumption:
      'Assessors are interchangeable and rated independently; units are a sample of what is to be rated.',
    source: 'Krippendorff 2011; Krippendorff 2019',
  };
}

/**
 * Bootstrap interval for Krippendorff's alpha, over the units with two ratings or more; see bootstrapLimits for
 * settings and limits. Errors: StatsInputError. Source: Krippendorff 2019 (alpha); Efron 1979 (percentile bootstrap).
 * Example: `krippendorffInterval({ units: [[1, 1], [2, 2]], scale: 'nominal', level: 0.95, resamples: 100, random: { bytes: (count) => new Uint8Array(count) } }).undefinedResamples` is 100
 */
export function krippendorffInterval({
  units,
  scale,
  ...settings
}: BootstrapSettings & { units: RatingTable; scale: RatingScale }): BootstrapLimits & MethodFacts {
  const coded = code(units, scale);
  const statistic = (drawn: readonly number[]): number | null => {
    const units = drawn.flatMap((at) => coded.units[at] ?? []);
    const found = disagreements(coded, units, scale);
    return found && 1 - found.observed / found.expected;
  };
  return {
    ...bootstrapLimits({ count: coded.units.length, statistic, ...settings }),
    method: `Bootstrap percentile interval for Krippendorff's alpha, ${scale} scale`,
    assumption:
      'Units are a random sample of those to be rated, by these assessors. Too narrow below about 20 units.',
    source: 'Krippendorff 2019; Efron 1979',
  };
}

function code(units: RatingTable, scale: RatingScale): Coded {
  const pairable = givenRatings(units, { numbers: scale !== 'nominal' }).filter((unit) => unit.length > 1);
  const values = [...new Set(pairable.flat())];
  if (scale !== 'nominal') values.sort((a, b) => Number(a) - Number(b));
  if (scale === 'ratio' && Number(values[0]) < 0) {
    throw new StatsInputError('units', values[0], 'numbers from 0 on a ratio scale');
  }
  const index = new Map(values.map((value, at) => [value, at]));
  const counted = pairable.map((unit) => {
    const counts = new Map<number, number>();
    for (const rating of unit) {
      const at = index.get(rating) ?? 0;
      counts.set(at, (counts.get(at) ?? 0) + 1);
    }
    return { size: unit.length, places: [...counts.keys()], times: [...counts.values()] };
  });
  return { units: counted, values };
}

/** Mean distances within units and over all pairs; null when nothing varies. */
function disagreements(
  { values }: Coded,
  units: readonly Tally[],
  scale: RatingScale,
): { observed: number; expected: number } | null {
  const counts = new Float64Array(values.length);
  for (const { places, times } of units) {
    places.forEach((place, at) => (counts[place] = (counts[place] ?? 0) + (times[at] ?? 0)));
  }
  const places = [...counts.keys()].filter((place) => counts[place] !== 0);
  if (places.length < 2) return null;
  const all = {
    size: units.reduce((sum, { size }) => sum + size, 0),
    places,
    times: places.map((place) => counts[place] ?? 0),
  };
  const distances = distanceSum(values, counts, scale);
  const within = units.reduce((sum, unit) => sum + distances(unit) / (unit.size - 1), 0);
  return { observed: within / all.size, expected: distances(all) / (all.size * (all.size - 1)) };
}

/** Sum of the distances over all ordered pairs of ratings. */
function distanceSum(
  values: readonly Rating[],
  counts: Float64Array,
  scale: RatingScale,
): (ratings: Tally) => number {
  if (scale === 'nominal') {
    return ({ size, times }) => times.reduce((sum, count) => sum - count ** 2, size ** 2);
  }
  if (scale === 'ratio') return (ratings) => ratioSum(ratings, values);
  const scores = scale === 'ordinal' ? midRanks(counts) : Float64Array.from(values, Number);
  // Over ordered pairs (a - b)^2 adds up to twice m times the squares around the mean.
  return ({ size, places, times }) => {
    // The mean of equal numbers is not always that number to the last digit.
    if (places.length === 1) return 0;
    const score = (at: number) => scores[places[at] ?? 0] ?? NaN;
    const mean = times.reduce((sum, count, at) => sum + count * score(at), 0) / size;
    return 2 * size * times.reduce((sum, count, at) => sum + count * (score(at) - mean) ** 2, 0);
  };
}

function ratioSum({ places, times }: Tally, values: readonly Rating[]): number {
  let sum = 0;
  for (let i = 0; i < places.length; i += 1) {
    const a = Number(values[places[i] ?? 0]);
    for (let j = i + 1; j < places.length; j += 1) {
      const b = Number(values[places[j] ?? 0]);
      sum += 2 * (times[i] ?? 0) * (times[j] ?? 0) * ((a - b) / (a + b)) ** 2;
    }
  }
  return sum;
}

function midRanks(counts: Float64Array): Float64Array {
  let below = 0;
  return counts.map((count) => {
    below += count;
    return below - count / 2;
  });
}
