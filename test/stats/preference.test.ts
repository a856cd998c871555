import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  pairedPreference,
  twoSidedCriticalNumber,
  twoSidedP,
} from '@oddglass/shared/stats/discrimination/preference.ts';
import { upperTails } from './rational.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative } from './within.ts';

describe('paired preference', () => {
  const points = referenceCase<{ n: number[]; alpha: number[] }, Record<string, number[]>>(
    'two-sided-preference-published-points',
  );
  it(named(points), () => {
    let met = 0;
    for (const alpha of points.input.alpha) {
      points.input.n.forEach((n, index) => {
        expect(twoSidedCriticalNumber({ n, alpha }), `n ${n}, alpha ${alpha}`).toBe(
          points.expected[String(alpha)]?.[index],
        );
        met += 1;
      });
    }
    expect(met).toBe(10);
  });

  it('p is twice the larger tail in whole-number arithmetic, to 1e-12', () => {
    for (const n of [1, 2, 7, 20, 61, 200]) {
      const tails = upperTails(n, 1n, 2n);
      for (let count = 0; count <= n; count += 1) {
        const wanted = Math.min(1, 2 * (tails[Math.max(count, n - count)] ?? NaN));
        expectRelative(twoSidedP({ count, n }), wanted, 1e-12);
      }
    }
  });

  it('an even split and no votes have p = 1 and claim nothing', () => {
    expect(twoSidedP({ count: 6, n: 12 })).toBe(1);
    const none = { preferA: 0, preferB: 0, level: 0.95 };
    expect(pairedPreference({ ...none, noPreference: 0, policy: 'exclude' })).toMatchObject({
      p: 1,
      n: 0,
      share: null,
      lower: 0,
      upper: 1,
      critical: null,
      noPreferenceShare: null,
    });
    expect(pairedPreference({ ...none, noPreference: 9, policy: 'exclude' })).toMatchObject({
      p: 1,
      n: 0,
      noPreferenceShare: 1,
    });
    expect(pairedPreference({ ...none, noPreference: 9, policy: 'split' })).toMatchObject({
      p: 1,
      n: 8,
      preferA: 4,
      share: 0.5,
    });
  });

  it('keeps the policies apart: excluded is not split', () => {
    const votes = { preferA: 17, preferB: 5, noPreference: 9, level: 0.95 };
    const excluded = pairedPreference({ ...votes, policy: 'exclude' });
    const split = pairedPreference({ ...votes, policy: 'split' });
    expect(excluded).toMatchObject({ preferA: 17, n: 22, noPreference: 9, policy: 'exclude' });
    // Four to each; the ninth is left out.
    expect(split).toMatchObject({ preferA: 21, n: 30, noPreference: 9, policy: 'split' });
    expect(excluded.p).toBe(twoSidedP({ count: 17, n: 22 }));
    expect(split.p).toBe(twoSidedP({ count: 21, n: 30 }));
    expect(split.p).toBeGreaterThan(excluded.p);
    expect(excluded.method).not.toBe(split.method);
    expect(excluded.noPreferenceShare).toBe(9 / 31);
  });

  const votes = fc.record({
    preferA: fc.integer({ min: 0, max: 80 }),
    preferB: fc.integer({ min: 0, max: 80 }),
    noPreference: fc.integer({ min: 0, max: 40 }),
    policy: fc.constantFrom('exclude' as const, 'split' as const),
    level: fc.constantFrom(0.9, 0.95, 0.99),
  });
  it('names of the samples do not matter, and p agrees with the critical number and the interval', () => {
    fc.assert(
      fc.property(votes, (input) => {
        const ours = pairedPreference(input);
        const turned = pairedPreference({ ...input, preferA: input.preferB, preferB: input.preferA });
        expect(turned.p).toBe(ours.p);
        expect(turned.critical).toBe(ours.critical);
        expect(Math.abs(turned.lower - (1 - ours.upper))).toBeLessThan(1e-11);
        const most = Math.max(ours.preferA, ours.n - ours.preferA);
        const significant = ours.critical !== null && most >= ours.critical;
        expect(significant).toBe(ours.p <= (1 - input.level) * (1 + 1e-12));
        // Clopper-Pearson leaves out 1/2 just when the doubled tail is below 1 - level.
        expect(ours.lower > 0.5 || ours.upper < 0.5).toBe(significant);
      }),
    );
  });

  it('refuses half votes and risks of 0', () => {
    const input = { preferA: 3, preferB: 4, noPreference: 1, policy: 'split', level: 0.95 } as const;
    expect(() => pairedPreference({ ...input, preferB: 1.5 })).toThrowError(
      expect.objectContaining({ field: 'preferB' }),
    );
    expect(() => pairedPreference({ ...input, noPreference: -1 })).toThrowError(/noPreference/);
    expect(() => twoSidedCriticalNumber({ n: 10, alpha: 0 })).toThrowError(/alpha/);
    expect(() => twoSidedP({ count: 11, n: 10 })).toThrowError(/count/);
    expect(twoSidedCriticalNumber({ n: 5, alpha: 0.05 })).toBeNull();
    expect(twoSidedCriticalNumber({ n: 6, alpha: 0.05 })).toBe(6);
  });
});
