import { balancedAnova } from '@oddglass/shared/stats/rating/anova.ts';
import { cumulativeLink } from '@oddglass/shared/stats/rating/cumulative-link.ts';
import { mixedModel } from '@oddglass/shared/stats/rating/mixed-model.ts';
import type { Rating } from '@oddglass/shared/stats/rating/ratings.ts';
import { tukey } from '@oddglass/shared/stats/rating/tukey.ts';
import { logisticThreshold } from '@oddglass/shared/stats/threshold/logistic-threshold.ts';
import { type Draw, type LiveMethod, Pairing } from './live-r.ts';

const CONTINUOUS = 1e-9;
/** Estimates of fitted models, and their degrees of freedom. */
const FIT = 1e-6;
const FIT_DF = 1e-4;
/** Where R does not reach the maximum, in standard errors. */
const LOOSE = 0.05;

/** Ratings of a full table in one line after its size: samples, in them assessors, in them replicates. */
function tableLine(draw: Draw, [n, k, r]: [number, number, number]): number[] {
  const people = draw.list(n, () => 10 * draw.bell());
  const samples = draw.list(k, () => 8 * draw.bell());
  const values = draw.list(n * k * r, (at) => {
    const [sample, person] = [Math.floor(at / (n * r)), Math.floor(at / r) % n];
    return Math.round(10 * (50 + (people[person] ?? 0) + (samples[sample] ?? 0) + 8 * draw.bell())) / 10;
  });
  return [n, k, r, ...values];
}

function tableRatings([n = 0, , r = 0, ...values]: readonly number[]): Rating[] {
  return values.map((value, at) => ({
    assessor: `a${1000 + (Math.floor(at / r) % n)}`,
    sample: `s${1000 + Math.floor(at / (n * r))}`,
    value,
  }));
}

/** Assessor, sample, value; some are missing, none of the first two assessors. */
function tripleLine(draw: Draw, value: (person: number, sample: number) => number): number[] {
  const [n, k] = [draw.whole(8, 14), draw.whole(2, 5)];
  const people = draw.list(n, () => draw.bell());
  const samples = draw.list(k, () => draw.bell());
  const triples = draw.list(n * k, (at) => [Math.floor(at / k), at % k] as const);
  const kept = triples.filter(([person]) => person < 2 || draw.unit() > 0.15);
  return [kept.length, ...kept.flatMap(([i, j]) => [i + 1, j + 1, value(people[i] ?? 0, samples[j] ?? 0)])];
}

function tripleRatings([, ...numbers]: readonly number[]): Rating[] {
  return Array.from({ length: numbers.length / 3 }, (_, at) => ({
    assessor: `a${1000 + (numbers[3 * at] ?? 0)}`,
    sample: `s${1000 + (numbers[3 * at + 1] ?? 0)}`,
    value: numbers[3 * at + 2] ?? 0,
  }));
}

const ordinalLine = (draw: Draw): number[] =>
  tripleLine(draw, (person, sample) =>
    Math.min(5, Math.max(1, Math.round(3 + 0.7 * person + 0.6 * sample + draw.bell()))),
  );

