import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { sharePosterior } from '@oddglass/shared/stats/discrimination/bayesian.ts';
import { SOFTWARE, VALUES } from './discrimination-values.ts';
import { expectWithin } from './within.ts';

const flat = { a: 1, b: 1 };

describe('posterior of the share of discriminators', () => {
  it.each(VALUES.posterior)(
    `quadrature with ${SOFTWARE}: $correct of $n, prior Beta($a, $b)`,
    ({ correct, n, guessRate, a, b, matters, exceeds, mean }) => {
      const ours = sharePosterior({ correct, n, guessRate, matters, level: 0.9, prior: { a, b } });
      expectWithin(ours.exceeds, exceeds, 1e-10);
      expectWithin(ours.mean, mean, 1e-10);
    },
  );

  it.each(VALUES.posteriorFlat)(
    `a flat prior cuts a beta distribution off at guessing, ${SOFTWARE}: $correct of $n`,
    ({ correct, n, guessRate, level, ...wanted }) => {
      const ours = sharePosterior({ correct, n, guessRate, matters: 0.2, level, prior: flat });
      for (const key of ['lower', 'median', 'upper'] as const)
        expectWithin(ours[key], wanted[key], 1e-10, key);
    },
  );

  it('without data is the prior, and says what it was', () => {
    const ours = sharePosterior({
      correct: 0,
      n: 0,
      guessRate: 1 / 3,
      matters: 0.3,
      level: 0.9,
      prior: flat,
    });
    expectWithin(ours.exceeds, 0.7, 1e-14);
    expectWithin(ours.exceedsBefore, 0.7, 1e-14);
    expectWithin(ours.mean, 0.5, 1e-14);
    expectWithin(ours.lower, 0.05, 1e-13);
    expect(ours.prior).toEqual(flat);
    expect(ours.method).toContain('Beta(1, 1)');
  });

  it('none right is a beta distribution of its own: guessing cancels', () => {
    // The likelihood is (1 - pd)^12 whatever the guess rate.
    const ours = sharePosterior({
      correct: 0,
      n: 12,
      guessRate: 1 / 3,
      matters: 0.1,
      level: 0.9,
      prior: flat,
    });
    expectWithin(ours.exceeds, 0.9 ** 13, 1e-13);
    expectWithin(ours.median, 1 - 0.5 ** (1 / 13), 1e-12);
  });

  it('holds together: limits give back their tails, more right means more, ends are 1 and 0', () => {
    const counts = fc.integer({ min: 1, max: 80 }).chain((n) =>
      fc.record({
        n: fc.constant(n),
        correct: fc.integer({ min: 0, max: n - 1 }),
        guessRate: fc.constantFrom(1 / 3, 1 / 2, 1 / 10),
        prior: fc.record({ a: fc.constantFrom(0.5, 1, 3), b: fc.constantFrom(0.5, 1, 4) }),
      }),
    );
    fc.assert(
      fc.property(counts, ({ n, correct, guessRate, prior }) => {
        const at = (x: number, matters: number) =>
          sharePosterior({ correct: x, n, guessRate, matters, level: 0.9, prior });
        const ours = at(correct, 0.25);
        expectWithin(at(correct, ours.lower).exceeds, 0.95, 1e-10);
        expectWithin(at(correct, ours.median).exceeds, 0.5, 1e-10);
        expectWithin(at(correct, ours.upper).exceeds, 0.05, 1e-10);
        expect(at(correct + 1, 0.25).exceeds).toBeGreaterThanOrEqual(ours.exceeds - 1e-12);
        expectWithin(at(correct, 0).exceeds, 1, 1e-12);
        expect(at(correct, 1).exceeds).toBe(0);
      }),
      { numRuns: 40 },
    );
  });

  it('refuses a prior without spread and counts that cannot be', () => {
    const input = { correct: 3, n: 5, guessRate: 1 / 3, matters: 0.2, level: 0.9, prior: flat };
    expect(() => sharePosterior({ ...input, prior: { a: 0, b: 1 } })).toThrowError(
      expect.objectContaining({ field: 'prior.a' }),
    );
    expect(() => sharePosterior({ ...input, matters: 1.2 })).toThrowError(/matters/);
    expect(() => sharePosterior({ ...input, correct: 6 })).toThrowError(/correct/);
  });
});
