import { properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { holm } from '../multiplicity.ts';
import { studentQuantile, studentTwoSidedP } from '../student-t.ts';
import { studentizedRangeCritical, studentizedRangeUpperTail } from '../studentized-range.ts';
import type { FTest } from './anova.ts';
import {
  difference,
  fitDesign,
  mixedDesign,
  sampleContrasts,
  type MixedDesign,
  type RatingInContext,
} from './mixed-design.ts';
import type { RemlFit } from './reml.ts';
import { contrast, fTestOf } from './satterthwaite.ts';

export interface EstimatedMean {
  sample: string;
  mean: number;
  standardError: number;
  df: number;
  lower: number;
  upper: number;
  /** Ratings behind it. */
  n: number;
}

export interface MixedPair {
  first: string;
  second: string;
  /** Mean of first less mean of second. */
  difference: number;
  standardError: number;
  df: number;
  t: number;
  /** Of this pair alone. */
  p: number;
  /** Adjusted for all pairs by the studentized range. */
  tukey: number;
  /** Adjusted for all pairs by Holm. */
  holm: number;
  /** Limits that hold for all pairs at once, by the studentized range. */
  lower: number;
  upper: number;
  /** Difference in standard deviations of a single rating (all variances together); null with none. */
  standardised: number | null;
}

export interface MixedModel extends MethodFacts {
  samples: string[];
  assessors: number;
  n: number;
  level: number;
  /** Do samples differ? Null: see `reason`. */
  sampleTest: FTest | null;
  means: EstimatedMean[];
  pairs: MixedPair[];
  /** Variances; interaction null when it is not in the model. */
  variances: { assessor: number; interaction: number | null; residual: number } | null;
  /** Share of the variation of ratings that samples (and further fixed factors) account for. */
  marginalR2: number | null;
  /** -2 log restricted likelihood. */
  remlCriterion: number | null;
  /** For residualChecks: residual and sample of each rating, in an order of the model's own. */
  residuals: { sample: string; residual: number }[];
  /** What a reader has to know, in sentences. */
  cautions: string[];
  reason: 'no data' | 'one sample' | 'one assessor' | 'too few ratings' | 'no residual variation' | null;
}

/** Below this number of assessors their variance is hardly known. Common practice, no source. */
const FEW_ASSESSORS = 5;

/**
 * Do samples differ in mean rating, and by how much, when ratings are missing or unequal in number? Linear mixed model
 * by REML: samples (and further factors named in `also`) fixed, assessors random, with `interaction` also assessor x sample
 * where somebody rated a sample twice. F and t with Satterthwaite degrees of freedom; means with every further factor
 * at equal shares; all pairs by Tukey's studentized range (approximate when SEs differ) and by Holm.
 *
 * A full table gives the F of balancedAnova unless a variance is estimated as 0, which `cautions` says. With replicates,
 * leave `interaction` on: without it, replicates count as further people. Missing ratings must be missing for reasons that do
 * not depend on the rating: a sample declined may not be. Not for few categories piled up at an end (cumulativeLink).
 *
 * Values in units of the scale; level between 0 and 1. No test possible: `reason`. Errors: StatsInputError.
 * Source: Patterson & Thompson 1971; Satterthwaite 1946; Fai & Cornelius 1996; Tukey 1953; Holm 1979; Nakagawa & Schielzeth
 * 2013, Methods Ecol. Evol. 4:133 (marginal R2); Westfall, Kenny & Judd 2014, J. Exp. Psychol. Gen. 143:2020 (standardised).
 * Example: `mixedModel({ ratings: [[5, 6, 7], [5.5, 6.5, 6], [4.5, 6, 7.5]].flatMap((row, i) => row.map((value, j) => ({ assessor: 'abc'.charAt(i), sample: 'xyz'.charAt(j), value }))), interaction: false, level: 0.95 }).sampleTest.f` is 8.45454545455
 */
export function mixedModel({
  ratings,
  interaction,
  level,
}: {
  ratings: readonly RatingInContext[];
  interaction: boolean;
  level: number;
}): MixedModel {
  properProbability('level', level);
  const design = mixedDesign(ratings);
  const cells = interaction && design.replicated;
  const early = earlyReason(design);
  const fit = early ? null : fitDesign(design, cells);
  const reason = early ?? (fit ? null : 'no residual variation');
  const { samples } = design;
  return {
    samples,
    assessors: design.assessors.length,
    n: ratings.length,
    level,
    sampleTest: fit && fTestOf(fit, sampleContrasts(design)),
    means: fit ? meansOf(design, fit, level) : [],
    pairs: fit ? pairsOf(design, fit, level) : [],
    variances: fit && {
      assessor: fit.assessor,
      interaction: cells ? fit.cell : null,
      residual: fit.residual,
    },
    marginalR2: fit && marginalR2(design, fit),
    remlCriterion: fit && fit.criterion,
    residuals: fit ? residualsOf(design, fit) : [],
    cautions: fit ? cautionsOf(design, fit, interaction, cells) : [],
    reason,
    method: 'Linear mixed model by REML, assessors random, Satterthwaite degrees of freedom',
    assumption:
      'Steps of the scale mean the same everywhere; assessor effects and errors are normal; ratings are missing for reasons that do not depend on them.',
    source: 'Patterson & Thompson 1971; Satterthwaite 1946; Fai & Cornelius 1996',
  };
}

function earlyReason({ samples, assessors, y, columns }: MixedDesign): MixedModel['reason'] {
  if (y.length === 0) return 'no data';
  if (samples.length === 1) return 'one sample';
  if (assessors.length === 1) return 'one assessor';
  return y.length <= columns.length + 1 ? 'too few ratings' : null;
}

function meansOf(design: MixedDesign, fit: RemlFit, level: number): EstimatedMean[] {
  return design.samples.map((sample, i) => {
    const { estimate, standardError, df } = contrast(fit, design.meanRows[i] ?? []);
    const reach = -studentQuantile((1 - level) / 2, df) * standardError;
    return {
      sample,
      mean: estimate,
      standardError,
      df,
      lower: estimate - reach,
      upper: estimate + reach,
      n: design.counts[i] ?? 0,
    };
  });
}

function pairsOf(design: MixedDesign, fit: RemlFit, level: number): MixedPair[] {
  const k = design.samples.length;
  const spread = Math.sqrt(fit.assessor + fit.cell + fit.residual);
  const critical = new Map<number, number>();
  const reachOf = (df: number) => {
    // One critical value serves pairs whose degrees of freedom differ by rounding only.
    const key = Number(df.toPrecision(10));
    const q = critical.get(key) ?? studentizedRangeCritical(1 - level, k, df);
    critical.set(key, q);
    return q / Math.SQRT2;
  };
  const pairs = design.samples.flatMap((first, i) =>
    design.samples.slice(i + 1).map((second, j) => {
      const { estimate, standardError, df } = contrast(fit, difference(design, i, i + 1 + j));
      const t = estimate / standardError;
      const reach = reachOf(df) * standardError;
      return {
        first,
        second,
        difference: estimate,
        standardError,
        df,
        t,
        p: studentTwoSidedP(t, df),
        tukey: studentizedRangeUpperTail(Math.abs(t) * Math.SQRT2, k, df),
        lower: estimate - reach,
        upper: estimate + reach,
        standardised: spread > 0 ? estimate / spread : null,
      };
    }),
  );
  const { adjusted } = holm({ p: pairs.map(({ p }) => p) });
  return pairs.map((pair, index) => ({ ...pair, holm: adjusted[index] ?? 1 }));
}

function marginalR2({ y }: MixedDesign, fit: RemlFit): number {
  const fitted = y.map((value, row) => value - (fit.marginalResiduals[row] ?? 0));
  const middle = fitted.reduce((sum, value) => sum + value, 0) / y.length;
  const fixed = fitted.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (y.length - 1);
  return fixed / (fixed + fit.assessor + fit.cell + fit.residual);
}

function residualsOf(design: MixedDesign, fit: RemlFit): MixedModel['residuals'] {
  const { columns, samples } = design;
  return fit.residuals.map((residual, row) => {
    // The first sample is the one without a column.
    const place = samples.slice(1).findIndex((_, i) => columns[i + 1]?.[row] === 1) + 1;
    return { sample: samples[place] ?? '', residual };
  });
}

function cautionsOf(design: MixedDesign, fit: RemlFit, interaction: boolean, cells: boolean): string[] {
  const said: string[] = [];
  if (design.assessors.length < FEW_ASSESSORS) {
    said.push(`Only ${design.assessors.length} assessors: how much assessors differ is hardly known.`);
  }
  if (fit.assessor === 0) {
    said.push('Assessor variance was estimated as zero, so F differs from that of the analysis of variance.');
  }
  if (cells && fit.cell === 0) {
    said.push('Variance of assessor by sample was estimated as zero, so replicates count as if independent.');
  }
  if (interaction && !cells) {
    said.push('Nobody rated a sample twice, so assessor by sample cannot be told from the residual.');
  }
  if (!interaction && design.replicated) {
    said.push('Replicates count as independent, since assessor by sample is not in the model.');
  }
  design.samples.forEach((sample, i) => {
    if (design.raters[i] === 1) {
      said.push(`Sample ${sample} was rated by one assessor only; its mean rests on that one palate.`);
    }
  });
  return said;
}
