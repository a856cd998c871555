import { dunnettCritical, dunnettUpperTail } from '../dunnett.ts';
import { properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { holm } from '../multiplicity.ts';
import { studentQuantile, studentTwoSidedP } from '../student-t.ts';
import { apply, dot, type Matrix } from './matrix.ts';
import { difference, fitDesign, mixedDesign, type RatingInContext } from './mixed-design.ts';
import { oneFactor } from './one-factor.ts';
import { pairsOf, type ComparedMeans } from './pairs.ts';
import { contrast, type Contrast } from './satterthwaite.ts';

export interface ControlComparison {
  sample: string;
  /** Mean of the sample less mean of the control. */
  difference: number;
  standardError: number;
  df: number;
  t: number;
  /** Of this comparison alone. */
  p: number;
  /** Adjusted for all comparisons with the control. */
  adjusted: number;
  /** Limits of the difference: by Dunnett they hold for all at once, by Holm's way out each has its share of the risk (Bonferroni). */
  lower: number;
  upper: number;
  significant: boolean;
}

export interface ControlComparisons extends MethodFacts {
  control: string;
  alpha: number;
  comparisons: ControlComparison[];
  /** 'holm' where correlations of the comparisons are not those of Dunnett's distribution. */
  adjustment: 'dunnett' | 'holm';
  /** Why there are none. */
  reason: 'no residual variation' | 'one assessor' | 'too few ratings' | null;
}

/**
 * Which samples differ from the control? Means of a full table, each against the control's, by Dunnett's two-sided test with
 * correlations from the numbers of ratings. More power than all pairs, when only these were planned.
 * Means as for `tukey`, the control among them; alpha between 0 and 1. Errors: StatsInputError.
 * Source: Dunnett 1955; Dunnett 1964.
 * Example: `meansAgainstControl({ means: [{ sample: 'c', mean: 50, n: 18 }, { sample: 'x', mean: 60, n: 18 }, { sample: 'y', mean: 52, n: 18 }, { sample: 'z', mean: 49, n: 18 }], msError: 170.835648148, df: 24, control: 'c', alpha: 0.05 }).comparisons[0].t` is 2.2952606
 */
export function meansAgainstControl({
  means,
  msError,
  df,
  control,
  alpha,
}: ComparedMeans & { control: string; alpha: number }): ControlComparisons {
  properProbability('alpha', alpha);
  const own = means.find(({ sample }) => sample === control);
  if (!own) throw new StatsInputError('control', control, 'one of the samples');
  const others = means.filter((one) => one !== own);
  // The control second, so that a difference is the sample's less the control's.
  const contrasts = others.map((one) => {
    const [pair] = pairsOf({ means: [one, own], msError, df });
    return { estimate: pair?.difference ?? NaN, standardError: pair?.standardError ?? NaN, df };
  });
  if (others.length === 0) pairsOf({ means, msError, df });
  const share = others.map(({ n }) => Math.sqrt(n / (n + own.n)));
  const correlation = share.map((a, i) => share.map((b, j) => (i === j ? 1 : a * b)));
  return {
    ...compare(
      others.map(({ sample }) => sample),
      contrasts,
      correlation,
      alpha,
    ),
    control,
    alpha,
    reason: null,
  };
}

/**
 * The same for ratings that are missing or unequal in number, by the mixed model (see mixedModel for model and limits). Where
 * every assessor rated all samples equally often it is Dunnett's test; else correlations seldom have its form, and Holm on the
 * t tests takes its place, which is a little more careful. Degrees of freedom are each comparison's own.
 * Fewer than two samples, or a control that nobody rated: refused. No fit possible: `reason`. Errors: StatsInputError.
 * Source: Dunnett 1955; Holm 1979; Satterthwaite 1946.
 * Example: `compareWithControl({ ratings: [[3, 5, 8], [2, 6, 6], [4, 4, 9], [3, 5, 6]].flatMap((row, i) => row.map((value, j) => ({ assessor: 'abcd'.charAt(i), sample: 'xyz'.charAt(j), value }))), control: 'x', interaction: false, alpha: 0.05 }).comparisons[0].difference` is 2
 */
export function compareWithControl({
  ratings,
  control,
  interaction,
  alpha,
}: {
  ratings: readonly RatingInContext[];
  control: string;
  interaction: boolean;
  alpha: number;
}): ControlComparisons {
  properProbability('alpha', alpha);
  const design = mixedDesign(ratings);
  const { samples } = design;
  const place = samples.indexOf(control);
  if (place < 0) throw new StatsInputError('control', control, 'a sample that was rated');
  if (samples.length < 2)
    throw new StatsInputError('ratings', 'only the control', 'ratings of at least 2 samples');
  const tooFew = design.y.length <= design.columns.length + 1;
  const early = design.assessors.length === 1 ? 'one assessor' : tooFew ? 'too few ratings' : null;
  const fit = early ? null : fitDesign(design, interaction && design.replicated);
  const others = samples.map((_, i) => i).filter((i) => i !== place);
  const rows = others.map((i) => difference(design, i, place));
  const covariance = fit ? rows.map((a) => rows.map((b) => dot(a, apply(fit.covariance, b)))) : [];
  const correlation = covariance.map((row, i) =>
    row.map((value, j) => value / Math.sqrt((covariance[i]?.[i] ?? NaN) * (covariance[j]?.[j] ?? NaN))),
  );
  const contrasts = fit ? rows.map((row) => contrast(fit, row)) : [];
  const names = fit ? others.map((i) => samples[i] ?? '') : [];
  const reason = early ?? (fit ? null : 'no residual variation');
  return { ...compare(names, contrasts, correlation, alpha), control, alpha, reason };
}

function compare(
  names: readonly string[],
  contrasts: readonly Contrast[],
  correlation: Matrix,
  alpha: number,
): Pick<ControlComparisons, 'comparisons' | 'adjustment' | keyof MethodFacts> {
  const loadings = names.length === 0 ? null : oneFactor(correlation);
  const alone = contrasts.map(({ estimate, standardError, df }) =>
    studentTwoSidedP(estimate / standardError, df),
  );
  const { adjusted: byHolm } = holm({ p: alone });
  const adjustment = loadings || names.length === 0 ? 'dunnett' : 'holm';
  return {
    comparisons: names.flatMap((sample, i) => {
      const one = contrasts[i];
      if (!one) return [];
      const { estimate, standardError, df } = one;
      const t = estimate / standardError;
      const adjusted = loadings ? dunnettUpperTail(Math.abs(t), loadings, df) : (byHolm[i] ?? 1);
      const critical = loadings
        ? dunnettCritical(alpha, loadings, df)
        : -studentQuantile(alpha / names.length / 2, df);
      return [
        {
          sample,
          difference: estimate,
          standardError,
          df,
          t,
          p: alone[i] ?? 1,
          adjusted,
          lower: estimate - critical * standardError,
          upper: estimate + critical * standardError,
          significant: adjusted <= alpha,
        },
      ];
    }),
    adjustment,
    method:
      adjustment === 'dunnett'
        ? "Dunnett's two-sided comparison with a control"
        : 'Comparison with a control, Holm on t tests, limits by Bonferroni',
    assumption: 'As for the model whose error it uses; only comparisons with the control were planned.',
    source: adjustment === 'dunnett' ? 'Dunnett 1955; Dunnett 1964' : 'Holm 1979; Satterthwaite 1946',
  };
}
