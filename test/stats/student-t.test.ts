import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { studentTwoSided } from '@oddglass/shared/stats/jstat.ts';
import { normalCdf, normalQuantile } from '@oddglass/shared/stats/normal.ts';
import {
  studentPdf,
  studentQuantile,
  studentTwoSidedP,
  studentUpperTail,
} from '@oddglass/shared/stats/student-t.ts';
import { expectRelative, expectWithin } from './within.ts';

// mpmath 1.3.0, betainc at 40 digits.
const ROWS = [
  { t: 1e-9, df: 3, tail: 0.4999999996324474 },
  { t: 0.3, df: 7.5, tail: 0.386161329284389 },
  { t: 2.5, df: 1, tail: 0.1211189415908434 },
  { t: 2, df: 50.2419, tail: 0.02546031591671592 },
  { t: 6, df: 2.5, tail: 0.00764086494276145 },
  { t: 40, df: 30, tail: 6.863022597203201e-28 },
  { t: 12, df: 1e6, tail: 1.785842562382545e-33 },
  { t: 1e8, df: 1.3, tail: 1.380575199717894e-11 },
  { t: 0.01, df: 0.4, tail: 0.4974778527740373 },
];

const freedom = fc.double({ min: 0.5, max: 1e5, noNaN: true });

describe("Student's t", () => {
  it.each(ROWS)('P(T > $t), df $df (mpmath at 40 digits)', ({ t, df, tail }) => {
    expectRelative(studentUpperTail(t, df), tail, 1e-10);
    expectRelative(studentUpperTail(-t, df), 1 - tail, 1e-14);
    expectRelative(studentTwoSidedP(-t, df), 2 * tail, 1e-10);
  });

  it('with one degree of freedom is Cauchy, with infinitely many normal', () => {
    for (const t of [0.1, 1, 30, 1e5]) {
      expectRelative(studentUpperTail(t, 1), Math.atan(1 / t) / Math.PI, 1e-12);
      expectRelative(studentPdf(t, 1), 1 / (Math.PI * (1 + t * t)), 1e-12);
    }
    expect(studentUpperTail(2, Infinity)).toBe(normalCdf(-2));
    expect(studentTwoSidedP(2, Infinity)).toBe(2 * normalCdf(-2));
    expect(studentQuantile(0.2, Infinity)).toBe(normalQuantile(0.2));
    expectRelative(studentPdf(1, 1e9), studentPdf(1, Infinity), 1e-8);
  });

  it('quantile gives back its probability, is odd, and agrees with the beta route', () => {
    fc.assert(
      fc.property(fc.double({ min: -40, max: -0.31, noNaN: true }), freedom, (exponent, df) => {
        const p = 10 ** exponent;
        const t = studentQuantile(p, df);
        expectRelative(studentUpperTail(-t, df), p, 1e-9);
        if (p > 1e-6) expectRelative(studentQuantile(1 - p, df), -t, 1e-8);
        if (p > 1e-6 && p < 0.4 && df < 1000) expectRelative(studentTwoSided(2 * p, df), -t, 1e-8);
      }),
    );
    expect(studentQuantile(0.5, 3)).toBe(0);
  });

  it('falls in t with its density as slope', () => {
    fc.assert(
      fc.property(fc.double({ min: -5, max: 5, noNaN: true }), freedom, (t, df) => {
        const h = 1e-4;
        const slope = (studentUpperTail(t - h, df) - studentUpperTail(t + h, df)) / (2 * h);
        expectWithin(studentPdf(t, df), slope, 1e-6);
      }),
    );
  });

  it('refuses what is no number and no degrees of freedom', () => {
    expect(() => studentUpperTail(NaN, 3)).toThrowError(expect.objectContaining({ field: 't' }));
    expect(() => studentTwoSidedP(1, 0)).toThrowError(StatsInputError);
    expect(() => studentQuantile(0, 3)).toThrowError(expect.objectContaining({ field: 'p' }));
  });
});
