import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { logisticThreshold } from '@oddglass/shared/stats/threshold/logistic-threshold.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const levelsOf = (concentrations: number[], correct: number[], n: number | number[]) =>
  concentrations.map((concentration, at) => ({
    concentration,
    n: typeof n === 'number' ? n : (n[at] ?? 0),
    correct: correct[at] ?? 0,
  }));

// SciPy 1.17.1: likelihood by optimize.minimize (Nelder-Mead, several starts), its score brought to 0 by optimize.root;
// expected information by numpy, Fieller's limits from it with stats.norm.isf.
const FITS = [
  {
    name: '3-AFC, six levels of 30',
    levels: levelsOf([0.5, 1, 2, 4, 8, 16], [11, 13, 16, 22, 27, 29], 30),
    guessRate: 1 / 3,
    level: 0.95,
    b: [-1.99210329142, 4.06232498011],
    threshold: [3.09303627768, 1.88042660259, 4.35487640828],
    errors: [0.663834875527, 0.956824786741, 0.0811073095436],
    logLikelihood: -92.5490732504,
    deviance: 0.09080289520926,
  },
  {
    name: 'duo-trio, unequal numbers',
    levels: levelsOf([3, 9, 27, 81], [6, 11, 15, 20], [12, 14, 18, 20]),
    guessRate: 1 / 2,
    level: 0.9,
    b: [-3.86079996294, 3.62939984363],
    threshold: [11.5812951682, 1.53616125727, 21.6648359742],
    errors: [2.23093235742, 1.65266910063, 0.19677553972],
    logLikelihood: -24.8007407745,
    deviance: 2.1975102006343,
  },
  {
    name: 'no guessing, none to all',
    levels: levelsOf([1, 2, 4, 8], [0, 3, 7, 10], 10),
    guessRate: 0,
    level: 0.95,
    b: [-3.68439606119, 8.15953252556],
    threshold: [2.82842712475, 2.01785586562, 3.96460427937],
    errors: [1.18497318564, 2.37804134793, 0.0614164458572],
    logLikelihood: -13.0016490008,
    deviance: 1.5687259193844,
  },
];

