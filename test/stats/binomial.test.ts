import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { betaCdf } from '@oddglass/shared/stats/incomplete-beta.ts';
import { binomialPmf, lowerTail, upperTail } from '@oddglass/shared/stats/binomial.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { lowerTails, ratio, upperTails, weights } from './rational.ts';
import { expectRelative } from './within.ts';

const RATES = [
  { name: '1/3', a: 1n, d: 3n },
  { name: '1/2', a: 1n, d: 2n },
  { name: '1/10', a: 1n, d: 10n },
  { name: '8/15', a: 8n, d: 15n },
];

describe('binomial tails against exact whole-number arithmetic', () => {
  it.each(RATES)(
    'keep 1e-12 relative for every count, n up to 60 and some to 1000, p = $name',
    ({ a, d }) => {
      const p = Number(a) / Number(d);
      for (const n of [...Array(61).keys(), 100, 313, 1000]) {
        const upper = upperTails(n, a, d);
        const lower = lowerTails(n, a, d);
        for (let k = 0; k <= n; k += 1) {
          // Below 1e-290 a double cannot hold the terms.
          const [high = 0, low = 0] = [upper[k], lower[k]];
          if (high > 1e-290) expectRelative(upperTail(k, n, p), high, 1e-12, `P(X >= ${k} of ${n})`);
          else expect(upperTail(k, n, p)).toBeLessThan(2e-290);
          if (low > 1e-290) expectRelative(lowerTail(k, n, p), low, 1e-12, `P(X <= ${k} of ${n})`);
          else expect(lowerTail(k, n, p)).toBeLessThan(2e-290);
        }
      }
    },
  );

  it('keeps 1e-12 relative out to 30 standard deviations at n = 10,000', () => {
    const n = 10_000;
    const all = 3n ** BigInt(n);
    const exact = weights(n, 1n, 3n);
    for (const k of [1920, 2900, 3333, 3334, 3475, 3800, 4500, 4740]) {
      const weight = exact[k] ?? 0n;
      expectRelative(binomialPmf(k, n, 1 / 3), ratio(weight, all), 1e-12, `P(X = ${k})`);
      const above = exact.slice(k).reduce((sum, one) => sum + one, 0n);
      expectRelative(upperTail(k, n, 1 / 3), ratio(above, all), 1e-12, `P(X >= ${k})`);
      const below = exact.slice(0, k + 1).reduce((sum, one) => sum + one, 0n);
      expectRelative(lowerTail(k, n, 1 / 3), ratio(below, all), 1e-12, `P(X <= ${k})`);
    }
  });

  it('does not turn a small tail into 0: 40 of 48 in a triangle test', () => {
    const exact = upperTails(48, 1n, 3n)[40] ?? 0;
    expect(exact).toBeLessThan(1e-11);
    expectRelative(upperTail(40, 48, 1 / 3), exact, 1e-13);
  });
});

describe('binomial edges', () => {
  it('is certain or impossible outside 0..n and for p of 0 and 1', () => {
    expect(upperTail(0, 12, 1 / 3)).toBe(1);
    expect(upperTail(-3, 12, 1 / 3)).toBe(1);
    expect(upperTail(13, 12, 1 / 3)).toBe(0);
    expect(lowerTail(12, 12, 1 / 3)).toBe(1);
    expect(lowerTail(-1, 12, 1 / 3)).toBe(0);
    expect(upperTail(0, 0, 1 / 3)).toBe(1);
    expect(lowerTail(0, 0, 1 / 3)).toBe(1);
    expect(upperTail(1, 5, 0)).toBe(0);
    expect(upperTail(5, 5, 1)).toBe(1);
    expect(binomialPmf(0, 5, 0)).toBe(1);
    expect(binomialPmf(5, 5, 1)).toBe(1);
    expect(binomialPmf(6, 5, 0.5)).toBe(0);
  });

  it.each([
    { field: 'k', k: 1.5, n: 3, p: 0.5 },
    { field: 'n', k: 1, n: -1, p: 0.5 },
    { field: 'n', k: 1, n: NaN, p: 0.5 },
    { field: 'p', k: 1, n: 3, p: 1.1 },
    { field: 'p', k: 1, n: 3, p: NaN },
  ])('names the field it refuses: $field', ({ field, k, n, p }) => {
    for (const f of [upperTail, lowerTail, binomialPmf]) {
      expect(() => f(k, n, p)).toThrowError(StatsInputError);
      expect(() => f(k, n, p)).toThrowError(expect.objectContaining({ field }));
    }
  });
});

describe('binomial properties', () => {
  const counts = fc.integer({ min: 1, max: 400 }).chain((n) =>
    fc.record({
      n: fc.constant(n),
      k: fc.integer({ min: 0, max: n }),
      p: fc.double({ min: 0.01, max: 0.99, noNaN: true }),
    }),
  );

  it('both tails together count the middle term twice', () => {
    fc.assert(
      fc.property(counts, ({ n, k, p }) => {
        const total = upperTail(k, n, p) + lowerTail(k, n, p) - binomialPmf(k, n, p);
        expect(Math.abs(total - 1)).toBeLessThan(1e-12);
      }),
    );
  });

  it('agrees with the incomplete beta, which is computed another way (DLMF 8.17.5)', () => {
    fc.assert(
      fc.property(counts, ({ n, k, p }) => {
        if (k === 0) return;
        const tail = upperTail(k, n, p);
        if (tail > 1e-290) expectRelative(betaCdf(p, k, n - k + 1), tail, 2e-12);
      }),
    );
  });
});
