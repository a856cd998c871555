import { fUpperTail } from '../f-ratio.ts';
import { StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { ratingTable, type Rating } from './ratings.ts';

export interface FTest {
  f: number;
  df1: number;
  df2: number;
  p: number;
}

export interface AnovaRow {
  source: 'sample' | 'assessor' | 'interaction' | 'residual';
  /** Sum of squares, in squared units of the scale. */
  ss: number;
  df: number;
  ms: number;
}

export interface BalancedAnova extends MethodFacts {
  samples: string[];
  assessors: string[];
  /** Ratings in each cell. */
  replicates: number;
  n: number;
  /** Without replicates the interaction cannot be told from the residual and stands as 'residual'. */
  rows: AnovaRow[];
  means: { sample: string; mean: number; n: number }[];
  /** Do samples differ for assessors like these? Over the interaction. Null: see `reason`. */
  sampleTest: FTest | null;
  /** For exactly these assessors only, over the residual; too easily significant for anyone beyond them. Null without replicates. */
  sampleTestTheseAssessors: FTest | null;
  /** Do assessors use different parts of the scale? Over the residual; a look at the panel, not at the samples. */
  assessorTest: FTest | null;
  /** Do assessors differ about the samples? Null without replicates. */
  interactionTest: FTest | null;
  /** Error of a comparison of samples: the denominator of `sampleTest`. Null with it. */
  error: { ms: number; df: number } | null;
  /** Share of the variation of samples and error together: SS / (SS + SS error); too high in small panels. */
  partialEtaSquared: number | null;
  /** The same less what chance gives, as adjusted R^2: df1 (F - 1) / (df1 F + df2); may be below 0. */
  partialEpsilonSquared: number | null;
  /** Why there is no test of samples. */
  reason: 'no data' | 'one sample' | 'one assessor' | 'no error variation' | null;
}

/**
 * Do samples differ in mean rating? Two-way analysis of variance, samples fixed, assessors random, every assessor
 * having rated every sample equally often. F = MS sample / MS (sample x assessor) with (k - 1), (k - 1)(n - 1) degrees
 * of freedom; without replicates the residual is that interaction. Interaction and assessor over MS residual.
 *
 * Not for missing or unequal cells (mixedModel), nor for few categories piled up at an end (cumulative link).
 * The interaction is never pooled away after a look at its test. Values in units of the scale, at least one per cell.
 * One assessor, one sample, or no error variation: no test, `reason` says which. Errors: StatsInputError for an unequal
 * cell, naming it, and for what ratingTable refuses.
 * Source: Naes, Brockhoff & Tomic 2010, Statistics for Sensory and Consumer Science; Carroll & Nordholm 1975, Educ.
 * Psychol. Meas. 35:541 (epsilon squared; from memory).
 * Example: `balancedAnova({ ratings: [[3, 5, 8], [2, 6, 6], [4, 4, 9]].flatMap((row, i) => row.map((value, j) => ({ assessor: 'abc'.charAt(i), sample: 'xyz'.charAt(j), value }))) }).sampleTest.f` is 9.25
 */
export function balancedAnova({ ratings }: { ratings: readonly Rating[] }): BalancedAnova {
  const { samples, assessors, cells, n } = ratingTable(ratings);
  const [k, people] = [samples.length, assessors.length];
  const replicates = cells[0]?.[0]?.length ?? 0;
  refuseUnequal(cells, replicates, { samples, assessors });

  const cellMeans = cells.map((row) => row.map(mean));
  const sampleMeans = cellMeans.map(mean);
  const assessorMeans = assessors.map((_, j) => mean(cellMeans.map((row) => row[j] ?? 0)));
  const grand = mean(sampleMeans);
  const ss = sumsOfSquares(cells, { cellMeans, sampleMeans, assessorMeans, grand });

  // What rounding alone leaves of a sum of squares that is 0.
  const noise = n * (1e-13 * Math.max(0, ...ratings.map(({ value }) => Math.abs(value)))) ** 2;
  const row = (source: AnovaRow['source'], raw: number, df: number): AnovaRow => {
    const clean = raw <= noise ? 0 : raw;
    return { source, ss: clean, df, ms: df > 0 ? clean / df : 0 };
  };
  const sample = row('sample', ss.sample, Math.max(0, k - 1));
  const assessor = row('assessor', ss.assessor, Math.max(0, people - 1));
  const both = Math.max(0, (k - 1) * (people - 1));
  const interaction = row(replicates > 1 ? 'interaction' : 'residual', ss.interaction, both);
  const residual = replicates > 1 ? row('residual', ss.within, k * people * (replicates - 1)) : null;

  const sampleTest = fTest(sample, interaction);
  const reason =
    n === 0
      ? 'no data'
      : k === 1
        ? 'one sample'
        : people === 1
          ? 'one assessor'
          : sampleTest === null
            ? 'no error variation'
            : null;
  return {
    samples,
    assessors,
    replicates,
    n,
    rows: residual ? [sample, assessor, interaction, residual] : [sample, assessor, interaction],
    means: samples.map((name, i) => ({
      sample: name,
      mean: sampleMeans[i] ?? 0,
      n: people * replicates,
    })),
    sampleTest,
    sampleTestTheseAssessors: residual && fTest(sample, residual),
    assessorTest: fTest(assessor, residual ?? interaction),
    interactionTest: residual && fTest(interaction, residual),
    error: sampleTest && { ms: interaction.ms, df: interaction.df },
    partialEtaSquared: sampleTest && sample.ss / (sample.ss + interaction.ss),
    partialEpsilonSquared:
      sampleTest && (sampleTest.df1 * (sampleTest.f - 1)) / (sampleTest.df1 * sampleTest.f + sampleTest.df2),
    reason,
    method:
      replicates > 1 ? 'Two-way ANOVA with replicates, assessors random' : 'Two-way ANOVA, assessors random',
    assumption:
      'Steps of the scale mean the same everywhere, errors are normal with equal spread, assessors are a sample of those meant.',
    source: 'Naes, Brockhoff & Tomic 2010',
  };
}

function refuseUnequal(
  cells: readonly (readonly (readonly number[])[])[],
  replicates: number,
  { samples, assessors }: { samples: readonly string[]; assessors: readonly string[] },
): void {
  cells.forEach((row, i) =>
    row.forEach((cell, j) => {
      if (cell.length === replicates && replicates > 0) return;
      const name = `ratings of sample ${samples[i] ?? ''} by assessor ${assessors[j] ?? ''}`;
      throw new StatsInputError(
        name,
        cell.length,
        'the same number, at least 1, in every cell (else mixedModel)',
      );
    }),
  );
}

function sumsOfSquares(
  cells: readonly (readonly (readonly number[])[])[],
  {
    cellMeans,
    sampleMeans,
    assessorMeans,
    grand,
  }: {
    cellMeans: readonly (readonly number[])[];
    sampleMeans: readonly number[];
    assessorMeans: readonly number[];
    grand: number;
  },
): Record<'sample' | 'assessor' | 'interaction' | 'within', number> {
  const [k, people, replicates] = [cells.length, assessorMeans.length, cells[0]?.[0]?.length ?? 0];
  const squares = (values: readonly number[], times: number) =>
    times * sum(values.map((value) => value ** 2));
  return {
    sample: squares(
      sampleMeans.map((m) => m - grand),
      people * replicates,
    ),
    assessor: squares(
      assessorMeans.map((m) => m - grand),
      k * replicates,
    ),
    interaction: squares(
      cellMeans.flatMap((row, i) =>
        row.map((m, j) => m - (sampleMeans[i] ?? 0) - (assessorMeans[j] ?? 0) + grand),
      ),
      replicates,
    ),
    within: squares(
      cells.flatMap((row, i) => row.flatMap((cell, j) => cell.map((y) => y - (cellMeans[i]?.[j] ?? 0)))),
      1,
    ),
  };
}

function fTest(above: AnovaRow, below: AnovaRow): FTest | null {
  if (above.df === 0 || below.df === 0 || below.ms === 0) return null;
  const f = above.ms / below.ms;
  return { f, df1: above.df, df2: below.df, p: fUpperTail(f, above.df, below.df) };
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

function mean(values: readonly number[]): number {
  return sum(values) / values.length;
}
