import type { AgreementMeasure } from '../../contracts/result-agreement.ts';
import type { RandomSource } from '../../ground/random.ts';
import { intraclassCorrelation } from '../../stats/agreement/icc.ts';
import { krippendorffAlpha, krippendorffInterval } from '../../stats/agreement/krippendorff-alpha.ts';
import { holm } from '../../stats/multiplicity.ts';
import { ROUTE_WORDS } from '../../stats/ranking/friedman.ts';
import { kendallW } from '../../stats/ranking/kendall-w.ts';
import { meanRows, type Subject } from './marks.ts';
import { inWords, plain } from '../../ground/phrases.ts';

export const AGREEMENT_LEVEL = 0.95;
const MAX_RESAMPLES = 1000;
const MIN_RESAMPLES = 200;
const PERMUTATIONS = 1999;
/** The panel has a common order when it could hardly come by chance (Kendall's W, Holm's p). */
const ORDER_RISK = 0.05;
/** Marks a part may go through in resampling, so that a large panel does not wait for its result. */
const MARKS_RESAMPLED = 2_400_000;
/** From here on the chi-square approximation of W's p is as good as random orders: 30 assessors, common practice, no source. */
const MANY_ASSESSORS = 30;

/** How many resamples a part of so many marks can afford. */
export function resamplesFor(marks: number): number {
  const affordable = Math.floor(MARKS_RESAMPLED / Math.max(1, marks) / 100) * 100;
  return Math.min(MAX_RESAMPLES, Math.max(MIN_RESAMPLES, affordable));
}

/**
 * Alpha, ICC and W of one subject, over each person's means of the samples; `resamples` for the interval of alpha.
 * W's p stands unadjusted here (`withAdjusted`).
 */
export function measureOf(subject: Subject, resamples: number, random: RandomSource): AgreementMeasure {
  const { assessors, samples, rows } = meanRows(subject.ratings);
  const units = samples.map((_, column) => rows.map((row) => row[column] ?? null));
  const { alpha } = krippendorffAlpha({ units, scale: subject.distance });
  const limits =
    alpha === null
      ? null
      : krippendorffInterval({
          units,
          scale: subject.distance,
          level: AGREEMENT_LEVEL,
          resamples,
          random,
        });
  const whole = rows.every((row) => row.every((value) => value !== null));
  const enough = samples.length >= 2 && assessors.length >= 2;
  const forms =
    whole && enough && subject.scale !== null
      ? intraclassCorrelation({ ratings: units as number[][], level: AGREEMENT_LEVEL }).forms
      : null;
  const w = !enough
    ? null
    : assessors.length < MANY_ASSESSORS
      ? kendallW({ rows, random, permutations: PERMUTATIONS })
      : kendallW({ rows });
  const measure: Omit<AgreementMeasure, 'reading'> = {
    about: subject.about,
    samples: samples.length,
    assessors: assessors.length,
    alpha: {
      estimate: alpha,
      lower: limits?.lower ?? null,
      upper: limits?.upper ?? null,
      level: AGREEMENT_LEVEL,
      scale: subject.distance,
      resamples,
    },
    icc: forms && { level: AGREEMENT_LEVEL, single: forms['2,1'], mean: forms['2,k'] },
    concordance: w && {
      w: w.w,
      p: w.p,
      adjusted: w.p,
      common: false,
      assessors: w.assessors,
      route: ROUTE_WORDS[w.route],
    },
    ac1: null,
  };
  return { ...measure, reading: readingOf(measure) };
}

/** Could W be computed? */
export const hasOrder = ({ concordance }: AgreementMeasure): boolean => typeof concordance?.w === 'number';

/**
 * The measures of one part with the p of W adjusted for how many there are (Holm), and whether there is a common order: where
 * the finding of the part shows a difference, and W is beyond chance too.
 */
export function withAdjusted(
  measures: readonly AgreementMeasure[],
  shows: (about: string) => boolean,
): AgreementMeasure[] {
  const tested = measures.filter(hasOrder);
  const { adjusted } = holm({ p: tested.map(({ concordance }) => concordance?.p ?? 1) });
  return measures.map((measure) => {
    const place = tested.indexOf(measure);
    const p = place < 0 ? null : (adjusted[place] ?? null);
    return measure.concordance === null || p === null
      ? measure
      : {
          ...measure,
          concordance: {
            ...measure.concordance,
            adjusted: p,
            common: shows(measure.about) && p <= ORDER_RISK,
          },
        };
  });
}

function readingOf({
  about,
  samples,
  assessors,
  alpha,
  icc,
  concordance,
}: Omit<AgreementMeasure, 'reading'>): string {
  if (assessors < 2 || samples < 2) {
    return `Nothing can be said of agreement on ${about}: it takes two people and two samples at least.`;
  }
  if (alpha.estimate === null)
    return `All marks of ${about} are the same: agreement cannot be told from habit.`;
  const parts = [`Krippendorff’s alpha is ${plain(alpha.estimate, 2)} (1 is full agreement, 0 as by chance)`];
  if (typeof concordance?.w === 'number') parts.push(`the orders agree with W ${plain(concordance.w, 2)}`);
  if (typeof icc?.mean.estimate === 'number') {
    parts.push(
      icc.mean.estimate > 0
        ? `the mean of these ${inWords(assessors)} would come out again with a correlation of ${plain(icc.mean.estimate, 2)}`
        : 'the samples do not stand out from the scatter, so that a mean of the panel would not come out again',
    );
  }
  const missing =
    icc === null && concordance && concordance.assessors < assessors
      ? ' Some marks are missing: alpha uses what there is.'
      : '';
  return `On ${about} ${parts.join('; ')}.${missing}`;
}
