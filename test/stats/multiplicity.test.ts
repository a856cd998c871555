import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { benjaminiHochberg, bonferroni, holm } from '@oddglass/shared/stats/multiplicity.ts';
import { computed } from './ranking-descriptor-values.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectWithin } from './within.ts';

const METHODS = [holm, benjaminiHochberg, bonferroni];

function expectAll(actual: (number | null)[], expected: number[], tolerance: number): void {
  expect(actual.length).toBe(expected.length);
  actual.forEach((value, index) => expectWithin(value, expected[index] ?? NaN, tolerance, `p ${index}`));
}

describe('multiplicity', () => {
  const published = referenceCase<
    { p: number[] },
    Record<'holm' | 'BH' | 'bonferroni', number[]> & { 'n_rejected_0.05': Record<string, number> }
  >('padjust-bh1995');
  it(named(published), () => {
    const { p } = published.input;
    const ours = {
      holm: holm({ p }).adjusted,
      BH: benjaminiHochberg({ p }).adjusted,
      bonferroni: bonferroni({ p }).adjusted,
    };
    for (const name of ['holm', 'BH', 'bonferroni'] as const) {
      expectAll(ours[name], published.expected[name], published.tolerance);
      const rejected = ours[name].filter((value) => (value ?? 1) <= 0.05).length;
      expect(rejected).toBe(published.expected['n_rejected_0.05'][name]);
    }
  });

  it(`Holm from its definition, Benjamini-Hochberg by SciPy (${computed.about})`, () => {
    for (const { p, holm: wantedHolm, bh } of computed.adjusted) {
      expectAll(holm({ p }).adjusted, wantedHolm, 1e-14);
      expectAll(benjaminiHochberg({ p }).adjusted, bh, 1e-14);
    }
  });

  it('counts planned tests that were not made (by hand)', () => {
    const p = [0.01, null, 0.03];
    expectAll(
      holm({ p, planned: 5 }).adjusted.filter((v) => v !== null),
      [0.05, 0.12],
      1e-15,
    );
    expectAll(
      benjaminiHochberg({ p, planned: 5 }).adjusted.filter((v) => v !== null),
      [0.05, 0.075],
      1e-15,
    );
    expectAll(
      bonferroni({ p, planned: 5 }).adjusted.filter((v) => v !== null),
      [0.05, 0.15],
      1e-15,
    );
    for (const method of METHODS) {
      expect(method({ p, planned: 5 }).tests).toBe(5);
      expect(method({ p }).tests).toBe(2);
      expect(method({ p }).adjusted[1]).toBeNull();
    }
  });

  it('leaves nothing and one alone', () => {
    for (const method of METHODS) {
      expect(method({ p: [] })).toMatchObject({ adjusted: [], tests: 0 });
      expect(method({ p: [0.2] }).adjusted).toEqual([0.2]);
      expect(method({ p: [1, 1, 1] }).adjusted).toEqual([1, 1, 1]);
      expect(method({ p: [0, 0.5] }).adjusted[0]).toBe(0);
    }
  });

  const family = fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 30 });

  it('keeps order and bounds: p <= BH <= Holm <= Bonferroni <= 1', () => {
    fc.assert(
      fc.property(family, (p) => {
        const [h, bh, b] = METHODS.map((method) => method({ p }).adjusted.map((value) => value ?? NaN));
        p.forEach((raw, i) => {
          expect(bh?.[i]).toBeGreaterThanOrEqual(raw * (1 - 1e-15));
          expect(h?.[i]).toBeGreaterThanOrEqual((bh?.[i] ?? NaN) * (1 - 1e-15));
          expect(b?.[i]).toBeGreaterThanOrEqual((h?.[i] ?? NaN) * (1 - 1e-15));
          expect(b?.[i]).toBeLessThanOrEqual(1);
          p.forEach((other, j) => {
            if (raw < other) {
              for (const list of [h, bh, b]) expect(list?.[i]).toBeLessThanOrEqual(list?.[j] ?? NaN);
            }
          });
        });
      }),
    );
  });

  it('goes with its p when the tests are turned round', () => {
    fc.assert(
      fc.property(family, (p) => {
        for (const method of METHODS) {
          expect(method({ p: p.toReversed() }).adjusted.toReversed()).toEqual(method({ p }).adjusted);
        }
      }),
    );
  });

  it('refuses a p above 1 and a family smaller than its tests', () => {
    for (const method of METHODS) {
      expect(() => method({ p: [0.1, 1.2] })).toThrowError(StatsInputError);
      expect(() => method({ p: [0.1, 1.2] })).toThrowError(expect.objectContaining({ field: 'p[1]' }));
      expect(() => method({ p: [0.1, 0.2], planned: 1 })).toThrowError(
        expect.objectContaining({ field: 'planned' }),
      );
      expect(() => method({ p: [NaN] })).toThrowError(StatsInputError);
    }
  });
});
