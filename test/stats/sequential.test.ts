import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  sequentialBoundaries,
  sequentialOperating,
  sequentialStep,
} from '@oddglass/shared/stats/discrimination/sequential.ts';
import { SOFTWARE, VALUES } from './discrimination-values.ts';
import { expectRelative, expectWithin } from './within.ts';

const triangle = { guessRate: 1 / 3, pd: 0.5, alpha: 0.05, beta: 0.1 };

const plans = fc.record({
  guessRate: fc.constantFrom(1 / 3, 1 / 2, 1 / 10),
  pd: fc.constantFrom(0.2, 0.3, 0.5, 0.7),
  alpha: fc.constantFrom(0.01, 0.05, 0.1, 0.2),
  beta: fc.constantFrom(0.01, 0.05, 0.1, 0.2),
});

describe("Wald's sequential test", () => {
  it('triangle, pd 0.5, by hand: p1 = 2/3, odds ratio 4, slope 1/2, lines ln 18 / ln 4 and ln(0.1 / 0.95) / ln 4', () => {
    const ours = sequentialBoundaries(triangle);
    expectRelative(ours.slope, 0.5, 1e-14);
    expectRelative(ours.upper, Math.log(18) / Math.log(4), 1e-14);
    expectRelative(ours.lower, Math.log(0.1 / 0.95) / Math.log(4), 1e-14);
    // 5 of 5 is 5 >= 2.085 + 2.5, 4 of 4 is not 4 >= 4.085; 0 of 4 is 0 <= -1.624 + 2, 0 of 3 is not.
    expect([ours.fewestForDifference, ours.fewestForLess]).toEqual([5, 4]);
    expect(sequentialStep({ plan: triangle, correct: 4, n: 4 })).toMatchObject({
      state: 'continue',
      difference: null,
    });
    expect(sequentialStep({ plan: triangle, correct: 5, n: 5 })).toMatchObject({
      state: 'difference',
      difference: 5,
    });
    expect(sequentialStep({ plan: triangle, correct: 0, n: 3 })).toMatchObject({
      state: 'continue',
      less: null,
    });
    expect(sequentialStep({ plan: triangle, correct: 0, n: 4 })).toMatchObject({ state: 'less', less: 0 });
    expect(sequentialStep({ plan: triangle, correct: 0, n: 0 }).state).toBe('continue');
  });

  it('expected numbers by hand from the same plan (Wald 1947: (L B + (1 - L) A) / E z)', () => {
    const ours = sequentialBoundaries(triangle);
    const [a, b] = [Math.log(18), Math.log(0.1 / 0.95)];
    // z is ln 2 for right and -ln 2 for wrong.
    expectRelative(ours.expectedWithout, (0.95 * b + 0.05 * a) / (-Math.LN2 / 3), 1e-13);
    expectRelative(ours.expectedWith, (0.1 * b + 0.9 * a) / (Math.LN2 / 3), 1e-13);
    expectRelative(ours.expectedLargest, (-a * b) / Math.LN2 ** 2, 1e-13);
  });

  it.each(VALUES.sequential)(
    `every path in fractions, Python beside ${SOFTWARE}: pd $pd, really $truePd, up to $mostAnswers`,
    ({ truePd, mostAnswers, difference, less, undecided, expected, ...plan }) => {
      const ours = sequentialOperating({ plan, pd: truePd, mostAnswers });
      expectWithin(ours.difference, difference, 1e-13);
      expectWithin(ours.less, less, 1e-13);
      expectWithin(ours.undecided, undecided, 1e-13);
      expectWithin(ours.expected, expected, 1e-11);
    },
  );

  it.each(VALUES.wald)(
    `lines of a share of $p0 against $p1, ${SOFTWARE}; the first is the inspection of lots in Wald 1947, chapter 5 (plan and lines from memory)`,
    ({ p0, p1, alpha, beta, slope, upper, lower }) => {
      const ours = sequentialBoundaries({ guessRate: p0, pd: (p1 - p0) / (1 - p0), alpha, beta });
      expectRelative(ours.slope, slope, 1e-13);
      expectRelative(ours.upper, upper, 1e-13);
      expectRelative(ours.lower, lower, 1e-13);
    },
  );

  it('rejection from 2.88 + 0.186 n and acceptance to -2.58 + 0.186 n, as printed of that plan (Wald 1947, from memory)', () => {
    const ours = sequentialBoundaries({ guessRate: 0.1, pd: 0.2 / 0.9, alpha: 0.02, beta: 0.03 });
    expectWithin(ours.slope, 0.186, 5e-4);
    expectWithin(ours.upper, 2.88, 5e-3);
    expectWithin(ours.lower, -2.58, 5e-3);
  });

  it('keeps its risks: alpha / (1 - beta) and beta / (1 - alpha) at the most (Wald 1947), and about Wald’s numbers', () => {
    fc.assert(
      fc.property(plans, (plan) => {
        const lines = sequentialBoundaries(plan);
        const without = sequentialOperating({ plan, pd: 0, mostAnswers: 600 });
        const having = sequentialOperating({ plan, pd: plan.pd, mostAnswers: 600 });
        expect(without.difference).toBeLessThanOrEqual(plan.alpha / (1 - plan.beta) + 1e-9);
        expect(having.less).toBeLessThanOrEqual(plan.beta / (1 - plan.alpha) + 1e-9);
        for (const one of [without, having]) {
          expectWithin(one.difference + one.less + one.undecided, 1, 1e-12);
        }
        // Lines are crossed by up to one answer each, so the exact number lies a little above.
        if (without.undecided < 1e-6) {
          expect(without.expected).toBeGreaterThan(lines.expectedWithout * 0.9);
          expect(without.expected).toBeLessThan(lines.expectedWithout * 1.6 + 6);
        }
      }),
      { numRuns: 30 },
    );
  });

  it('steps agree with the likelihood ratio itself, and the counts with the state', () => {
    fc.assert(
      fc.property(plans, fc.integer({ min: 1, max: 150 }), fc.nat(), (plan, n, seed) => {
        const correct = seed % (n + 1);
        const p1 = plan.guessRate + (1 - plan.guessRate) * plan.pd;
        const ratio =
          correct * Math.log(p1 / plan.guessRate) + (n - correct) * Math.log((1 - p1) / (1 - plan.guessRate));
        const [a, b] = [Math.log((1 - plan.beta) / plan.alpha), Math.log(plan.beta / (1 - plan.alpha))];
        const step = sequentialStep({ plan, correct, n });
        expect(step.state).toBe(ratio >= a - 1e-8 ? 'difference' : ratio <= b + 1e-8 ? 'less' : 'continue');
        expect(step.difference !== null && correct >= step.difference).toBe(step.state === 'difference');
        expect(step.less !== null && correct <= step.less).toBe(step.state === 'less');
      }),
    );
  });

  it('needs fewer answers on average than the fixed plan of 24 that has the same risks about', () => {
    const having = sequentialOperating({ plan: triangle, pd: 0.5, mostAnswers: 400 });
    expect(having.undecided).toBeLessThan(1e-12);
    expect(having.expected).toBeLessThan(24);
  });

  it('everybody discriminates, and plans that cannot be', () => {
    expect(sequentialOperating({ plan: triangle, pd: 1, mostAnswers: 50 })).toMatchObject({
      difference: 1,
      less: 0,
      undecided: 0,
      expected: 5,
    });
    expect(() => sequentialBoundaries({ ...triangle, pd: 0 })).toThrowError(
      expect.objectContaining({ field: 'pd' }),
    );
    expect(() => sequentialBoundaries({ ...triangle, alpha: 0.6, beta: 0.4 })).toThrowError(/alpha \+ beta/);
    expect(() => sequentialOperating({ plan: triangle, pd: 0, mostAnswers: 0 })).toThrowError(/mostAnswers/);
    expect(() => sequentialStep({ plan: triangle, correct: 3, n: 2 })).toThrowError(/correct/);
  });
});
