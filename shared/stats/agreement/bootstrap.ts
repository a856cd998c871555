import { randomInt, type RandomSource } from '../../ground/random.ts';
import { integerIn, properProbability } from '../../ground/input.ts';

export interface BootstrapLimits {
  /** Null when too few resamples have a value. */
  lower: number | null;
  upper: number | null;
  level: number;
  resamples: number;
  /** Resamples in which the coefficient is not defined; left out of the limits. */
  undefinedResamples: number;
  /** Fewer than 20 units: the limits are too narrow, say so beside them. */
  fewUnits: boolean;
}

/** Settings of a bootstrap over units. */
export interface BootstrapSettings {
  /** Share of the interval, between 0 and 1. */
  level: number;
  /** 100 to 100,000; 2,000 is usual. */
  resamples: number;
  /** Record its seed: the same seed gives the same limits. */
  random: RandomSource;
}

// A rule of our own: beyond it the limits would speak of the lucky resamples only.
const MAX_UNDEFINED = 0.1;
const FEW_UNITS = 20;

/**
 * Percentile limits by drawing units with replacement: each resample takes as many units as there are, and the
 * limits are the (1 - level) / 2 and (1 + level) / 2 quantiles of the coefficient (linear between ranks, R's type 7).
 * Units are what is drawn, so the limits speak of further units rated by these assessors, not of other assessors.
 * With few units they are too narrow: by a simulation of ours (alpha on an interval scale, 6 assessors, true alpha 0.56)
 * limits of 95 % held the truth in 77 % of panels with 6 units, 83 % with 10, 90 % with 20, 93 % with 40.
 * No units, or more than a tenth of the resamples without a value: null. Errors: StatsInputError.
 * Source: Efron 1979, Ann. Stat. 7:1; Hyndman & Fan 1996, Am. Stat. 50:361 (quantiles).
 * Example: `bootstrapLimits({ count: 3, statistic: () => 0.5, level: 0.95, resamples: 100, random: { bytes: (count) => new Uint8Array(count) } }).upper` is 0.5
 */
export function bootstrapLimits({
  count,
  statistic,
  level,
  resamples,
  random,
}: BootstrapSettings & {
  /** Number of units. */
  count: number;
  /** The coefficient over the units drawn, given by index from 0; null when not defined. */
  statistic: (drawn: readonly number[]) => number | null;
}): BootstrapLimits {
  properProbability('level', level);
  integerIn('resamples', resamples, 100, 100_000);
  const settings = { level, resamples, fewUnits: count < FEW_UNITS };
  if (count === 0) return { ...settings, lower: null, upper: null, undefinedResamples: resamples };
  const values: number[] = [];
  for (let turn = 0; turn < resamples; turn += 1) {
    const value = statistic(Array.from({ length: count }, () => randomInt(random, count)));
    if (value !== null) values.push(value);
  }
  const undefinedResamples = resamples - values.length;
  const enough = undefinedResamples <= MAX_UNDEFINED * resamples;
  const sorted = Float64Array.from(values).sort();
  return {
    ...settings,
    lower: enough ? quantile(sorted, (1 - level) / 2) : null,
    upper: enough ? quantile(sorted, (1 + level) / 2) : null,
    undefinedResamples,
  };
}

function quantile(sorted: Float64Array, share: number): number {
  const place = (sorted.length - 1) * share;
  const below = sorted[Math.floor(place)] ?? NaN;
  const above = sorted[Math.ceil(place)] ?? NaN;
  return below + (place - Math.floor(place)) * (above - below);
}
