import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { chebyshevTable } from '@oddglass/shared/stats/chebyshev.ts';
import { falling } from '@oddglass/shared/stats/falling.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { studentTwoSidedP } from '@oddglass/shared/stats/student-t.ts';
import { studentized } from '@oddglass/shared/stats/studentized.ts';
import {
  studentizedRangeCritical,
  studentizedRangeUpperTail,
} from '@oddglass/shared/stats/studentized-range.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

// mpmath 1.3.0: quadrature of the range at 30 digits (140 for q = 30).
const KNOWN_SPREAD = [
  { q: 3.5, k: 3, tail: 0.03555704186316 },
  { q: 12, k: 5, tail: 2.151969036505e-16 },
  { q: 0.5, k: 8, tail: 0.99996754481243 },
  { q: 4, k: 20, tail: 0.33602345116868 },
  { q: 30, k: 4, tail: 4.327796503470724e-99 },
];

// SciPy 1.17.1, studentized_range.sf.
const ESTIMATED_SPREAD = [
  { q: 4, k: 4, df: 24, tail: 0.04303673318689849 },
  { q: 10, k: 3, df: 7.5, tail: 0.00036662998132752644 },
  { q: 27, k: 3, df: 1, tail: 0.0499547986672928 },
  { q: 0.7, k: 6, df: 12, tail: 0.9954288793182663 },
];

describe('studentized range', () => {
  const table = referenceCase<{ k: number; df: number | 'Inf' }[], Record<'0.05' | '0.01', number>[]>(
    'studentized-range',
  );
  it(named(table), () => {
    table.input.forEach(({ k, df }, index) => {
      for (const tail of ['0.05', '0.01'] as const) {
        const ours = studentizedRangeCritical(Number(tail), k, df === 'Inf' ? Infinity : df);
        expectWithin(ours, table.expected[index]?.[tail] ?? NaN, table.tolerance, `${k}, ${df}, ${tail}`);
      }
    });
  });

  it.each(KNOWN_SPREAD)('P(Q > $q), $k means, known spread (mpmath)', ({ q, k, tail }) => {
    expectRelative(studentizedRangeUpperTail(q, k, Infinity), tail, 1e-10);
  });

  it.each(ESTIMATED_SPREAD)('P(Q > $q), $k means, df $df (SciPy)', ({ q, k, df, tail }) => {
    expectRelative(studentizedRangeUpperTail(q, k, df), tail, 1e-10);
  });

  it('of two means is the two-sided t, also when integrated', () => {
    for (const df of [0.7, 1, 3.3, 40, 1e4, Infinity]) {
      for (const q of [0.2, 3, 11]) {
        const t = studentTwoSidedP(q / Math.SQRT2, df);
        expectRelative(studentizedRangeUpperTail(q, 2, df), t, 1e-12);
        // P(range of two > r) = P(|Z| > r / sqrt 2), mixed over the spread by the integral.
        const mixed = studentized((r) => studentTwoSidedP(r / Math.SQRT2, Infinity), q, df);
        expectRelative(mixed, t, 1e-10);
      }
    }
  });

  it('falls in q, grows in k, and its critical value gives back its tail', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -12, max: -0.001, noNaN: true }),
        fc.integer({ min: 2, max: 40 }),
        fc.oneof(fc.double({ min: 0.6, max: 3000, noNaN: true }), fc.constant(Infinity)),
        (exponent, k, df) => {
          const tail = 10 ** exponent;
          const q = studentizedRangeCritical(tail, k, df);
          expectRelative(studentizedRangeUpperTail(q, k, df), tail, 1e-9);
          expect(studentizedRangeUpperTail(q * 1.01, k, df)).toBeLessThan(tail);
          expect(studentizedRangeUpperTail(q, k + 1, df)).toBeGreaterThan(tail);
        },
      ),
      { numRuns: 40 },
    );
  });

  it('knows the ends and refuses what is none', () => {
    expect(studentizedRangeUpperTail(0, 4, 10)).toBe(1);
    expect(studentizedRangeUpperTail(Infinity, 4, 10)).toBe(0);
    expect(studentizedRangeUpperTail(1e4, 4, Infinity)).toBe(0);
    expect(() => studentizedRangeUpperTail(-1, 4, 10)).toThrowError(expect.objectContaining({ field: 'q' }));
    expect(() => studentizedRangeUpperTail(3, 1, 10)).toThrowError(StatsInputError);
    expect(() => studentizedRangeCritical(0.05, 4, 0)).toThrowError(expect.objectContaining({ field: 'df' }));
    expect(() => studentizedRangeCritical(0, 4, 10)).toThrowError(expect.objectContaining({ field: 'tail' }));
  });
});

describe('its helpers', () => {
  it('a table reads a function to 1e-13 within its range', () => {
    const sine = chebyshevTable(Math.sin, { low: -3, high: 5, pieces: 8, nodes: 14 });
    for (let x = -3; x <= 5; x += 0.0371) expectWithin(sine(x), Math.sin(x), 1e-13);
  });

  it('a falling function is inverted from either side', () => {
    expectRelative(
      falling((x) => 5 - x, 1),
      5,
      1e-12,
    );
    expectRelative(
      falling((x) => -3 - x ** 3, 4),
      -Math.cbrt(3),
      1e-12,
    );
  });
});

describe('close to nothing', () => {
  it('the tail is a probability: never a rounding above 1', () => {
    for (const k of [2, 3, 4, 6, 8, 12]) {
      for (const df of [1, 3.7, 24, 400, Infinity]) {
        for (let exponent = -12; exponent <= 0; exponent += 0.25) {
          const p = studentizedRangeUpperTail(10 ** exponent, k, df);
          expect(p <= 1 && p > 0, `q 1e${exponent}, k ${k}, df ${df}: ${p}`).toBe(true);
        }
      }
    }
  });
});
