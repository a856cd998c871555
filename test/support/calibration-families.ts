import type { RandomSource } from '@oddglass/shared/ground/random.ts';
import { intraclassCorrelation } from '@oddglass/shared/stats/agreement/icc.ts';
import { krippendorffInterval } from '@oddglass/shared/stats/agreement/krippendorff-alpha.ts';
import { cochranQ } from '@oddglass/shared/stats/descriptor/cochran-q.ts';
import { friedman } from '@oddglass/shared/stats/ranking/friedman.ts';
import { page } from '@oddglass/shared/stats/ranking/page.ts';
import { balancedAnova } from '@oddglass/shared/stats/rating/anova.ts';
import { compareWithControl } from '@oddglass/shared/stats/rating/compare-with-control.ts';
import { mixedModel } from '@oddglass/shared/stats/rating/mixed-model.ts';
import type { Rating } from '@oddglass/shared/stats/rating/ratings.ts';
import { tukey } from '@oddglass/shared/stats/rating/tukey.ts';
import { logisticThreshold } from '@oddglass/shared/stats/threshold/logistic-threshold.ts';
import { calibrate, holds, type CalibrationRow } from './calibration.ts';
import { count, type Panel } from './percepts.ts';

const ALPHA = 0.05;
const SAMPLES = ['a', 'b', 'c', 'd'];

/** Ranking, rating, descriptors, agreement and thresholds: the families beside discrimination. */
export function familyClaims(panel: Panel, runs: number): CalibrationRow[] {
  return [
    ...ratingClaims(panel, runs),
    ...rankingClaims(panel, runs),
    ...agreementClaims(panel, runs),
    ...thresholdClaims(panel, runs),
  ];
}

/** Assessors with levels and tastes of their own, samples alike: normal, as the models take it. */
function ratings(panel: Panel, assessors: number, replicates: number, kept = 1): Rating[] {
  return Array.from({ length: assessors }, (_, person) => {
    const level = panel.normal();
    return SAMPLES.flatMap((sample) => {
      const taste = 0.5 * panel.normal();
      return Array.from({ length: replicates }, () => ({
        assessor: `assessor ${person}`,
        sample,
        value: level + taste + panel.normal(),
      })).filter(() => panel.uniform() < kept);
    });
  }).flat();
}

function ratingClaims(panel: Panel, runs: number): CalibrationRow[] {
  const setting = '12 assessors x 4 samples x 2, samples alike';
  const holed = `${setting}, one in ten missing`;
  // A fit by likelihood takes milliseconds.
  const dear = Math.ceil(runs / 8);
  const anova = () => balancedAnova({ ratings: ratings(panel, 12, 2) });
  return [
    calibrate({
      kind: 'alarm',
      method: 'ANOVA, F over the interaction',
      setting,
      promised: ALPHA,
      exact: true,
      runs,
      once: () => (anova().sampleTest?.p ?? 1) <= ALPHA,
    }),
    calibrate({
      kind: 'alarm',
      method: 'Tukey pairs, any at all',
      setting,
      promised: ALPHA,
      exact: true,
      runs: dear,
      once: () => {
        const { means, rows } = anova();
        const error = rows.find(({ source }) => source === 'interaction');
        return tukey({ means, msError: error?.ms ?? 1, df: error?.df ?? 1, alpha: ALPHA }).pairs.some(
          ({ significant }) => significant,
        );
      },
    }),
    calibrate({
      kind: 'alarm',
      method: 'mixed model, Satterthwaite F',
      setting: holed,
      promised: ALPHA,
      exact: false,
      runs: dear,
      once: () => {
        const { sampleTest } = mixedModel({
          ratings: ratings(panel, 12, 2, 0.9),
          interaction: true,
          level: 0.95,
        });
        return (sampleTest?.p ?? 1) <= ALPHA;
      },
    }),
    calibrate({
      kind: 'coverage',
      method: 'mixed model, mean of a sample 95 %',
      setting: holed,
      promised: 0.95,
      exact: false,
      runs: dear,
      once: () => {
        const [mean] = mixedModel({
          ratings: ratings(panel, 12, 2, 0.9),
          interaction: true,
          level: 0.95,
        }).means;
        return mean !== undefined && holds(mean, 0);
      },
    }),
    calibrate({
      kind: 'alarm',
      method: 'comparison with one control, any at all',
      setting,
      promised: ALPHA,
      exact: false,
      runs: dear,
      once: () =>
        compareWithControl({
          ratings: ratings(panel, 12, 2),
          control: 'a',
          interaction: true,
          alpha: ALPHA,
        }).comparisons.some(({ significant }) => significant),
    }),
  ];
}

