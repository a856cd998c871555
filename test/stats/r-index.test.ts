import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { rIndex } from '@oddglass/shared/stats/discrimination/r-index.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { SOFTWARE, VALUES } from './discrimination-values.ts';
import { expectRelative, expectWithin } from './within.ts';

const plan = { level: 0.95, side: 'greater' } as const;

describe('R-index', () => {
  it.each(VALUES.rIndex)(
    `pairs counted one by one, p by every way to deal the answers or ${SOFTWARE}: $signal against $noise`,
    ({ signal, noise, ...wanted }) => {
      const ours = rIndex({ signal, noise, ...plan });
      const two = rIndex({ signal, noise, level: 0.95, side: 'two-sided' });
      expectRelative(ours.rIndex, wanted.rIndex, 1e-14);
      expectRelative(ours.standardError, wanted.standardError, 1e-12);
      expect(ours.exact).toBe(wanted.greater !== undefined);
      expectRelative(ours.p, wanted.greater ?? wanted.normalGreater ?? NaN, ours.exact ? 1e-12 : 1e-9);
      expectRelative(two.p, wanted.twoSided ?? wanted.normalTwoSided ?? NaN, ours.exact ? 1e-12 : 1e-9);
    },
  );

  it('of complete separation is 1, without limits or d-prime, and p counts one way of all', () => {
    const ours = rIndex({ signal: [4, 2, 0, 0], noise: [0, 0, 3, 3], ...plan });
    expect(ours).toMatchObject({ rIndex: 1, standardError: 0, lower: null, upper: null, dPrime: null });
    expectRelative(ours.p, 1 / 924, 1e-13);
    expect(rIndex({ signal: [0, 0, 6], noise: [5, 1, 0], ...plan })).toMatchObject({ rIndex: 0, p: 1 });
  });

  it('of answers all in one category is 1/2 and says nothing', () => {
    expect(rIndex({ signal: [0, 6, 0], noise: [0, 9, 0], ...plan })).toMatchObject({
      rIndex: 0.5,
      dPrime: 0,
      p: 1,
    });
    const many = rIndex({ signal: [0, 90], noise: [0, 90], level: 0.95, side: 'two-sided' });
    expect(many).toMatchObject({ rIndex: 0.5, p: 1, exact: false });
  });

  it('without one of the samples there is nothing to tell apart; with one answer each no standard error', () => {
    expect(rIndex({ signal: [0, 0], noise: [3, 1], ...plan })).toMatchObject({ rIndex: null, p: 1 });
    expect(rIndex({ signal: [1, 0], noise: [0, 1], ...plan })).toMatchObject({
      rIndex: 1,
      standardError: null,
    });
  });

  const table = fc.integer({ min: 2, max: 6 }).chain((categories) =>
    fc.record({
      signal: fc.array(fc.integer({ min: 0, max: 8 }), { minLength: categories, maxLength: categories }),
      noise: fc.array(fc.integer({ min: 0, max: 8 }), { minLength: categories, maxLength: categories }),
    }),
  );
  it('becomes 1 - R when signal and noise change names or the scale is turned; two-sided p stays', () => {
    fc.assert(
      fc.property(table, ({ signal, noise }) => {
        const side = 'two-sided';
        const ours = rIndex({ signal, noise, level: 0.9, side });
        if (ours.rIndex === null) return;
        const swapped = rIndex({ signal: noise, noise: signal, level: 0.9, side });
        const turned = rIndex({ signal: signal.toReversed(), noise: noise.toReversed(), level: 0.9, side });
        for (const other of [swapped, turned]) {
          expectWithin(other.rIndex, 1 - ours.rIndex, 1e-13);
          expectRelative(other.p, ours.p, 1e-12);
          if (ours.standardError !== null) expectWithin(other.standardError, ours.standardError, 1e-13);
        }
        if (ours.lower !== null && ours.upper !== null) {
          expect(ours.lower).toBeLessThanOrEqual(ours.rIndex);
          expect(ours.upper).toBeGreaterThanOrEqual(ours.rIndex);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('exact and normal p meet for many answers', () => {
    const half = { signal: [18, 12, 10, 10], noise: [10, 12, 12, 16] };
    const exact = rIndex({ ...half, ...plan });
    expect(exact.exact).toBe(true);
    const more = rIndex({ signal: [19, 12, 10, 10], noise: [10, 12, 12, 16], ...plan });
    expect(more.exact).toBe(false);
    expect(Math.abs(more.p - exact.p)).toBeLessThan(0.02);
  });

  it('refuses tables that do not match', () => {
    expect(() => rIndex({ signal: [1, 2], noise: [1, 2, 3], ...plan })).toThrowError(
      expect.objectContaining({ field: 'noise' }),
    );
    expect(() => rIndex({ signal: [1], noise: [1], ...plan })).toThrowError(StatsInputError);
    expect(() => rIndex({ signal: [1, 0.5], noise: [1, 1], ...plan })).toThrowError(/signal/);
  });
});
