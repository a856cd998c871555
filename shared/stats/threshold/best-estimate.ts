import { StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';

export interface AssessorThreshold {
  /** In the unit of the concentrations; null when not estimable. */
  threshold: number | null;
  log10: number | null;
  /**
   * 'below-range': right at every level, so the threshold is put half a step below the lowest. 'above-range': wrong at the
   * highest, so it is put half a step above it. 'missing': a level was not answered.
   */
  flag: 'within-range' | 'below-range' | 'above-range' | 'missing';
}

export interface BestEstimateThreshold extends MethodFacts {
  /** In the order given. */
  assessors: AssessorThreshold[];
  /** Geometric mean of the assessors' thresholds, in the unit of the concentrations; null without any. */
  panel: number | null;
  meanLog10: number | null;
  /** Standard deviation of log10 between assessors; null for fewer than two. */
  sdLog10: number | null;
  /** The same as a factor: 10^sdLog10. */
  geometricSd: number | null;
  /** Assessors with an estimate, and how many of them lie outside of the range. */
  n: number;
  belowRange: number;
  aboveRange: number;
  missing: number;
  /** Smallest and largest factor from one level to the next; the estimates depend on it. */
  stepFactor: { least: number; most: number };
}

/**
 * Best estimate thresholds from an ascending series of forced choices (3-AFC at each level), per assessor and for the panel.
 *
 * Assessor: geometric mean of the highest level missed and the next one up, from where on all were right; right answers
 * below a miss count as guesses. All right: lowest / sqrt(step); highest missed: highest x sqrt(step), with the step
 * next to it; both are flagged. Panel: geometric mean of the assessors.
 *
 * One lucky guess in three moves an estimate by a step or more, so no single assessor's number is firm; it moves with the
 * step, so compare only series of the same steps. Not a limit of safety or quality. Where many lie outside of the range,
 * taste another range instead of quoting the panel figure.
 * Concentrations ascending, above 0, 2 or more, in any one unit; steps of one factor of 2 to 3 are usual. Answers: one
 * for each level, lowest first, null where missing. Errors: StatsInputError.
 * Source: ASTM E679; ISO 13301.
 * Example: `bestEstimateThreshold({ concentrations: [1, 2, 4], answers: [[false, true, true]] }).panel` is 1.41421356237
 */
export function bestEstimateThreshold({
  concentrations,
  answers,
}: {
  concentrations: readonly number[];
  answers: readonly (readonly (boolean | null)[])[];
}): BestEstimateThreshold {
  const logs = ascendingLogs(concentrations);
  const assessors = answers.map((row) => {
    if (row.length !== logs.length) {
      throw new StatsInputError(
        'answers',
        `a row of ${row.length}`,
        `one answer for each of ${logs.length} levels`,
      );
    }
    return assessorThreshold(logs, row);
  });
  const found = assessors.flatMap(({ log10 }) => log10 ?? []);
  const n = found.length;
  const mean = n > 0 ? found.reduce((sum, value) => sum + value, 0) / n : null;
  const sd =
    mean !== null && n > 1
      ? Math.sqrt(found.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (n - 1))
      : null;
  const flagged = (flag: AssessorThreshold['flag']) => assessors.filter((one) => one.flag === flag).length;
  const steps = logs.slice(1).map((log, at) => log - (logs[at] ?? NaN));
  return {
    assessors,
    panel: mean === null ? null : 10 ** mean,
    meanLog10: mean,
    sdLog10: sd,
    geometricSd: sd === null ? null : 10 ** sd,
    n,
    belowRange: flagged('below-range'),
    aboveRange: flagged('above-range'),
    missing: flagged('missing'),
    stepFactor: { least: 10 ** Math.min(...steps), most: 10 ** Math.max(...steps) },
    method: 'Best estimate threshold, ascending forced choice',
    assumption:
      'From the first level an assessor perceives, all higher ones are perceived; thresholds are log-normal.',
    source: 'ASTM E679; ISO 13301',
  };
}

function ascendingLogs(concentrations: readonly number[]): number[] {
  if (concentrations.length < 2) {
    throw new StatsInputError('concentrations', concentrations.length, 'two levels or more');
  }
  concentrations.forEach((level, at) => {
    const before = concentrations[at - 1] ?? 0;
    if (!(level > before && Number.isFinite(level))) {
      throw new StatsInputError('concentrations', level, `finite and above ${before}, lowest first`);
    }
  });
  return concentrations.map(Math.log10);
}

function assessorThreshold(logs: readonly number[], row: readonly (boolean | null)[]): AssessorThreshold {
  if (row.includes(null)) return { threshold: null, log10: null, flag: 'missing' };
  const missed = row.lastIndexOf(false);
  const at = (level: number) => logs[level] ?? NaN;
  const top = logs.length - 1;
  if (missed === -1) return estimate(at(0) - (at(1) - at(0)) / 2, 'below-range');
  if (missed === top) return estimate(at(top) + (at(top) - at(top - 1)) / 2, 'above-range');
  return estimate((at(missed) + at(missed + 1)) / 2, 'within-range');
}

function estimate(log10: number, flag: AssessorThreshold['flag']): AssessorThreshold {
  return { threshold: 10 ** log10, log10, flag };
}