function rankingClaims(panel: Panel, runs: number): CalibrationRow[] {
  const ranks = (n: number) => Array.from({ length: n }, () => SAMPLES.map(() => panel.normal()));
  const choices = (n: number) =>
    Array.from({ length: n }, () => {
      const readiness = panel.beta(1, 2);
      return SAMPLES.map(() => (panel.uniform() < readiness ? 1 : 0));
    });
  return [
    ...[6, 12, 30].map((n) =>
      calibrate({
        kind: 'alarm',
        method: 'Friedman',
        setting: `${n} assessors x 4 samples, alike`,
        promised: ALPHA,
        exact: false,
        runs,
        once: () => friedman({ rows: ranks(n) }).p <= ALPHA,
      }),
    ),
    calibrate({
      kind: 'alarm',
      method: 'Page',
      setting: '12 assessors x 4 samples, alike',
      promised: ALPHA,
      exact: true,
      runs,
      once: () => page({ rows: ranks(12), predicted: [0, 1, 2, 3] }).p <= ALPHA,
    }),
    ...[10, 30].map((n) =>
      calibrate({
        kind: 'alarm',
        method: 'Cochran’s Q',
        setting: `${n} assessors x 4 samples, alike`,
        promised: ALPHA,
        exact: false,
        runs: Math.ceil(runs / 4),
        once: () => cochranQ({ rows: choices(n) }).p <= ALPHA,
      }),
    ),
  ];
}

function agreementClaims(panel: Panel, runs: number): CalibrationRow[] {
  const random: RandomSource = {
    bytes: (length) => Uint8Array.from({ length }, () => Math.floor(panel.uniform() * 256)),
  };
  /** Units by raters: true spread 1, rater level 0.5, noise 1. */
  const table = (units: number, raters: number, raterSpread: number) => {
    const levels = Array.from({ length: raters }, () => raterSpread * panel.normal());
    return Array.from({ length: units }, () => {
      const truth = panel.normal();
      return levels.map((level) => truth + level + panel.normal());
    });
  };
  const absolute = 1 / (1 + 0.25 + 1);
  return [
    calibrate({
      kind: 'coverage',
      method: 'ICC(2,1) 95 %',
      setting: '20 samples x 8 assessors',
      promised: 0.95,
      exact: false,
      runs,
      once: () => {
        const { lower, upper } = intraclassCorrelation({ ratings: table(20, 8, 0.5), level: 0.95 }).forms[
          '2,1'
        ];
        return holds({ lower: lower ?? -1, upper }, absolute);
      },
    }),
    calibrate({
      kind: 'coverage',
      method: 'ICC(3,1) 95 %',
      setting: '20 samples x 8 assessors',
      promised: 0.95,
      exact: true,
      runs,
      once: () => {
        const { lower, upper } = intraclassCorrelation({ ratings: table(20, 8, 0.5), level: 0.95 }).forms[
          '3,1'
        ];
        return holds({ lower: lower ?? -1, upper }, 0.5);
      },
    }),
    ...[10, 40].map((units) =>
      calibrate({
        kind: 'coverage',
        method: 'Krippendorff’s alpha, bootstrap 95 %',
        setting: `${units} samples x 5 assessors, interval scale`,
        promised: 0.95,
        exact: false,
        runs: Math.ceil(runs / 20),
        once: () => {
          const { lower, upper } = krippendorffInterval({
            units: table(units, 5, 0),
            scale: 'interval',
            level: 0.95,
            resamples: 400,
            random,
          });
          return holds({ lower: lower ?? -1, upper }, 0.5);
        },
      }),
    ),
  ];
}

function thresholdClaims(panel: Panel, runs: number): CalibrationRow[] {
  const steps = [0.5, 1, 2, 4, 8, 16];
  const truth = 3;
  const chance = (concentration: number) =>
    1 / 3 + 2 / 3 / (1 + Math.exp(-4 * (Math.log10(concentration) - Math.log10(truth))));
  return [20, 60].map((n) =>
    calibrate({
      kind: 'coverage',
      method: 'logistic threshold 95 %',
      setting: `3-AFC, six steps, ${n} answers each`,
      promised: 0.95,
      exact: false,
      runs: Math.ceil(runs / 4),
      once: () => {
        const levels = steps.map((concentration) => ({
          concentration,
          n,
          correct: count(n, () => panel.uniform() < chance(concentration)),
        }));
        const { lower, upper } = logisticThreshold({ levels, guessRate: 1 / 3, level: 0.95 });
        return holds({ lower: lower ?? 0, upper }, truth);
      },
    }),
  );
}
