import { binomialPmf, lowerTail, upperTail } from '@oddglass/shared/stats/binomial.ts';
import {
  chiSquareCritical,
  chiSquareLower,
  chiSquareQuantile,
  chiSquareUpper,
} from '@oddglass/shared/stats/chi-square.ts';
import { criticalNumber } from '@oddglass/shared/stats/discrimination/critical-number.ts';
import { fisherExact } from '@oddglass/shared/stats/discrimination/fisher-exact.ts';
import { powerOfDifference } from '@oddglass/shared/stats/discrimination/power.ts';
import { clopperPearson, wilson } from '@oddglass/shared/stats/discrimination/proportion-interval.ts';
import { psychometric } from '@oddglass/shared/stats/discrimination/psychometric.ts';
import { fCritical, fUpperTail } from '@oddglass/shared/stats/f-ratio.ts';
import { normalCdf, normalPdf, normalQuantile } from '@oddglass/shared/stats/normal.ts';
import { studentQuantile, studentTwoSidedP, studentUpperTail } from '@oddglass/shared/stats/student-t.ts';
import {
  studentizedRangeCritical,
  studentizedRangeUpperTail,
} from '@oddglass/shared/stats/studentized-range.ts';
import { type LiveMethod, Pairing } from './live-r.ts';

/** Exact sums. */
const EXACT = 1e-12;
/** Distributions. */
const CONTINUOUS = 1e-9;

const TESTS = ['2-AFC', '3-AFC', 'triangle', 'duo-trio', 'tetrad', 'two-of-five'] as const;
const GUESSES = [2, 3, 10] as const;

