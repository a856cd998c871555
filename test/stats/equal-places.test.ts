import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { choiceBias } from '@oddglass/shared/stats/choice-bias.ts';
import { equalPlaces, exactUpTo } from '@oddglass/shared/stats/equal-places.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { ratio } from './rational.ts';
import { expectRelative } from './within.ts';

/** Every outcome by itself, in whole numbers. */
function exact(counts: readonly number[]): number {
  const n = counts.reduce((sum, one) => sum + one, 0);
  const factorial = [1n];
  for (let i = 1; i <= n; i += 1) factorial.push((factorial[i - 1] ?? 1n) * BigInt(i));
  const ways = (of: readonly number[]) =>
    of.reduce((product, one) => product / (factorial[one] ?? 1n), factorial[n] ?? 1n);
  const seen = ways(counts);
  let sum = 0n;
  const walk = (at: number, left: number, so: number[]): void => {
    if (at === counts.length - 1) {
      const one = ways([...so, left]);
      if (one <= seen) sum += one;
      return;
    }
    for (let count = 0; count <= left; count += 1) walk(at + 1, left - count, [...so, count]);
  };
  walk(0, n, []);
  return ratio(sum, BigInt(counts.length) ** BigInt(n));
}

describe('equal places', () => {
  it('equals enumeration of every outcome in whole numbers', () => {
    fc.assert(
      fc.property(fc.array(fc.nat({ max: 2 }), { minLength: 4, maxLength: 6 }), (counts) => {
        expectRelative(equalPlaces(counts).p, exact(counts), 1e-12, counts.join(' '));
      }),
      { numRuns: 60 },
    );
    expectRelative(
      equalPlaces([3, 0, 1, 0, 0, 1, 0, 0, 1, 0]).p,
      exact([3, 0, 1, 0, 0, 1, 0, 0, 1, 0]),
      1e-12,
    );
  });

  it('is choiceBias for three, and the same in any order of places', () => {
    expect(equalPlaces([7, 2, 3])).toEqual(choiceBias({ left: 7, middle: 2, right: 3 }));
    expectRelative(equalPlaces([9, 0, 2, 5]).p, equalPlaces([5, 2, 9, 0]).p, 1e-12);
  });

  it('takes chi-square beyond 60 answers of ten places and says so', () => {
    const counts = [10, 4, 6, 7, 5, 6, 6, 7, 5, 6];
    const ours = equalPlaces(counts);
    // 10 x 408 / 62 - 62; p by SciPy 1.17.1, stats.chi2.sf(3.8064516129032313, 9).
    expectRelative(ours.chiSquare, 3.8064516129032313, 1e-13);
    expectRelative(ours.p, 0.9236832296591859, 1e-10);
    expect([ours.exact, exactUpTo(10), exactUpTo(3)]).toEqual([false, 60, 200]);
    expect(ours.method).toContain('9 degrees');
    expect(equalPlaces(counts.map((one) => one - 1)).exact).toBe(true);
  });

  it('is 1 without answers and refuses what is no count', () => {
    expect(equalPlaces(Array<number>(10).fill(0))).toMatchObject({ p: 1, chiSquare: null });
    expect(() => equalPlaces([1, 2, 3, -1])).toThrow(StatsInputError);
  });
});
