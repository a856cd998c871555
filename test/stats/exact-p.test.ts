import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { differenceTest, exactP } from '@oddglass/shared/stats/discrimination/exact-p.ts';
import { GUESS_RATE, type TestKind } from '@oddglass/shared/stats/discrimination/guessing.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { upperTails } from './rational.ts';
import { fraction, named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const counts = fc
  .integer({ min: 1, max: 300 })
  .chain((n) => fc.record({ n: fc.constant(n), correct: fc.integer({ min: 0, max: n - 1 }) }));

describe('exact one-sided p', () => {
  const published = referenceCase<{ test: TestKind; correct: number; n: number; p0: string }[], number[]>(
    'pvalue-one-sided',
  );
  it(named(published), () => {
    published.input.forEach(({ test, correct, n, p0 }, index) => {
      expect(GUESS_RATE[test]).toBe(fraction(p0));
      const p = exactP({ correct, n, guessRate: GUESS_RATE[test] });
      expectWithin(p, published.expected[index] ?? NaN, published.tolerance, `${correct} of ${n}, ${test}`);
    });
  });

  it('pvalue-one-sided, 36 of 36: relative to exact arithmetic, the stated tolerance being larger than the value', () => {
    expectRelative(
      exactP({ correct: 36, n: 36, guessRate: 1 / 3 }),
      upperTails(36, 1n, 3n)[36] ?? NaN,
      1e-12,
    );
  });

  it('is 1 for none right and for no answers', () => {
    expect(exactP({ correct: 0, n: 12, guessRate: 1 / 3 })).toBe(1);
    expect(exactP({ correct: 0, n: 0, guessRate: 1 / 3 })).toBe(1);
  });

  it('falls as more are right', () => {
    fc.assert(
      fc.property(counts, fc.constantFrom(...Object.values(GUESS_RATE)), ({ n, correct }, guessRate) => {
        const [less, more] = [correct, correct + 1].map((x) => exactP({ correct: x, n, guessRate }));
        expect(more).toBeLessThanOrEqual(less ?? NaN);
        // Strictly wherever 1 - p can be told from 1.
        if ((less ?? 1) < 0.999) expect(more).toBeLessThan(less ?? NaN);
      }),
    );
  });

  it('says what guessing gives, whether fewer were right, and the smallest p possible', () => {
    const test = differenceTest({ correct: 3, n: 12, guessRate: 1 / 3 });
    expect(test.belowGuessing).toBe(true);
    expect(test.p).toBeGreaterThan(0.5);
    expectRelative(test.smallestP, 3 ** -12, 1e-14);
    expect(differenceTest({ correct: 4, n: 12, guessRate: 1 / 3 }).belowGuessing).toBe(false);
    expect(test.method).toContain('one-sided');
    expect(test.source).toContain('ISO 4120');
    expect(test.assumption).not.toBe('');
  });

  it('refuses more right than answered, and says what is allowed', () => {
    const refused = () => exactP({ correct: 13, n: 12, guessRate: 1 / 3 });
    expect(refused).toThrowError(StatsInputError);
    expect(refused).toThrowError('correct is 13; allowed: a whole number from 0 to n = 12');
    expect(() => exactP({ correct: 1, n: 12, guessRate: 0 })).toThrowError(
      expect.objectContaining({ field: 'guessRate', value: 0 }),
    );
  });
});
