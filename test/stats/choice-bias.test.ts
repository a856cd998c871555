import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { choiceBias } from '@oddglass/shared/stats/choice-bias.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { ratio } from './rational.ts';
import { expectRelative } from './within.ts';

/** The exact test in whole numbers: multinomial coefficients compared as integers, ties without a tolerance. */
function exact(left: number, middle: number, right: number): number {
  const n = left + middle + right;
  const factorial = [1n];
  for (let i = 1; i <= n; i += 1) factorial.push((factorial[i - 1] ?? 1n) * BigInt(i));
  const f = (i: number) => factorial[i] ?? 1n;
  const ways = (a: number, b: number) => f(n) / (f(a) * f(b) * f(n - a - b));
  const seen = ways(left, middle);
  let sum = 0n;
  for (let a = 0; a <= n; a += 1) {
    for (let b = 0; a + b <= n; b += 1) if (ways(a, b) <= seen) sum += ways(a, b);
  }
  return ratio(sum, 3n ** BigInt(n));
}

describe('choice bias', () => {
  it('equals whole-number enumeration to 1e-12 for every split of up to 18 answers', () => {
    for (const n of [1, 2, 3, 6, 12, 18]) {
      for (let left = 0; left <= n; left += 1) {
        for (let middle = 0; left + middle <= n; middle += 1) {
          const right = n - left - middle;
          const ours = choiceBias({ left, middle, right });
          expect(ours.exact).toBe(true);
          expectRelative(ours.p, exact(left, middle, right), 1e-12, `${left} ${middle} ${right}`);
        }
      }
    }
  });

  it.each([
    [40, 20, 30],
    [70, 62, 68],
    [100, 50, 50],
    [90, 60, 50],
  ])('equals whole-number enumeration for %i, %i and %i', (left, middle, right) => {
    expectRelative(choiceBias({ left, middle, right }).p, exact(left, middle, right), 1e-12);
  });

  it('takes chi-square beyond 200 answers and says so', () => {
    const ours = choiceBias({ left: 90, middle: 60, right: 60 });
    // 3 (8100 + 3600 + 3600) / 210 - 210 = 60/7.
    expectRelative(ours.chiSquare, 60 / 7, 1e-13);
    expectRelative(ours.p, Math.exp(-30 / 7), 1e-13);
    expect(ours.exact).toBe(false);
    expect(ours.method).toContain('Chi-square');
    expect(choiceBias({ left: 80, middle: 60, right: 60 }).method).toContain('Exact');
  });

  it('is 1 for equal thirds and for no answers', () => {
    expectRelative(choiceBias({ left: 4, middle: 4, right: 4 }).p, 1, 1e-13);
    expect(choiceBias({ left: 0, middle: 0, right: 0 })).toMatchObject({ p: 1, chiSquare: null });
  });

  it('does not care which place is which', () => {
    const count = fc.integer({ min: 0, max: 40 });
    fc.assert(
      fc.property(count, count, count, (a, b, c) => {
        const p = choiceBias({ left: a, middle: b, right: c }).p;
        expectRelative(choiceBias({ left: c, middle: a, right: b }).p, p, 1e-12);
        expectRelative(choiceBias({ left: b, middle: a, right: c }).p, p, 1e-12);
      }),
    );
  });

  it('refuses half an answer', () => {
    const refused = () => choiceBias({ left: 0.5, middle: 1, right: 1 });
    expect(refused).toThrowError(StatsInputError);
    expect(refused).toThrowError(expect.objectContaining({ field: 'left', value: 0.5 }));
  });
});
