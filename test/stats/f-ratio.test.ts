import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { degreesOfFreedom, fCritical, fUpperTail } from '@oddglass/shared/stats/f-ratio.ts';
import { betaCdf } from '@oddglass/shared/stats/incomplete-beta.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { expectRelative, expectWithin } from './within.ts';

// mpmath 1.3.0, betainc at 40 digits.
const ROWS = [
  { f: 25.1380875598, df1: 3, df2: 24, tail: 1.391971848683675e-7 },
  { f: 0.5, df1: 3, df2: 24, tail: 0.6858211218702088 },
  { f: 1e-8, df1: 1, df2: 5.5, tail: 0.999923738697064 },
  { f: 4, df1: 7, df2: 0.5, tail: 0.5297261640926827 },
  { f: 3, df1: 0.5, df2: 2.5, tail: 0.1731670233267657 },
  { f: 1.2, df1: 200, df2: 1500.5, tail: 0.03760708052225993 },
  { f: 60, df1: 2, df2: 1e6, tail: 8.788088481041842e-27 },
  { f: 1e4, df1: 3.7, df2: 12.25, tail: 2.685011890773038e-21 },
  { f: 1e30, df1: 3, df2: 8, tail: 1.244444444444444e-118 },
  { f: 0.9, df1: 1, df2: 1e6, tail: 0.3427819404047527 },
  { f: 500, df1: 5, df2: 300, tail: 3.690451162368066e-143 },
];

const freedom = fc.double({ min: 0.5, max: 5000, noNaN: true });

describe('F distribution', () => {
  it.each(ROWS)('P(F > $f), df $df1 and $df2 (mpmath at 40 digits)', ({ f, df1, df2, tail }) => {
    expectRelative(fUpperTail(f, df1, df2), tail, 1e-10);
  });

  it('with 2 and df2 degrees of freedom is (1 + 2 f / df2)^(-df2 / 2)', () => {
    for (const f of [0.01, 1, 7, 300]) {
      expectRelative(fUpperTail(f, 2, 9.5), (1 + (2 * f) / 9.5) ** -4.75, 1e-12);
    }
  });

  it('falls in f, and mirrors: P(F > f; a, b) = P(F < 1 / f; b, a)', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-3, max: 1e3, noNaN: true }), freedom, freedom, (f, df1, df2) => {
        const tail = fUpperTail(f, df1, df2);
        expect(fUpperTail(f * 1.01, df1, df2)).toBeLessThanOrEqual(tail);
        expectWithin(tail + fUpperTail(1 / f, df2, df1), 1, 1e-10);
        expectWithin(tail, 1 - betaCdf((df1 * f) / (df1 * f + df2), df1 / 2, df2 / 2), 1e-10);
      }),
    );
  });

  it('critical value gives back its tail', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-12, max: 0.999, noNaN: true }), freedom, freedom, (tail, df1, df2) => {
        expectRelative(fUpperTail(fCritical(tail, df1, df2), df1, df2), tail, 1e-9);
      }),
    );
  });

  it('knows the ends and refuses what is none', () => {
    expect([fUpperTail(0, 3, 4), fUpperTail(Infinity, 3, 4)]).toEqual([1, 0]);
    expect(() => fUpperTail(-1, 3, 4)).toThrowError(StatsInputError);
    expect(() => fUpperTail(NaN, 3, 4)).toThrowError(expect.objectContaining({ field: 'f' }));
    expect(() => fUpperTail(1, 0, 4)).toThrowError(expect.objectContaining({ field: 'df1' }));
    expect(() => fUpperTail(1, 3, Infinity)).toThrowError(expect.objectContaining({ field: 'df2' }));
    expect(() => fCritical(1, 3, 4)).toThrowError(expect.objectContaining({ field: 'tail' }));
    expect(() => degreesOfFreedom('df', -2)).toThrowError(expect.objectContaining({ field: 'df' }));
  });
});