export const distributions: LiveMethod[] = [
  {
    name: 'binomial',
    input: (draw) => {
      const n = draw.whole(1, 500);
      const p = draw.between(0.02, 0.98);
      // Within seven standard deviations of the mean, so that tails from 1 to 1e-12 occur.
      const k = Math.round(n * p + draw.between(-7, 7) * Math.sqrt(n * p * (1 - p)));
      return [Math.min(n, Math.max(0, k)), n, p];
    },
    compare: ([k = 0, n = 0, p = 0], theirs) =>
      new Pairing(theirs)
        .relative(EXACT, 'upper tail', upperTail(k, n, p))
        .relative(EXACT, 'lower tail', lowerTail(k, n, p))
        .relative(EXACT, 'probability', binomialPmf(k, n, p)).all,
  },
  {
    name: 'critical',
    input: (draw) => [draw.whole(1, 400), draw.logBetween(0.0005, 0.3), GUESSES[draw.whole(0, 2)] ?? 3],
    compare: ([n = 0, alpha = 0, guess = 0], theirs) =>
      new Pairing(theirs).absolute(0, 'critical number', criticalNumber({ n, alpha, guessRate: 1 / guess }))
        .all,
  },
  {
    name: 'power',
    input: (draw) => [
      draw.whole(1, 300),
      draw.logBetween(0.001, 0.3),
      draw.between(0.05, 0.9),
      GUESSES[draw.whole(0, 2)] ?? 3,
    ],
    compare: ([n = 0, alpha = 0, pd = 0, guess = 0], theirs) => {
      const ours = powerOfDifference({ n, alpha, pd, guessRate: 1 / guess });
      return new Pairing(theirs)
        .absolute(0, 'critical number', ours.critical)
        .relative(EXACT, 'power', ours.power)
        .relative(EXACT, 'size', ours.size).all;
    },
  },
  {
    name: 'interval',
    input: (draw) => {
      const n = draw.whole(1, 400);
      return [draw.whole(0, n), n, draw.between(0.5, 0.999)];
    },
    compare: ([correct = 0, n = 0, level = 0], theirs) => {
      const exact = clopperPearson({ correct, n, level });
      const score = wilson({ correct, n, level });
      // R's score limits of none and all right are 0 and 1 up to 1e-17.
      return new Pairing(theirs)
        .relative(CONTINUOUS, 'Clopper-Pearson, lower', exact.lower)
        .relative(CONTINUOUS, 'Clopper-Pearson, upper', exact.upper)
        .absolute(EXACT, 'Wilson, lower', score.lower)
        .absolute(EXACT, 'Wilson, upper', score.upper).all;
    },
  },
  {
    name: 'normal',
    input: (draw) => [draw.between(-8, 8), draw.logBetween(1e-12, 1)],
    compare: ([z = 0, p = 0], theirs) =>
      new Pairing(theirs)
        .relative(CONTINUOUS, 'lower tail', normalCdf(z))
        .relative(CONTINUOUS, 'density', normalPdf(z))
        .relative(CONTINUOUS, 'quantile', normalQuantile(p)).all,
  },
  {
    name: 'chi_square',
    input: (draw) => {
      const df = draw.logBetween(0.5, 300);
      return [df * draw.logBetween(0.05, 4), df, draw.between(0.001, 0.999)];
    },
    compare: ([x = 0, df = 0, p = 0], theirs) =>
      new Pairing(theirs)
        .relative(CONTINUOUS, 'upper tail', chiSquareUpper(x, df))
        .relative(CONTINUOUS, 'lower tail', chiSquareLower(x, df))
        .relative(CONTINUOUS, 'quantile', chiSquareQuantile(p, df))
        .relative(CONTINUOUS, 'critical value', chiSquareCritical(p, df)).all,
  },
  {
    name: 'f_ratio',
    input: (draw) => [
      draw.logBetween(0.05, 20),
      draw.logBetween(0.7, 100),
      draw.logBetween(0.7, 300),
      draw.between(0.001, 0.999),
    ],
    compare: ([f = 0, df1 = 0, df2 = 0, tail = 0], theirs) =>
      new Pairing(theirs)
        .relative(CONTINUOUS, 'upper tail', fUpperTail(f, df1, df2))
        .relative(CONTINUOUS, 'critical value', fCritical(tail, df1, df2)).all,
  },
  {
    name: 'student',
    input: (draw) => [draw.between(-8, 8), draw.logBetween(0.7, 500), draw.between(0.001, 0.999)],
    compare: ([t = 0, df = 0, p = 0], theirs) =>
      new Pairing(theirs)
        .relative(CONTINUOUS, 'upper tail', studentUpperTail(t, df))
        .relative(CONTINUOUS, 'two-sided', studentTwoSidedP(t, df))
        .relative(CONTINUOUS, 'quantile', studentQuantile(p, df)).all,
  },
  {
    name: 'studentized_range',
    input: (draw) => [
      draw.between(0.5, 7),
      draw.whole(2, 15),
      draw.logBetween(3, 300),
      draw.logBetween(0.001, 0.5),
    ],
    compare: ([q = 0, k = 0, df = 0, tail = 0], theirs) =>
      new Pairing(theirs)
        .relative(CONTINUOUS, 'upper tail', studentizedRangeUpperTail(q, k, df))
        // R's own function is the less exact: 2.9e-7 off at 3 degrees of freedom, where our tail and R's sum agree to 5e-12.
        .absolute(2e-6, 'ptukey', studentizedRangeUpperTail(q, k, df))
        .relative(CONTINUOUS, 'critical value', studentizedRangeCritical(tail, k, df)).all,
  },
  {
    name: 'psychometric',
    input: (draw) => [draw.between(0, 5)],
    compare: ([d = 0], theirs) => {
      const pairing = new Pairing(theirs);
      for (const test of TESTS) pairing.relative(CONTINUOUS, test, psychometric(test, d));
      return pairing.all;
    },
  },
  {
    name: 'fisher',
    input: (draw) => {
      const [first, second] = [draw.whole(1, 120), draw.whole(1, 120)];
      return [draw.whole(0, first), first, draw.whole(0, second), second];
    },
    compare: ([a = 0, n = 0, b = 0, m = 0], theirs) => {
      const p = (side: 'greater' | 'two-sided') =>
        fisherExact({ first: { yes: a, n }, second: { yes: b, n: m }, side }).p;
      return new Pairing(theirs)
        .relative(EXACT, 'one-sided', p('greater'))
        .relative(EXACT, 'two-sided', p('two-sided')).all;
    },
  },
];
