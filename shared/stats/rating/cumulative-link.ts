import { chiSquareUpper } from '../chi-square.ts';
import { integerIn, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { holm } from '../multiplicity.ts';
import { normalCdf, normalQuantile } from '../normal.ts';
import { studentizedRangeUpperTail } from '../studentized-range.ts';
import { apply, dot } from './matrix.ts';
import { difference, mixedDesign, type MixedDesign, type RatingInContext } from './mixed-design.ts';
import { fitOrdinal, type OrdinalFit } from './ordinal-likelihood.ts';

export interface LinkThreshold {
  /** The categories that meet here. */
  below: number;
  above: number;
  estimate: number;
  standardError: number;
}

export interface LinkPair {
  first: string;
  second: string;
  /** Log of the odds of a higher category for first over those for second. */
  difference: number;
  standardError: number;
  /** exp(difference), with its own limits at the level asked. */
  oddsRatio: number;
  lower: number;
  upper: number;
  z: number;
  p: number;
  /** Adjusted for all pairs. */
  tukey: number;
  holm: number;
}

export interface CumulativeLink extends MethodFacts {
  samples: string[];
  n: number;
  level: number;
  thresholds: LinkThreshold[];
  /** Log-odds of a higher category against the first sample, whose own is 0. */
  effects: { sample: string; estimate: number; standardError: number }[];
  pairs: LinkPair[];
  /** Standard deviation of assessors on the log-odds scale; null when they are not in the model. */
  assessorSd: number | null;
  logLikelihood: number | null;
  /** Do samples differ? Likelihood ratio against the model without them. */
  sampleTest: { chiSquare: number; df: number; p: number } | null;
  /** Categories of the scale that nobody used: their thresholds cannot be known and are left out. */
  unused: number[];
  cautions: string[];
  reason: 'no data' | 'one sample' | 'one category' | 'one assessor' | 'infinite estimate' | null;
}

/**
 * Do samples differ on a scale of few ordered categories (5 to 9 points, floors and ceilings)? Cumulative logit:
 * logit P(Y <= j) = theta_j - x' b, with `assessors` 'random' also less an effect of the assessor, normal, integrated by
 * Laplace's approximation. A positive effect is a higher rating. Samples by likelihood ratio, pairs by Wald with Tukey (known
 * spread) and Holm. Assumes that a sample shifts all categories by the same log-odds.
 *
 * 'ignored' is for one rating per assessor only. With few ratings per assessor Laplace makes their spread a little small, and
 * chi-square p-values are approximate below about 30 ratings. Not for line scales (mixedModel).
 * Values whole, from scale.lowest to scale.highest; level between 0 and 1. No fit possible: `reason`; a sample with all
 * its ratings at one end has an infinite estimate. Errors: StatsInputError.
 * Source: McCullagh 1980; Tierney & Kadane 1986; Christensen 2018 (cumulative link models; general software's vignette).
 * Example: `cumulativeLink({ ratings: [1, 2, 2, 3, 2, 3, 3, 1].map((value, i) => ({ assessor: String(i), sample: i < 4 ? 'a' : 'b', value })), scale: { lowest: 1, highest: 3 }, assessors: 'ignored', level: 0.95 }).effects[1].estimate` is 0.65293156966
 */
export function cumulativeLink({
  ratings,
  scale,
  assessors,
  level,
}: {
  ratings: readonly RatingInContext[];
  scale: { lowest: number; highest: number };
  assessors: 'random' | 'ignored';
  level: number;
}): CumulativeLink {
  properProbability('level', level);
  integerIn('scale.lowest', scale.lowest, -1000, 1000);
  integerIn('scale.highest', scale.highest, scale.lowest, scale.lowest + 100);
  ratings.forEach(({ value }, index) =>
    integerIn(`ratings[${index}].value`, value, scale.lowest, scale.highest),
  );
  const design = mixedDesign(ratings);
  const { samples, y } = design;
  const used = [...new Set(y)].sort((a, b) => a - b);
  const random = assessors === 'random';
  const early = earlyReason(design, used.length, random);
  const fit = early ? null : fitColumns(design, used, random, true);
  const without = fit && fitColumns(design, used, random, false);
  const reason = early ?? (fit && without ? null : 'infinite estimate');
  const chiSquare = fit && without ? Math.max(0, 2 * (fit.logLikelihood - without.logLikelihood)) : null;
  const cuts = used.length - 1;
  const spread = fit && random ? Math.abs(fit.estimates.at(-1) ?? 0) : null;
  const unused: number[] = [];
  for (let c = scale.lowest; c <= scale.highest && y.length > 0; c += 1)
    if (!used.includes(c)) unused.push(c);
  return {
    samples,
    n: y.length,
    level,
    thresholds: fit
      ? used.slice(1).map((above, j) => ({
          below: used[j] ?? NaN,
          above,
          estimate: fit.estimates[j] ?? NaN,
          standardError: Math.sqrt(fit.covariance[j]?.[j] ?? NaN),
        }))
      : [],
    effects: fit
      ? samples.map((sample, i) => ({ sample, ...wald(fit, padded(fit, cuts, difference(design, i, 0))) }))
      : [],
    pairs: fit ? pairsOf(design, fit, cuts, level) : [],
    assessorSd: spread,
    logLikelihood: fit && fit.logLikelihood,
    sampleTest:
      chiSquare === null
        ? null
        : { chiSquare, df: samples.length - 1, p: chiSquareUpper(chiSquare, samples.length - 1) },
    unused,
    cautions: cautionsOf(design, unused, random, spread),
    reason,
    method: random
      ? 'Cumulative logit model, assessors random, Laplace approximation'
      : 'Cumulative logit model without assessors',
    assumption:
      'A sample shifts the odds of all categories alike; assessors differ by a normal shift, or gave one rating each.',
    source: 'McCullagh 1980; Tierney & Kadane 1986',
  };
}

function earlyReason(
  { samples, assessors, y }: MixedDesign,
  categories: number,
  random: boolean,
): CumulativeLink['reason'] {
  if (y.length === 0) return 'no data';
  if (samples.length === 1) return 'one sample';
  if (categories === 1) return 'one category';
  return random && assessors.length === 1 ? 'one assessor' : null;
}

function fitColumns(
  { columns, samples, y, nesting }: MixedDesign,
  used: readonly number[],
  random: boolean,
  withSamples: boolean,
): OrdinalFit | null {
  return fitOrdinal({
    y: y.map((value) => used.indexOf(value)),
    categories: used.length,
    // The intercept is in the thresholds.
    columns: columns.slice(withSamples ? 1 : samples.length),
    people: random ? nesting.people : null,
  });
}

/** A contrast of the design (intercept first) as one of the estimates (thresholds first). */
function padded({ estimates }: OrdinalFit, cuts: number, row: readonly number[]): number[] {
  return estimates.map((_, i) => (i < cuts ? 0 : (row[i - cuts + 1] ?? 0)));
}

function wald(fit: OrdinalFit, row: readonly number[]): { estimate: number; standardError: number } {
  return {
    estimate: dot(row, fit.estimates),
    standardError: Math.sqrt(dot(row, apply(fit.covariance, row))),
  };
}

function pairsOf(design: MixedDesign, fit: OrdinalFit, cuts: number, level: number): LinkPair[] {
  const k = design.samples.length;
  const reach = -normalQuantile((1 - level) / 2);
  const pairs = design.samples.flatMap((first, i) =>
    design.samples.slice(i + 1).map((second, j) => {
      const { estimate, standardError } = wald(fit, padded(fit, cuts, difference(design, i, i + 1 + j)));
      const z = estimate / standardError;
      return {
        first,
        second,
        difference: estimate,
        standardError,
        oddsRatio: Math.exp(estimate),
        lower: Math.exp(estimate - reach * standardError),
        upper: Math.exp(estimate + reach * standardError),
        z,
        p: 2 * normalCdf(-Math.abs(z)),
        tukey: studentizedRangeUpperTail(Math.abs(z) * Math.SQRT2, k, Infinity),
      };
    }),
  );
  const { adjusted } = holm({ p: pairs.map(({ p }) => p) });
  return pairs.map((pair, index) => ({ ...pair, holm: adjusted[index] ?? 1 }));
}

function cautionsOf(
  design: MixedDesign,
  unused: readonly number[],
  random: boolean,
  spread: number | null,
): string[] {
  const said: string[] = [];
  if (unused.length > 0)
    said.push(`Nobody used ${unused.join(', ')}, so nothing is known of the steps beside.`);
  if (!random && design.assessors.length < design.y.length) {
    said.push('Assessors gave more than one rating each, but the model takes ratings as independent.');
  }
  if (spread !== null && spread < 1e-4) said.push('Assessor variance was estimated as zero.');
  return said;
}
