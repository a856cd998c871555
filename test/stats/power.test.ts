import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { GUESS_RATE, type TestKind } from '@oddglass/shared/stats/discrimination/guessing.ts';
import { powerOfDifference, smallestForDifference } from '@oddglass/shared/stats/discrimination/power.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { upperTails } from './rational.ts';
import { named, referenceCase, referenceIds } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

describe('power of the test of difference', () => {
  const cases = referenceIds('power-').map((id) =>
    referenceCase<
      { test: TestKind; n: number; alpha: number; pd: number },
      { critical: number; actual_alpha: number; power: number; beta: number }
    >(id),
  );

  it('has seven reference cases to meet', () => {
    expect(cases).toHaveLength(7);
  });

  it.each(cases.map((one) => [named(one), one] as const))('%s', (_, { input, expected, tolerance }) => {
    const { test, ...plan } = input;
    const { power, critical, size } = powerOfDifference({ ...plan, guessRate: GUESS_RATE[test] });
    expect(critical).toBe(expected.critical);
    expectWithin(size, expected.actual_alpha, tolerance);
    expectWithin(power, expected.power, tolerance);
    expectWithin(1 - power, expected.beta, tolerance);
  });

  it('equals exact arithmetic to 1e-12 (pd = 0.3 is pc = 8/15 in a triangle)', () => {
    for (const n of [12, 24, 36, 60, 120, 400]) {
      const { power, critical } = powerOfDifference({ n, alpha: 0.05, pd: 0.3, guessRate: 1 / 3 });
      expectRelative(power, upperTails(n, 8n, 15n)[critical ?? NaN] ?? NaN, 1e-12, `n = ${n}`);
    }
  });

  it('is 0 where no count is significant, and at most alpha for pd = 0', () => {
    const none = powerOfDifference({ n: 2, alpha: 0.05, pd: 0.5, guessRate: 1 / 3 });
    expect(none).toMatchObject({ power: 0, critical: null, size: 0 });
    expect(powerOfDifference({ n: 0, alpha: 0.05, pd: 0.5, guessRate: 1 / 3 }).power).toBe(0);
    const guessers = powerOfDifference({ n: 24, alpha: 0.05, pd: 0, guessRate: 1 / 3 });
    expect(guessers.power).toBe(guessers.size);
    expect(powerOfDifference({ n: 24, alpha: 0.05, pd: 1, guessRate: 1 / 3 }).power).toBe(1);
  });

  it('grows with the share that discriminates', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 3, max: 200 }),
        fc.double({ min: 0, max: 0.7, noNaN: true }),
        fc.double({ min: 0.01, max: 0.3, noNaN: true }),
        (n, pd, more) => {
          const plan = { n, alpha: 0.05, guessRate: 1 / 3 };
          const less = powerOfDifference({ ...plan, pd });
          const larger = powerOfDifference({ ...plan, pd: pd + more });
          expect(less.size).toBeLessThanOrEqual(0.05 * (1 + 1e-12));
          // Near 1 both round to 1, within an ulp or two.
          expect(larger.power).toBeGreaterThanOrEqual(less.power - 1e-14);
          if (less.power < 0.999) expect(larger.power).toBeGreaterThan(less.power);
        },
      ),
    );
  });
});

describe('smallest numbers of assessors', () => {
  it.each(
    (
      [
        ['min-n-triangle-grid', 1 / 3],
        ['min-n-duo-trio-grid', 1 / 2],
      ] as const
    ).map(([id, guessRate]) => {
      const one = referenceCase<
        { alpha_rows: number[]; beta_cols: number[]; pd: number[] },
        Record<string, { first: number[][]; stable: number[][] }>
      >(id);
      return [named(one), guessRate, one] as const;
    }),
  )('%s', (_, guessRate, { input, expected }) => {
    for (const pd of input.pd) {
      input.alpha_rows.forEach((alpha, row) => {
        input.beta_cols.forEach((beta, column) => {
          const ours = smallestForDifference({ alpha, beta, pd, guessRate });
          const { first, stable } = expected[String(pd)] ?? { first: [], stable: [] };
          expect(ours, `pd ${pd}, alpha ${alpha}, beta ${beta}`).toEqual({
            first: first[row]?.[column],
            stable: stable[row]?.[column],
          });
        });
      });
    }
  });

  it('gives up beyond 2,000 answers, and for a difference nobody tastes', () => {
    expect(smallestForDifference({ alpha: 0.001, beta: 0.001, pd: 0.09, guessRate: 1 / 3 })).toBeNull();
    expect(smallestForDifference({ alpha: 0.05, beta: 0.2, pd: 0, guessRate: 1 / 3 })).toBeNull();
  });

  it('refuses risks and shares that are none', () => {
    const plan = { alpha: 0.05, beta: 0.2, pd: 0.3, guessRate: 1 / 3 };
    for (const [field, value] of [
      ['alpha', 0],
      ['beta', 1],
      ['pd', 1.2],
      ['guessRate', NaN],
    ] as const) {
      const refused = () => smallestForDifference({ ...plan, [field]: value });
      expect(refused).toThrowError(StatsInputError);
      expect(refused).toThrowError(expect.objectContaining({ field, value }));
    }
  });
});
