import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clopperPearson } from '@oddglass/shared/stats/discrimination/proportion-interval.ts';
import { momentGamma, replicatedProportion } from '@oddglass/shared/stats/discrimination/replicated.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const panel = (correct: number[], answers: number) => correct.map((right) => ({ answers, correct: right }));

describe('replicated triangles', () => {
  const data = referenceCase<
    { correct_per_assessor: number[]; replicates: number },
    { total_correct: number; n: number; pc: number; gamma_moment: number }
  >('betabinomial-triangle-15x4');
  const clusters = panel(data.input.correct_per_assessor, data.input.replicates);

  it(`${named(data)}: counts and gamma by moments`, () => {
    const ours = replicatedProportion({ clusters, level: 0.9 });
    expect(ours.correct).toBe(data.expected.total_correct);
    expect(ours.n).toBe(data.expected.n);
    expectWithin(ours.estimate, data.expected.pc, data.tolerance);
    // Eleven digits are printed; the stated tolerance is for the likelihood fits.
    expectWithin(ours.gamma, data.expected.gamma_moment, 1e-11);
  });

  it('design effect is 1 + (m - 1) gamma for equal numbers of answers (Ennis & Bi 1998)', () => {
    const { designEffect, effectiveN, n, gamma } = replicatedProportion({ clusters, level: 0.9 });
    expectRelative(designEffect, 1 + 3 * (gamma ?? NaN), 1e-13);
    expectRelative(effectiveN, n / (designEffect ?? NaN), 1e-13);
  });

  it('the interval of 15 x 4 (SciPy 1.17.1, stats.beta.ppf and stats.t.ppf)', () => {
    const { lower, upper, intervalN } = replicatedProportion({ clusters, level: 0.9 });
    expectRelative(intervalN, 26.30092513588, 1e-10);
    expectRelative(lower, 0.4217629889365, 1e-10);
    expectRelative(upper, 0.7604284168481, 1e-10);
  });

  const edge = referenceCase<
    { correct_per_assessor: number[]; replicates: number }[],
    { gamma?: number | null; gamma_approx?: number }[]
  >('betabinomial-edge');
  it(named(edge), () => {
    edge.input.forEach(({ correct_per_assessor, replicates }, index) => {
      const wanted = edge.expected[index];
      expect(momentGamma(panel(correct_per_assessor, replicates))).toBe(
        wanted?.gamma_approx ?? wanted?.gamma,
      );
    });
  });

  it('all or nothing: an assessor counts as one answer, and the interval is that of six people', () => {
    const ours = replicatedProportion({ clusters: panel([4, 4, 0, 0, 4, 0], 4), level: 0.95 });
    expectRelative(ours.intervalN, 6, 1e-14);
    const six = clopperPearson({ correct: 3, n: 6, level: 0.95 });
    expectRelative(ours.lower, six.lower, 1e-11);
    expectRelative(ours.upper, six.upper, 1e-11);
  });

  it('all correct: nothing to estimate variation from, so three people count as three answers', () => {
    const ours = replicatedProportion({ clusters: panel([4, 4, 4], 4), level: 0.95 });
    expect(ours).toMatchObject({ designEffect: null, effectiveN: null, gamma: null, upper: 1 });
    expectRelative(ours.lower, 0.025 ** (1 / 3), 1e-11);
  });

  it('one assessor, however many trays, counts as one answer', () => {
    const ours = replicatedProportion({ clusters: [{ answers: 20, correct: 10 }], level: 0.9 });
    expect(ours.designEffect).toBeNull();
    expectRelative(ours.intervalN, 1, 1e-14);
    expect(ours.upper - ours.lower).toBeGreaterThan(0.9);
  });

  it('an even spread by luck never makes replicates count in full', () => {
    const ours = replicatedProportion({ clusters: panel([2, 2, 2], 4), level: 0.9 });
    expect(ours.designEffect).toBe(1);
    expect(ours.intervalN).toBeLessThan(12);
  });

  it('no data: the whole range', () => {
    for (const clusters of [[], [{ answers: 0, correct: 0 }]]) {
      expect(replicatedProportion({ clusters, level: 0.9 })).toMatchObject({
        estimate: null,
        lower: 0,
        upper: 1,
        n: 0,
        assessors: 0,
        designEffect: null,
      });
    }
  });

  it('works for unequal numbers of answers, where gamma has no moment form', () => {
    const uneven = [
      { answers: 4, correct: 4 },
      { answers: 1, correct: 0 },
      { answers: 3, correct: 1 },
      { answers: 2, correct: 2 },
    ];
    const ours = replicatedProportion({ clusters: uneven, level: 0.9 });
    expect(ours.gamma).toBeNull();
    expect(ours.estimate).toBe(0.7);
    // By hand: sum (x - 0.7 m)^2 = 1.44 + 0.49 + 1.21 + 0.36 = 3.5; var = 4/3 x 3.5 / 100; 0.21 / var = 4.5.
    expectRelative(ours.effectiveN, 4.5, 1e-13);
    expectRelative(ours.designEffect, 10 / 4.5, 1e-13);
    // 100 / (16 + 1 + 9 + 4) = 3.333: what four people who never waver say.
    expect(ours.intervalN).toBeGreaterThanOrEqual(100 / 30);
  });

  it('refuses more right than answered and fractions', () => {
    expect(() => replicatedProportion({ clusters: [{ answers: 2, correct: 3 }], level: 0.9 })).toThrowError(
      StatsInputError,
    );
    expect(() => replicatedProportion({ clusters: [{ answers: 1.5, correct: 1 }], level: 0.9 })).toThrowError(
      expect.objectContaining({ field: 'answers' }),
    );
    expect(() => replicatedProportion({ clusters, level: 1 })).toThrowError(
      expect.objectContaining({ field: 'level' }),
    );
  });
});

describe('replicated properties', () => {
  it('with one answer each the interval is Clopper-Pearson', () => {
    fc.assert(
      fc.property(fc.array(fc.boolean(), { minLength: 1, maxLength: 60 }), (answers) => {
        const people = answers.map((right) => ({ answers: 1, correct: Number(right) }));
        const ours = replicatedProportion({ clusters: people, level: 0.95 });
        const n = answers.length;
        const exact = clopperPearson({ correct: ours.correct, n, level: 0.95 });
        expectRelative(ours.lower, exact.lower, 1e-10);
        expectRelative(ours.upper, exact.upper, 1e-10);
        expectRelative(ours.intervalN, n, 1e-12);
      }),
    );
  });

  it('holds the estimate, is never narrower than that of independent answers, and does not mind the order', () => {
    const people = fc.array(
      fc
        .integer({ min: 1, max: 6 })
        .chain((answers) =>
          fc.record({ answers: fc.constant(answers), correct: fc.integer({ min: 0, max: answers }) }),
        ),
      { minLength: 1, maxLength: 30 },
    );
    fc.assert(
      fc.property(people, (clusters) => {
        const ours = replicatedProportion({ clusters, level: 0.9 });
        const exact = clopperPearson({ correct: ours.correct, n: ours.n, level: 0.9 });
        expect(ours.lower).toBeLessThanOrEqual(ours.estimate ?? NaN);
        expect(ours.upper).toBeGreaterThanOrEqual(ours.estimate ?? NaN);
        expect(ours.lower).toBeLessThanOrEqual(exact.lower + 1e-12);
        expect(ours.upper).toBeGreaterThanOrEqual(exact.upper - 1e-12);
        const turned = replicatedProportion({ clusters: clusters.toReversed(), level: 0.9 });
        expectWithin(turned.lower, ours.lower, 1e-12);
      }),
    );
  });
});
