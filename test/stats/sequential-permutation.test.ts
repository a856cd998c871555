import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { cochranQ } from '@oddglass/shared/stats/descriptor/cochran-q.ts';
import { fastRandom } from '@oddglass/shared/ground/fast-random.ts';
import { atOnce } from '@oddglass/shared/ground/in-slices.ts';
import { exactTail, permutationTail, sequentialTailSteps } from '@oddglass/shared/stats/row-permutation.ts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const seeded = (seed: number) => seededRandom(new Uint8Array(32).fill(seed % 256));
const choices = fc.array(fc.array(fc.constantFrom(0, 1), { minLength: 4, maxLength: 4 }), {
  minLength: 3,
  maxLength: 10,
});

// Besag & Clifford 1991, Biometrika 78:301 (from memory).
describe('random orders that stop early', () => {
  it('are all drawn, with the same p, when the stop is out of reach', () => {
    fc.assert(
      fc.property(choices, fc.integer({ min: 0, max: 255 }), (rows, seed) => {
        const random = () => fastRandom(seeded(seed));
        const stop = { permutations: 299, enough: 300 };
        const { p, drawn } = atOnce(sequentialTailSteps(rows, { ...stop, random: random() }));
        expect(drawn).toBe(299);
        expect(p).toBe(permutationTail(rows, 299, random()));
      }),
    );
  });

  it('stop with a p close to the exact one, of fewer orders where it is large', () => {
    fc.assert(
      fc.property(choices, fc.integer({ min: 0, max: 255 }), (rows, seed) => {
        const exact = exactTail(rows) ?? NaN;
        const { p, drawn } = atOnce(
          sequentialTailSteps(rows, { permutations: 4999, enough: 100, random: fastRandom(seeded(seed)) }),
        );
        // Five standard errors: a tenth of p each where it stopped early.
        expect(Math.abs(p - exact)).toBeLessThan(
          5 * Math.max(exact / 10, Math.sqrt(exact / 5000)) + 1 / 5000,
        );
        if (drawn < 4999) expect(p).toBe(100 / drawn);
      }),
      { numRuns: 60 },
    );
  });

  it('do not fall below their level: mean share of p at or below 0.2 over panels by chance', () => {
    const chance = seeded(77);
    let below = 0;
    for (let trial = 0; trial < 300; trial += 1) {
      const rows = Array.from({ length: 30 }, () => [...chance.bytes(5)].map((byte) => byte % 2));
      const test = cochranQ({ rows, random: chance, permutations: 999, enough: 20, mostSteps: 1 });
      expect(test.route).toBe('permutation');
      if (test.p <= 0.2) below += 1;
    }
    // 60 expected, standard deviation 6.9.
    expect(below).toBeGreaterThan(25);
    expect(below).toBeLessThan(88);
  });

  it('say how many were drawn', () => {
    const rows = Array.from({ length: 40 }, (_unused, i) =>
      [0, 1, 2, 3, 4].map((j) => ((i * 7 + j * 3) % 5 === 0 ? 1 : 0)),
    );
    const test = cochranQ({ rows, random: seeded(1), permutations: 1999, enough: 50, mostSteps: 1 });
    expect(test.permutations).toBeLessThan(1999);
    expect(test.permutations).toBeGreaterThanOrEqual(50);
    expect(() => cochranQ({ rows, enough: 3 })).toThrow('enough');
  });
});