export const fits: LiveMethod[] = [
  {
    name: 'two_way',
    input: (draw) => tableLine(draw, [draw.whole(2, 15), draw.whole(2, 8), draw.whole(1, 3)]),
    compare: (input, theirs) => {
      const { rows, sampleTest } = balancedAnova({ ratings: tableRatings(input) });
      const pairing = new Pairing(theirs);
      for (const { source, ss } of rows) pairing.relative(CONTINUOUS, `SS ${source}`, ss);
      return pairing
        .relative(CONTINUOUS, 'F', sampleTest?.f ?? null)
        .relative(CONTINUOUS, 'p', sampleTest?.p ?? null).all;
    },
  },
  {
    name: 'tukey',
    input: (draw) => tableLine(draw, [draw.whole(4, 15), draw.whole(2, 7), 1]),
    compare: (input, theirs) => {
      const { means, error } = balancedAnova({ ratings: tableRatings(input) });
      const ours = tukey({ means, msError: error?.ms ?? NaN, df: error?.df ?? NaN, alpha: 0.05 });
      const pairing = new Pairing(theirs).relative(CONTINUOUS, 'HSD', ours.hsd);
      // R takes the later sample less the earlier.
      for (const { difference } of ours.pairs) pairing.absolute(CONTINUOUS, 'difference', -difference);
      for (const { p } of ours.pairs) pairing.absolute(1e-11, 'p', p);
      return pairing.all;
    },
  },
  {
    name: 'mixed',
    input: (draw) =>
      tripleLine(draw, (person, sample) => Math.round(50 + 12 * person + 6 * sample + 7 * draw.bell())),
    compare: (input, theirs) => {
      const ours = mixedModel({ ratings: tripleRatings(input), interaction: false, level: 0.95 });
      const first = ours.samples[0] ?? '';
      const pairs = ours.pairs.filter((pair) => pair.first === first);
      // A variance that ours puts at 0 is 1e-13 there; R's optimiser stops up to 6e-7 of the residual variance away.
      const pairing = new Pairing(theirs)
        .absolute(10 * FIT * (theirs[1] ?? NaN), 'variance of assessors', ours.variances?.assessor ?? null)
        .relative(FIT, 'residual variance', ours.variances?.residual ?? null)
        .relative(FIT, 'REML criterion', ours.remlCriterion)
        .relative(FIT, 'F', ours.sampleTest?.f ?? null)
        .absolute(FIT_DF, 'df of F', ours.sampleTest?.df2 ?? null)
        .absolute(FIT, 'p', ours.sampleTest?.p ?? null);
      for (const { difference } of pairs) pairing.absolute(FIT, 'difference', -difference);
      for (const { standardError } of pairs) pairing.relative(FIT, 'standard error', standardError);
      for (const { df } of pairs) pairing.absolute(FIT_DF, 'df', df);
      return pairing.all;
    },
  },
  {
    name: 'cumulative_link',
    input: ordinalLine,
    compare: (input, theirs) => {
      const ours = cumulativeLink({
        ratings: tripleRatings(input),
        scale: { lowest: 1, highest: 5 },
        assessors: 'ignored',
        level: 0.95,
      });
      // An infinite estimate has no place to be compared at: ours says so, R stops somewhere on the way.
      if (ours.reason !== null) return [];
      const pairing = new Pairing(theirs).relative(FIT, 'log-likelihood', ours.logLikelihood);
      const parts = [...ours.thresholds, ...ours.effects.slice(1)];
      for (const { estimate } of parts) pairing.absolute(FIT, 'estimate', estimate);
      for (const { standardError } of parts) pairing.relative(FIT, 'standard error', standardError);
      return pairing.all;
    },
  },
  {
    name: 'cumulative_link_random',
    input: ordinalLine,
    compare: (input, theirs) => {
      const ours = cumulativeLink({
        ratings: tripleRatings(input),
        scale: { lowest: 1, highest: 5 },
        assessors: 'random',
        level: 0.95,
      });
      if (ours.reason !== null) return [];
      // R is the less exact: clmm's gradient is made of differences and stops where the likelihood is flat, up to 6e-7 of it
      // below ours and up to 2e-2 away in an estimate (1,000 inputs); once its log-likelihood was 1.3e-7 too high, and the
      // gradient of the same likelihood in plain R 6e-9 at our estimates, 3e-5 at its own. Ours may not be the lower one.
      const lower = Math.max(0, (theirs[0] ?? NaN) - (ours.logLikelihood ?? NaN));
      const pairing = new Pairing(theirs).relative(1e-5, 'log-likelihood', ours.logLikelihood);
      pairing.all.push({ what: 'short of R', ours: lower, theirs: 0, tolerance: 1e-6, relative: false });
      // A likelihood short by d leaves an estimate within sqrt(2 d) of its standard errors.
      for (const { estimate, standardError } of [...ours.thresholds, ...ours.effects.slice(1)]) {
        pairing.absolute(LOOSE * standardError, 'estimate', estimate);
      }
      return pairing.absolute(5 * LOOSE, 'standard deviation of assessors', ours.assessorSd).all;
    },
  },
  {
    name: 'threshold',
    input: (draw) => {
      const levels = draw.whole(4, 8);
      const [middle, slope] = [draw.between(-0.3, 0.9), draw.between(2, 6)];
      const guess = draw.whole(2, 3);
      const steps = draw.list(levels, (at) => 2 ** (at - 1));
      return [
        guess,
        ...steps.flatMap((concentration) => {
          const n = draw.whole(20, 60);
          const detect = 1 / (1 + Math.exp(-slope * (Math.log10(concentration) - middle)));
          const right = draw.list(n, () => draw.unit() < 1 / guess + (1 - 1 / guess) * detect);
          return [concentration, n, right.filter(Boolean).length];
        }),
      ];
    },
    compare: ([guess = 0, ...numbers], theirs) => {
      const levels = Array.from({ length: numbers.length / 3 }, (_, at) => ({
        concentration: numbers[3 * at] ?? NaN,
        n: numbers[3 * at + 1] ?? NaN,
        correct: numbers[3 * at + 2] ?? NaN,
      }));
      const ours = logisticThreshold({ levels, guessRate: 1 / guess, level: 0.95 });
      if (ours.undefinedBecause !== null) return [];
      return new Pairing(theirs)
        .relative(FIT, 'b0', ours.coefficients?.b0 ?? null)
        .relative(FIT, 'b1', ours.coefficients?.b1 ?? null)
        .relative(FIT, 'standard error of b0', ours.standardErrors?.b0 ?? null)
        .relative(FIT, 'standard error of b1', ours.standardErrors?.b1 ?? null)
        .relative(FIT, 'threshold', ours.threshold)
        .absolute(FIT, 'deviance', ours.deviance?.value ?? null).all;
    },
  },
];
