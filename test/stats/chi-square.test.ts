import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  chiSquareCritical,
  chiSquareLower,
  chiSquareQuantile,
  chiSquareUpper,
} from '@oddglass/shared/stats/chi-square.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { normalCdf } from '@oddglass/shared/stats/normal.ts';
import { computed } from './ranking-descriptor-values.ts';
import { expectRelative } from './within.ts';

describe('chi-square distribution', () => {
  it(`both tails within 1e-12 relative of 60-digit arithmetic (${computed.about})`, () => {
    for (const { df, x, upper, lower } of computed.chiSquare) {
      expectRelative(chiSquareUpper(x, df), upper, 1e-12, `P(X >= ${x}), df ${df}`);
      expectRelative(chiSquareLower(x, df), lower, 1e-12, `P(X <= ${x}), df ${df}`);
    }
  });

  it('inverts both tails of the same values', () => {
    for (const { df, x, upper, lower } of computed.chiSquare) {
      // Where the tail is flat, x is only as sure as the tail; the smaller tail carries the digits.
      if (upper < 0.5) expectRelative(chiSquareCritical(upper, df), x, 1e-10, `critical, df ${df}`);
      else if (lower > 1e-280) expectRelative(chiSquareQuantile(lower, df), x, 1e-10, `quantile, df ${df}`);
    }
  });

  it('prints the usual table: 3.841, 5.991, 7.815, 9.488, 18.307 at 5 % (Fisher 1925, table III; from memory)', () => {
    const ours = [1, 2, 3, 4, 10].map((df) => chiSquareCritical(0.05, df).toFixed(3));
    expect(ours).toEqual(['3.841', '5.991', '7.815', '9.488', '18.307']);
  });

  it('is exponential for 2 df and a squared normal for 1', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 600, noNaN: true }), (x) => {
        expectRelative(chiSquareUpper(x, 2), Math.exp(-x / 2), 1e-12);
        expectRelative(chiSquareUpper(x, 1), 2 * normalCdf(-Math.sqrt(x)), 1e-12);
      }),
    );
  });

  it('steps from df to df + 2 by its own recurrence (DLMF 8.8.6)', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 60 }),
        fc.double({ min: 0.01, max: 200, noNaN: true }),
        (half, x) => {
          // Q(a + 1, y) = Q(a, y) + y^a e^-y / Gamma(a + 1), for whole a.
          let term = Math.exp(-x / 2);
          for (let i = 1; i <= half; i += 1) term *= x / 2 / i;
          expectRelative(chiSquareUpper(x, 2 * half + 2), chiSquareUpper(x, 2 * half) + term, 1e-11);
        },
      ),
    );
  });

  it('falls with x, and quantiles are found again', () => {
    const df = fc.double({ min: 0.5, max: 500, noNaN: true });
    fc.assert(
      fc.property(
        df,
        fc.double({ min: 0, max: 900, noNaN: true }),
        fc.double({ min: 0, max: 50, noNaN: true }),
        (d, x, more) => {
          expect(chiSquareUpper(x + more, d)).toBeLessThanOrEqual(chiSquareUpper(x, d) * (1 + 1e-13));
        },
      ),
    );
    fc.assert(
      fc.property(df, fc.double({ min: 1e-12, max: 1 - 1e-12, noNaN: true }), (d, p) => {
        expectRelative(chiSquareLower(chiSquareQuantile(p, d), d), p, 1e-10);
        expectRelative(chiSquareUpper(chiSquareCritical(p, d), d), p, 1e-10);
      }),
    );
  });

  it('is certain at 0, and refuses what is impossible', () => {
    expect(chiSquareUpper(0, 3)).toBe(1);
    expect(chiSquareLower(0, 3)).toBe(0);
    for (const [field, refused] of [
      ['x', () => chiSquareUpper(-1, 3)],
      ['x', () => chiSquareLower(NaN, 3)],
      ['df', () => chiSquareUpper(1, 0)],
      ['df', () => chiSquareQuantile(0.5, Infinity)],
      ['tail', () => chiSquareCritical(0, 3)],
      ['p', () => chiSquareQuantile(1, 3)],
    ] as const) {
      expect(refused).toThrowError(StatsInputError);
      expect(refused).toThrowError(expect.objectContaining({ field }));
    }
  });
});
