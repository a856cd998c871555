import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { GUESS_RATE } from '@oddglass/shared/stats/discrimination/guessing.ts';
import { lackOfFit, likelihoodInterval } from '@oddglass/shared/stats/discrimination/likelihood-interval.ts';
import { psychometric, type ThurstonianTest } from '@oddglass/shared/stats/discrimination/psychometric.ts';
import { SOFTWARE, VALUES } from './discrimination-values.ts';
import { expectRelative, expectWithin } from './within.ts';

const TESTS: ThurstonianTest[] = ['2-AFC', '3-AFC', 'duo-trio', 'triangle', 'tetrad', 'two-of-five'];

describe('likelihood interval of d-prime', () => {
  it.each(VALUES.likelihood)(
    `${SOFTWARE}: $test $correct of $n, level $level`,
    ({ test, correct, n, level, lower, upper }) => {
      const ours = likelihoodInterval({ test, correct, n, level });
      expectWithin(ours.lower, lower, 1e-9);
      if (upper === null) expect(ours.upper).toBeNull();
      else expectWithin(ours.upper, upper, 1e-9);
    },
  );

  it('at 14.65 % of the largest likelihood lies the 95 % interval (Pawitan 2001, from memory)', () => {
    const { relativeLikelihood } = likelihoodInterval({ test: 'triangle', correct: 5, n: 9, level: 0.95 });
    expectWithin(relativeLikelihood, 0.1465, 5e-5);
  });

  const counts = fc.integer({ min: 1, max: 120 }).chain((n) =>
    fc.record({
      n: fc.constant(n),
      correct: fc.integer({ min: 0, max: n }),
      test: fc.constantFrom(...TESTS),
      level: fc.constantFrom(0.8, 0.9, 0.95),
    }),
  );
  it('limits lie where the likelihood says, hold the estimate, and grow with the level', () => {
    fc.assert(
      fc.property(counts, ({ n, correct, test, level }) => {
        const ours = likelihoodInterval({ test, correct, n, level });
        const best = Math.max(GUESS_RATE[test], correct / n);
        const top = lackOfFit(correct, n, best);
        const goal = -Math.log(ours.relativeLikelihood);
        for (const limit of [ours.lower, ours.upper]) {
          if (limit === null || limit === 0) continue;
          expectWithin(lackOfFit(correct, n, psychometric(test, limit)) - top, goal, 1e-8);
        }
        if (ours.lower === 0) expect(lackOfFit(correct, n, GUESS_RATE[test]) - top).toBeLessThan(goal + 1e-9);
        expect(ours.lower).toBeLessThanOrEqual(ours.estimate ?? Infinity);
        expect(ours.upper ?? Infinity).toBeGreaterThan(ours.estimate ?? 0);
        const wider = likelihoodInterval({ test, correct, n, level: 0.99 });
        expect(wider.lower).toBeLessThanOrEqual(ours.lower);
        expect(wider.upper ?? Infinity).toBeGreaterThanOrEqual(ours.upper ?? Infinity);
      }),
      { numRuns: 60 },
    );
  });

  it('none right, all right, no data', () => {
    const none = likelihoodInterval({ test: 'triangle', correct: 0, n: 12, level: 0.95 });
    expect(none).toMatchObject({ estimate: 0, lower: 0 });
    expect(none.upper).toBeGreaterThan(0);
    expect(likelihoodInterval({ test: 'tetrad', correct: 12, n: 12, level: 0.95 })).toMatchObject({
      estimate: null,
      upper: null,
    });
    expect(likelihoodInterval({ test: 'tetrad', correct: 0, n: 0, level: 0.95 })).toMatchObject({
      estimate: null,
      lower: 0,
      upper: null,
    });
    expectRelative(lackOfFit(12, 12, 0.5), 12 * Math.LN2, 1e-14);
  });

  it('refuses a level of 1', () => {
    expect(() => likelihoodInterval({ test: 'tetrad', correct: 1, n: 2, level: 1 })).toThrowError(
      expect.objectContaining({ field: 'level' }),
    );
  });
});
