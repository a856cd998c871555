import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { dunnettCritical, dunnettUpperTail } from '@oddglass/shared/stats/dunnett.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { normalCdf } from '@oddglass/shared/stats/normal.ts';
import { studentTwoSidedP } from '@oddglass/shared/stats/student-t.ts';
import { expectRelative, expectWithin } from './within.ts';

const HALF = Math.SQRT1_2;
const equal = (k: number) => Array.from({ length: k }, () => HALF);

// Dunnett 1964, Biometrics 20:482, two-sided 5% points, two decimals; from memory.
const TABLE = [
  { df: 10, points: [2.23, 2.57, 2.76, 2.89] },
  { df: 20, points: [2.09, 2.38, 2.54, 2.65] },
  { df: Infinity, points: [1.96, 2.21, 2.35, 2.44, 2.51] },
];

// mpmath 1.3.0 at 30 digits for known spread; NumPy 2.4 with SciPy 1.17.1 (Gauss-Legendre, 400 x 600 nodes) else.
const ROWS = [
  { t: 2.5, loadings: equal(3), df: Infinity, tail: 0.0335829188819404 },
  { t: 6, loadings: equal(5), df: Infinity, tail: 9.85818312221787e-9 },
  { t: 3, loadings: [0.3, 0.6, 0.95], df: Infinity, tail: 0.00780204384722186 },
  { t: 2.5, loadings: equal(3), df: 20, tail: 0.05430780589584561 },
  { t: 4, loadings: equal(4), df: 6.5, tail: 0.018401992957431196 },
  { t: 3, loadings: [0.3, 0.6, 0.95], df: 9, tail: 0.0388453058389885 },
  { t: 1, loadings: equal(2), df: 40, tail: 0.5079965151260072 },
];

describe("Dunnett's distribution", () => {
  it.each(TABLE)(
    'critical values of the printed table, df $df (Dunnett 1964; from memory)',
    ({ df, points }) => {
      points.forEach((point, index) =>
        expectWithin(dunnettCritical(0.05, equal(index + 1), df), point, 0.0051),
      );
    },
  );

  it.each(ROWS)('P(max |T| > $t), df $df, loadings $loadings', ({ t, loadings, df, tail }) => {
    expectRelative(dunnettUpperTail(t, loadings, df), tail, 1e-9);
  });

  it('of one comparison is the t test; of independent normal ones a product', () => {
    expect(dunnettUpperTail(2.2, [HALF], 7)).toBe(studentTwoSidedP(2.2, 7));
    const two = 2 * normalCdf(-2.2);
    expectRelative(dunnettUpperTail(2.2, [0, 0, 0], Infinity), 1 - (1 - two) ** 3, 1e-12);
  });

  it('lies between one t test and Bonferroni, does not mind order, and its critical value gives back its tail', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 0.97, noNaN: true }), { minLength: 2, maxLength: 6 }),
        fc.double({ min: 1, max: 300, noNaN: true }),
        fc.double({ min: -8, max: -0.1, noNaN: true }),
        (loadings, df, exponent) => {
          const tail = 10 ** exponent;
          const t = dunnettCritical(tail, loadings, df);
          expectRelative(dunnettUpperTail(t, loadings, df), tail, 1e-8);
          const alone = studentTwoSidedP(t, df);
          expect(alone).toBeLessThan(tail * (1 + 1e-9));
          expect(alone * loadings.length).toBeGreaterThan(tail * (1 - 1e-9));
          expectRelative(dunnettUpperTail(t, loadings.toReversed(), df), tail, 1e-8);
        },
      ),
      { numRuns: 25 },
    );
  });

  it('knows the ends and refuses what is none', () => {
    expect([dunnettUpperTail(0, equal(3), 5), dunnettUpperTail(Infinity, equal(3), 5)]).toEqual([1, 0]);
    expect(() => dunnettUpperTail(-1, equal(3), 5)).toThrowError(StatsInputError);
    expect(() => dunnettUpperTail(1, [], 5)).toThrowError(
      expect.objectContaining({ field: 'loadings.length' }),
    );
    expect(() => dunnettUpperTail(1, [0.5, 1], 5)).toThrowError(
      expect.objectContaining({ field: 'loadings[1]' }),
    );
    expect(() => dunnettCritical(0.05, equal(2), 0)).toThrowError(expect.objectContaining({ field: 'df' }));
  });
});
