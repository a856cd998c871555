import { severalDPrimes } from '@oddglass/shared/stats/discrimination/several-d-primes.ts';
import { armsByPulls } from '@oddglass/shared/stats/rating/arms-by-pulls.ts';
import { type LiveMethod, Pairing } from './live-r.ts';

const EXACT = 1e-9;
const CONTINUOUS = 1e-9;
const FIT = 1e-6;
const FIT_DF = 1e-4;
/** R's slope of the psychometric function is a difference. */
const SLOPE = 1e-6;

const TESTS = ['triangle', 'duo-trio', '2-AFC'] as const;

/** Several pulls of one trial together. */
export const pulls: LiveMethod[] = [
  {
    name: 'd_primes',
    input: (draw) => {
      const k = draw.whole(2, 3);
      const tables = draw.list(k, () => {
        const n = draw.whole(4, 24);
        return [draw.whole(Math.floor(n / 4), n), n];
      });
      return [draw.whole(1, 3), ...tables.flat()];
    },
    compare: ([test = 1, ...counts], theirs) => {
      const rows = Array.from({ length: counts.length / 2 }, (_, at) => ({
        test: TESTS[test - 1] ?? 'triangle',
        correct: counts[2 * at] ?? 0,
        n: counts[2 * at + 1] ?? 0,
      }));
      const ours = severalDPrimes(rows);
      return new Pairing(theirs)
        .absolute(EXACT, 'likelihood ratio', ours.likelihoodRatio)
        .absolute(CONTINUOUS, 'p by chi-square', ours.pChiSquare)
        .absolute(EXACT, 'exact p', ours.p)
        .absolute(SLOPE, 'weighted mean', ours.weighted?.common ?? null)
        .relative(SLOPE, 'weighted chi-square', ours.weighted?.chiSquare ?? null)
        .absolute(SLOPE, 'p of the weighted chi-square', ours.weighted?.p ?? null).all;
    },
  },
  {
    name: 'arms_by_pulls',
    // Who comes differs from pull to pull; some marks are missing.
    input: (draw) => {
      const [arms, tastings] = [draw.whole(2, 4), draw.whole(2, 4)];
      const effects = draw.list(arms * tastings, () => draw.bell());
      const rows = draw.list(tastings, (pull) =>
        draw.list(draw.whole(6, 12), (person) => {
          const own = draw.bell();
          return draw.list(arms, (arm) => [
            person + 1,
            arm + 1,
            pull + 1,
            Math.round(50 + 12 * own + 6 * (effects[pull * arms + arm] ?? 0) + 7 * draw.bell()),
          ]);
        }),
      );
      const kept = rows.flat(2).filter(([person = 0]) => person <= 2 || draw.unit() > 0.12);
      return [kept.length, ...kept.flat()];
    },
    compare: ([, ...numbers], theirs) => {
      const ratings = Array.from({ length: numbers.length / 4 }, (_, at) => ({
        assessor: `a${100 + (numbers[4 * at] ?? 0)}`,
        arm: `arm ${numbers[4 * at + 1]}`,
        pull: `pull ${numbers[4 * at + 2]}`,
        value: numbers[4 * at + 3] ?? 0,
      }));
      const ours = armsByPulls({ ratings, level: 0.95 });
      // At the edge R's degrees of freedom are those of a model without assessors, as ours are.
      const pairing = new Pairing(theirs)
        .absolute(1e-4, 'assessor variance', ours.variances?.assessor ?? null)
        .relative(FIT, 'residual variance', ours.variances?.residual ?? null)
        .relative(FIT, 'F', ours.change?.f ?? null)
        .absolute(FIT_DF, 'df of F', ours.change?.df2 ?? null)
        .absolute(FIT, 'p', ours.change?.p ?? null);
      for (const { mean } of ours.means) pairing.absolute(FIT * 100, 'mean', mean);
      for (const { standardError } of ours.means) pairing.relative(FIT, 'standard error', standardError);
      for (const { df } of ours.means) pairing.absolute(FIT_DF * 10, 'df', df);
      return pairing.all;
    },
  },
];