describe('logistic threshold', () => {
  const published = referenceCase<
    { concentration: number[]; correct: number[]; n: number[] },
    { b0: number; b1_per_log10: number; threshold_p_two_thirds: number; loglik_kernel: number }
  >('threshold-logistic-guessing');
  it(named(published), () => {
    const { input, expected, tolerance } = published;
    const ours = logisticThreshold({
      levels: levelsOf(input.concentration, input.correct, input.n),
      guessRate: 1 / 3,
      level: 0.95,
    });
    expectWithin(ours.coefficients?.b0 ?? null, expected.b0, tolerance);
    expectWithin(ours.coefficients?.b1 ?? null, expected.b1_per_log10, tolerance);
    expectWithin(ours.threshold, expected.threshold_p_two_thirds, tolerance);
    expectWithin(ours.logLikelihood, expected.loglik_kernel, 1e-9);
    expect(ours).toMatchObject({ extrapolated: false, undefinedBecause: null, deviance: { df: 4 } });
    expectRelative(ours.proportionAtThreshold, 2 / 3, 1e-15);
  });

  it.each(FITS)('$name (SciPy 1.17.1)', ({ levels, guessRate, level, b, threshold, errors, ...wanted }) => {
    const ours = logisticThreshold({ levels, guessRate, level });
    const near = (value: number | null | undefined, goal: number | undefined) =>
      expectRelative(value ?? null, goal ?? NaN, 1e-8);
    near(ours.coefficients?.b0, b[0]);
    near(ours.coefficients?.b1, b[1]);
    near(ours.threshold, threshold[0]);
    near(ours.lower, threshold[1]);
    near(ours.upper, threshold[2]);
    near(ours.standardErrors?.b0, errors[0]);
    near(ours.standardErrors?.b1, errors[1]);
    near(ours.standardErrors?.log10Threshold, errors[2]);
    near(ours.logLikelihood, wanted.logLikelihood);
    near(ours.deviance?.value, wanted.deviance);
  });

  const edge = (correct: number[], n = 20, guessRate = 1 / 3) =>
    logisticThreshold({ levels: levelsOf([1, 2, 4, 8], correct, n), guessRate, level: 0.95 });

  it('all right, none right, chance only, a clean step: no curve fits best', () => {
    for (const correct of [
      [20, 20, 20, 20],
      [0, 0, 0, 0],
      [6, 6, 5, 6],
      [6, 7, 20, 20],
      [6, 7, 15, 20],
    ]) {
      const ours = edge(correct);
      expect(ours.undefinedBecause, correct.join()).toMatch(/no curve fits best/);
      expect(ours).toMatchObject({ threshold: null, lower: null, upper: null, coefficients: null });
    }
  });

  it('falling or level answers: no threshold', () => {
    for (const correct of [
      [18, 15, 12, 9],
      [14, 14, 14, 14],
    ]) {
      expect(edge(correct).undefinedBecause).toBe('right answers do not rise with concentration');
    }
  });

  it('a slope that could be 0 gives a threshold without an end to its interval', () => {
    const ours = edge([12, 13, 13, 14]);
    expect(ours.threshold).not.toBeNull();
    expect(ours).toMatchObject({ lower: null, upper: null });
  });

  it('flags a threshold beyond the levels tasted', () => {
    expect(edge([16, 17, 18, 19]).extrapolated).toBe(true);
    expect(edge([7, 8, 9, 10]).extrapolated).toBe(true);
  });

  it('one level with answers: nothing to fit', () => {
    const levels = levelsOf([1, 2], [3, 0], [5, 0]);
    for (const some of [levels, []]) {
      expect(logisticThreshold({ levels: some, guessRate: 0.5, level: 0.95 }).undefinedBecause).toBe(
        'fewer than two levels with answers',
      );
    }
  });

  it('does not mind the order of levels, their unit, or a level split in two; and no neighbour is likelier', () => {
    const rising = fc
      .array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 5, maxLength: 5 })
      .map((shares) => shares.sort((a, b) => a - b).map((share) => Math.round(10 + 28 * share)));
    fc.assert(
      fc.property(rising, fc.constantFrom(1 / 2, 1 / 3, 0.1), (correct, guessRate) => {
        const levels = levelsOf([1, 2, 4, 8, 16], correct, 40);
        const ours = logisticThreshold({ levels, guessRate, level: 0.9 });
        const same = (other: typeof levels, unit = 1) => {
          const found = logisticThreshold({ levels: other, guessRate, level: 0.9 });
          expect(found.undefinedBecause).toBe(ours.undefinedBecause);
          // A threshold far outside depends on the last digits of the slope.
          if (ours.threshold === null || (ours.standardErrors?.log10Threshold ?? 9) > 3) return;
          expectRelative(found.threshold, ours.threshold * unit, 1e-6);
        };
        same(levels.toReversed());
        same(
          levels.map((one) => ({ ...one, concentration: one.concentration * 7.3 })),
          7.3,
        );
        same(
          levels.flatMap((one) => {
            const half = Math.min(20, one.correct);
            return [
              { ...one, n: 20, correct: half },
              { ...one, n: 20, correct: one.correct - half },
            ];
          }),
        );
        if (ours.coefficients === null || ours.logLikelihood === null) return;
        const { b0, b1 } = ours.coefficients;
        const likelihood = (a: number, b: number) =>
          levels.reduce((sum, one) => {
            const pc = guessRate + (1 - guessRate) / (1 + Math.exp(-(a + b * Math.log10(one.concentration))));
            return sum + one.correct * Math.log(pc) + (one.n - one.correct) * Math.log(1 - pc);
          }, 0);
        for (const [stepA, stepB] of [
          [1e-3, 0],
          [-1e-3, 0],
          [0, 1e-3],
          [0, -1e-3],
          [1, 1],
          [-2, 3],
          [-30, 60],
        ] as const) {
          expect(likelihood(b0 + stepA, b1 + stepB)).toBeLessThanOrEqual(ours.logLikelihood + 1e-9);
        }
      }),
    );
  });

  it.each([
    ['concentration', { levels: levelsOf([0, 1], [1, 1], 2) }],
    ['n', { levels: levelsOf([1, 2], [1, 1], 2.5) }],
    ['correct', { levels: levelsOf([1, 2], [1, 3], 2) }],
    ['guessRate', { guessRate: 1 }],
    ['guessRate', { guessRate: NaN }],
    ['level', { level: 1 }],
  ])('refuses an impossible %s', (field, bad) => {
    const call = () =>
      logisticThreshold({ levels: levelsOf([1, 2], [1, 2], 4), guessRate: 0.5, level: 0.95, ...bad });
    expect(call).toThrowError(StatsInputError);
    expect(call).toThrowError(expect.objectContaining({ field }));
  });
});
