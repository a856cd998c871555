import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compareDPrimes } from '@oddglass/shared/stats/discrimination/compare-d-prime.ts';
import { dPrimeInterval } from '@oddglass/shared/stats/discrimination/d-prime.ts';
import type { ThurstonianTest } from '@oddglass/shared/stats/discrimination/psychometric.ts';
import { pull, SOFTWARE, VALUES } from './discrimination-values.ts';
import { expectRelative, expectWithin } from './within.ts';

const level = 0.95;
const TESTS: ThurstonianTest[] = ['2-AFC', '3-AFC', 'duo-trio', 'triangle', 'tetrad', 'two-of-five'];

describe('comparison of two d-primes', () => {
  it.each(VALUES.compare)(`${SOFTWARE}, optimize.minimize_scalar: $first and $second`, (row) => {
    const ours = compareDPrimes({ first: pull(row.first), second: pull(row.second), level });
    expectRelative(ours.likelihoodRatio, row.likelihoodRatio, 1e-9);
    expectRelative(ours.p, row.p, 1e-9);
    expectWithin(ours.common, row.common, 1e-6);
  });

  it('z is the difference over the root of the squared standard errors', () => {
    const first = { test: 'triangle', correct: 20, n: 30 } as const;
    const second = { test: 'tetrad', correct: 20, n: 40 } as const;
    const [one, two] = [first, second].map((each) => dPrimeInterval({ ...each, lower: 0, upper: 1 }));
    const ours = compareDPrimes({ first, second, level });
    const z =
      ((one?.estimate ?? NaN) - (two?.estimate ?? NaN)) /
      Math.hypot(one?.standardError ?? NaN, two?.standardError ?? NaN);
    expectRelative(ours.z, z, 1e-12);
    expect(ours.difference).toBe((one?.estimate ?? NaN) - (two?.estimate ?? NaN));
  });

  const pulls = fc.integer({ min: 1, max: 60 }).chain((n) =>
    fc.record({
      test: fc.constantFrom(...TESTS),
      n: fc.constant(n),
      correct: fc.integer({ min: 0, max: n }),
    }),
  );
  it('turns its sign and nothing else when the pulls change places', () => {
    fc.assert(
      fc.property(pulls, pulls, (first, second) => {
        const ours = compareDPrimes({ first, second, level });
        const turned = compareDPrimes({ first: second, second: first, level });
        expectWithin(turned.likelihoodRatio, ours.likelihoodRatio ?? NaN, 1e-9);
        if (ours.difference !== null) expectWithin(turned.difference, -ours.difference, 1e-12);
        if (ours.lower !== null) expectWithin(turned.upper, -ours.lower, 1e-9);
        if (ours.lower !== null && ours.upper !== null && ours.difference !== null) {
          expect(ours.lower).toBeLessThanOrEqual(ours.difference);
          expect(ours.upper).toBeGreaterThanOrEqual(ours.difference);
        }
        expect(ours.p).toBeGreaterThanOrEqual(0);
        expect(ours.p).toBeLessThanOrEqual(1);
      }),
      { numRuns: 60 },
    );
  });

  it('the same answers do not differ; both below guessing neither', () => {
    const same = { test: 'triangle', correct: 14, n: 30 } as const;
    expect(compareDPrimes({ first: same, second: same, level })).toMatchObject({
      difference: 0,
      likelihoodRatio: 0,
      p: 1,
      z: 0,
    });
    const low = compareDPrimes({
      first: { test: 'triangle', correct: 3, n: 30 },
      second: { test: 'duo-trio', correct: 9, n: 30 },
      level,
    });
    expect(low).toMatchObject({ difference: 0, common: 0, likelihoodRatio: 0, p: 1, z: null, pOfZ: null });
  });

  it('all right is unbounded but can still be compared', () => {
    const first = { test: 'triangle', correct: 12, n: 12 } as const;
    const ours = compareDPrimes({ first, second: { test: 'triangle', correct: 4, n: 12 }, level });
    expect(ours).toMatchObject({ first: null, difference: null, lower: null, upper: null, z: null });
    expect(ours.p).toBeLessThan(0.001);
    expect(compareDPrimes({ first, second: { test: 'tetrad', correct: 9, n: 9 }, level })).toMatchObject({
      common: null,
      likelihoodRatio: 0,
      p: 1,
    });
  });

  it('one pull without data leaves nothing to compare', () => {
    const first = { test: 'triangle', correct: 15, n: 30 } as const;
    const none = { test: 'triangle', correct: 0, n: 0 } as const;
    const ours = compareDPrimes({ first, second: none, level });
    expect(ours).toMatchObject({ second: null, difference: null, likelihoodRatio: null, p: 1 });
    expect(ours.common).toBe(ours.first);
    expect(compareDPrimes({ first: none, second: none, level }).common).toBeNull();
  });

  it('names the field it refuses', () => {
    const fine = { test: 'triangle', correct: 15, n: 30 } as const;
    expect(() => compareDPrimes({ first: fine, second: { ...fine, correct: 31 }, level })).toThrowError(
      /correct/,
    );
    expect(() => compareDPrimes({ first: fine, second: fine, level: 0 })).toThrowError(/level/);
  });
});
