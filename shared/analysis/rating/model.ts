import type { MarkFigures } from '../../contracts/result-rating.ts';
import { balancedAnova } from '../../stats/rating/anova.ts';
import { mixedModel, type MixedModel } from '../../stats/rating/mixed-model.ts';
import type { Rating } from '../../stats/rating/ratings.ts';
import { residualChecks } from '../../stats/rating/residual-checks.ts';
import { tukey } from '../../stats/rating/tukey.ts';
import { studentizedRangeCritical } from '../../stats/studentized-range.ts';

/** The answer of the means before adjusting over attributes and before letters. */
export interface MeansDraft {
  test: Omit<NonNullable<MarkFigures['test']>, 'adjusted'> | null;
  reason: string | null;
  estimated: MixedModel['means'];
  pairs: Omit<MarkFigures['pairs'][number], 'differs'>[];
  spread: MarkFigures['spread'];
  effect: MarkFigures['effect'];
  checks: MarkFigures['checks'];
  cautions: string[];
}

/** Level of the intervals of means. */
const LEVEL = 0.95;
// What the model says of a variance of zero is about its own F.
const OF_MIXED_F = /^(?:Assessor variance|Variance of assessor by sample) was estimated as zero/;

const REASONS: Readonly<Record<NonNullable<MixedModel['reason']>, string>> = {
  'no data': 'Nobody gave a mark.',
  'one sample': 'Only one sample was marked, so there is nothing to compare.',
  'one assessor': 'Only one person gave marks, who cannot be told from chance.',
  'too few ratings': 'There are too few marks for a test.',
  'no residual variation': 'Marks leave no error variation to test against.',
};

/**
 * Means, F and pairs of one list of marks. In a full table, everybody having marked every sample equally often, F and pairs
 * stand on the analysis of variance, samples over assessor by sample; otherwise on the mixed model. Intervals of means and
 * spreads are the mixed model's in both. Sources: in the method notes.
 */
export function meansDraft(
  ratings: readonly Rating[],
  nameOf: (key: string) => string,
  alpha: number,
): MeansDraft {
  const mixed = mixedModel({ ratings, interaction: true, level: LEVEL });
  const full = isFull(ratings) ? balancedAnova({ ratings }) : null;
  const checks = mixed.residuals.length === 0 ? null : residualChecks({ residuals: mixed.residuals });
  const common = {
    reason: mixed.reason === null ? null : REASONS[mixed.reason],
    estimated: mixed.means,
    spread: mixed.variances && {
      assessor: Math.sqrt(mixed.variances.assessor),
      interaction: mixed.variances.interaction === null ? null : Math.sqrt(mixed.variances.interaction),
      residual: Math.sqrt(mixed.variances.residual),
    },
    effect: { partialEpsilonSquared: full?.partialEpsilonSquared ?? null, marginalR2: mixed.marginalR2 },
    checks: checks && {
      straightness: checks.straightness,
      normalP: checks.normalP,
      spreadP: checks.spreadP,
      far: checks.far,
      sayings: checks.sayings,
    },
    cautions: mixed.cautions.map((caution) =>
      caution.replace(/^Sample (\S+) was/, (_whole, key: string) => `${nameOf(key)} was`),
    ),
  };
  const standardised = new Map(
    mixed.pairs.map((pair) => [`${pair.first} ${pair.second}`, pair.standardised]),
  );
  if (full?.sampleTest && full.error) {
    const { pairs } = tukey({ means: full.means, msError: full.error.ms, df: full.error.df, alpha });
    return {
      ...common,
      reason: null,
      cautions: common.cautions.filter((caution) => !OF_MIXED_F.test(caution)),
      test: { by: 'anova', ...full.sampleTest },
      pairs: pairs.map(({ first, second, difference, lower, upper, standardError, p }) => ({
        first,
        second,
        difference,
        lower,
        upper,
        standardError,
        df: full.error?.df ?? 0,
        pTukey: p,
        standardised: standardised.get(`${first} ${second}`) ?? null,
      })),
    };
  }
  const criticalAt = tukeyCriticals(mixed.samples.length, alpha);
  const asModel = Math.abs(alpha - (1 - LEVEL)) < 1e-12;
  return {
    ...common,
    test: mixed.sampleTest && { by: 'mixed', ...mixed.sampleTest },
    pairs: mixed.pairs.map(
      ({ first, second, difference, lower, upper, standardError, df, tukey: pTukey, standardised: size }) => {
        // Limits at alpha as in the full table: those of the model are at the level of its means.
        const reach = asModel ? (upper - lower) / 2 : criticalAt(df) * standardError;
        return {
          first,
          second,
          difference,
          lower: difference - reach,
          upper: difference + reach,
          standardError,
          df,
          pTukey,
          standardised: size,
        };
      },
    ),
  };
}

/** Critical t of all pairs of k samples at alpha, by degrees of freedom; those that differ by rounding share one. */
function tukeyCriticals(k: number, alpha: number): (df: number) => number {
  const known = new Map<number, number>();
  return (df) => {
    const key = Number(df.toPrecision(10));
    const critical = known.get(key) ?? studentizedRangeCritical(alpha, k, df) / Math.SQRT2;
    known.set(key, critical);
    return critical;
  };
}

/** Did everybody mark every sample equally often, at least once? */
function isFull(ratings: readonly Rating[]): boolean {
  const cells = Map.groupBy(ratings, ({ assessor, sample }) => JSON.stringify([assessor, sample]));
  const people = new Set(ratings.map(({ assessor }) => assessor)).size;
  const samples = new Set(ratings.map(({ sample }) => sample)).size;
  const sizes = new Set([...cells.values()].map((cell) => cell.length));
  return people > 0 && cells.size === people * samples && sizes.size === 1;
}

/** Standard deviation between marks of one person for one sample, all such cells pooled; null when there is none. */
export function repeatabilityOf(ratings: readonly Rating[]): MarkFigures['repeatability'] {
  let squares = 0;
  let df = 0;
  const cells = Map.groupBy(ratings, ({ assessor, sample }) => JSON.stringify([assessor, sample]));
  for (const cell of cells.values()) {
    const mean = cell.reduce((sum, { value }) => sum + value, 0) / cell.length;
    squares += cell.reduce((sum, { value }) => sum + (value - mean) ** 2, 0);
    df += cell.length - 1;
  }
  return df === 0 ? null : { standardDeviation: Math.sqrt(squares / df), df };
}
