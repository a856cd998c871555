/// <reference types="../../shared/stats/jstat-module.d.ts" />
import fc from 'fast-check';
import jstat from 'jstat';
import { describe, expect, it } from 'vitest';
import { betaQuantile, median, midRanks } from '@oddglass/shared/stats/jstat.ts';

// How far jstat itself can be trusted, as the comment of its door says.
const values = fc.array(
  fc.oneof(fc.integer({ min: -3, max: 9 }), fc.double({ noNaN: true, min: -1e9, max: 1e9 })),
  {
    minLength: 1,
    maxLength: 20,
  },
);

describe('jstat', () => {
  it('ranks exactly, ties sharing the mean of their places', () => {
    fc.assert(
      fc.property(values, (row) => {
        const counted = row.map((value) => {
          const below = row.filter((other) => other < value).length;
          const same = row.filter((other) => other === value).length;
          return below + (same + 1) / 2;
        });
        expect(midRanks(row)).toEqual(counted);
      }),
    );
  });

  it('has the exact median, and leaves the row as it was', () => {
    fc.assert(
      fc.property(values, (row) => {
        const before = [...row];
        const middle = median(row) ?? NaN;
        expect(row).toEqual(before);
        const sides = (value: number) => [
          row.filter((other) => other < value).length,
          row.filter((other) => other > value).length,
        ];
        expect(Math.max(...sides(middle))).toBeLessThanOrEqual(row.length / 2);
        const sorted = before.sort((a, b) => a - b);
        const [low = NaN, high = NaN] = [
          sorted[Math.ceil(row.length / 2) - 1],
          sorted[Math.floor(row.length / 2)],
        ];
        expect(middle).toBe((low + high) / 2);
      }),
    );
    expect(median([])).toBeNull();
  });

  it('is near enough with beta quantiles to start from, and not near enough to end with', () => {
    let worst = 0;
    for (const [a, b] of [
      [0.5, 0.5],
      [1, 1],
      [3.3, 0.7],
      [15, 16],
      [2.5, 7.25],
      [120.3, 240.9],
      [700, 301],
      [5001, 2001],
      [7001, 0.5],
    ] as const)
      for (const p of [0.001, 0.025, 0.2, 0.5, 0.8, 0.975, 0.999]) {
        const ours = betaQuantile(p, a, b);
        worst = Math.max(worst, Math.abs(jstat.beta.inv(p, a, b) / ours - 1));
      }
    expect(worst).toBeLessThan(6e-8);
    expect(worst).toBeGreaterThan(1e-10);
  });
});
