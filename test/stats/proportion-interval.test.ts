import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { lowerTail, upperTail } from '@oddglass/shared/stats/binomial.ts';
import {
  clopperPearson,
  exactUpperLimit,
  shareFromProportion,
  shareOfDiscriminators,
  wilson,
} from '@oddglass/shared/stats/discrimination/proportion-interval.ts';
import { GUESS_RATE, type TestKind } from '@oddglass/shared/stats/discrimination/guessing.ts';
import { psychometric, type ThurstonianTest } from '@oddglass/shared/stats/discrimination/psychometric.ts';
import { dPrimeInterval } from '@oddglass/shared/stats/discrimination/d-prime.ts';
import { exactP } from '@oddglass/shared/stats/discrimination/exact-p.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { betaQuantile } from '@oddglass/shared/stats/jstat.ts';
import { fraction, named, referenceCase, referenceIds } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

interface Expected {
  pc: number;
  pd: number;
  pd_untruncated: number;
  pd_one_sided_upper_95_exact: number;
  pd_one_sided_lower_95_exact: number;
  [limits: string]: number | [number, number];
}

const single = referenceIds('ci-')
  .filter((id) => !['ci-n0', 'ci-newcombe-1998'].includes(id))
  .map((id) => referenceCase<{ test: TestKind; correct: number; n: number; p0: string }, Expected>(id));

describe('intervals for the proportion correct and the share of discriminators', () => {
  it('has seven reference cases to meet', () => {
    expect(single).toHaveLength(7);
  });

  it.each(single.map((one) => [named(one), one] as const))('%s', (_, { input, expected, tolerance }) => {
    const { correct, n } = input;
    const guessRate = fraction(input.p0);
    for (const percent of [90, 95]) {
      for (const [key, method] of [
        ['clopper_pearson', clopperPearson],
        ['wilson', wilson],
      ] as const) {
        const interval = method({ correct, n, level: percent / 100 });
        expectWithin(interval.estimate, expected.pc, tolerance);
        expectPair([interval.lower, interval.upper], expected[`${key}_${percent}`], tolerance);
        const { lower, upper } = interval;
        const share = shareOfDiscriminators({ correct, n, lower, upper, guessRate });
        if (!share) throw new Error('share expected');
        expectWithin(share.estimate, expected.pd, tolerance);
        expectWithin(share.untruncated, expected.pd_untruncated, tolerance);
        expectPair([share.lower, share.upper], expected[`pd_${key}_${percent}`], tolerance);
        expectPair(
          [share.lowerUntruncated, share.upperUntruncated],
          expected[`pd_${key}_${percent}_untruncated`],
          tolerance,
        );
        if (key === 'clopper_pearson' && percent === 90) {
          expectWithin(share.lower, expected.pd_one_sided_lower_95_exact, tolerance);
          expectWithin(share.upper, expected.pd_one_sided_upper_95_exact, tolerance);
        }
      }
    }
  });

  const newcombe = referenceCase<
    { x: number; n: number }[],
    { wilson: [number, number]; clopper_pearson: [number, number] }[]
  >('ci-newcombe-1998');
  it(named(newcombe), () => {
    newcombe.input.forEach(({ x, n }, index) => {
      const wanted = newcombe.expected[index];
      const score = wilson({ correct: x, n, level: 0.95 });
      expectPair([score.lower, score.upper], wanted?.wilson, newcombe.tolerance);
      const exact = clopperPearson({ correct: x, n, level: 0.95 });
      expectPair([exact.lower, exact.upper], wanted?.clopper_pearson, newcombe.tolerance);
    });
  });

  const none = referenceCase<
    { correct: number; n: number },
    { pc: null; ci: [number, number]; p: number; pd: null; dprime: null }
  >('ci-n0');
  it(named(none), () => {
    for (const interval of [clopperPearson, wilson]) {
      const { estimate, lower, upper } = interval({ ...none.input, level: 0.95 });
      expect(estimate).toBe(none.expected.pc);
      expect([lower, upper]).toEqual(none.expected.ci);
    }
    expect(exactP({ ...none.input, guessRate: 1 / 3 })).toBe(none.expected.p);
    expect(shareOfDiscriminators({ ...none.input, lower: 0, upper: 1, guessRate: 1 / 3 })).toBe(
      none.expected.pd,
    );
    const d = dPrimeInterval({ ...none.input, test: 'triangle', lower: 0, upper: 1 });
    expect(d.estimate).toBe(none.expected.dprime);
    expect([d.lower, d.upper]).toEqual([0, null]);
  });

  const iso = referenceCase<
    { test: TestKind; correct: number; n: number; one_sided_risk: number }[],
    { pd: number; pd_upper_exact: number }[]
  >('pd-iso-normal-limits');
  it(`${named(iso)}: the exact limit and the estimate`, () => {
    iso.input.forEach(({ test, correct, n, one_sided_risk: risk }, index) => {
      const upper = exactUpperLimit({ correct, n, risk });
      const wanted = iso.expected[index];
      expectWithin(
        shareFromProportion(upper, GUESS_RATE[test]),
        wanted?.pd_upper_exact ?? NaN,
        iso.tolerance,
      );
      expectWithin(shareFromProportion(correct / n, GUESS_RATE[test]), wanted?.pd ?? NaN, iso.tolerance);
    });
  });

  const specific = referenceCase<{ dprime: number[] }, Record<ThurstonianTest, number[]>>(
    'pd-is-method-specific',
  );
  it(named(specific), () => {
    const tests = Object.keys(specific.expected) as ThurstonianTest[];
    expect(tests).toHaveLength(5);
    for (const test of tests) {
      specific.input.dprime.forEach((d, index) => {
        const pd = shareFromProportion(psychometric(test, d), GUESS_RATE[test]);
        expectWithin(pd, specific.expected[test][index] ?? NaN, specific.tolerance, test);
      });
    }
  });

  it('sides must match: triangle 15 of 30 has p <= 0.05 and a 95 % two-sided interval that holds pd = 0', () => {
    expect(exactP({ correct: 15, n: 30, guessRate: 1 / 3 })).toBeLessThan(0.05);
    expect(clopperPearson({ correct: 15, n: 30, level: 0.95 }).lower).toBeLessThan(1 / 3);
    expect(clopperPearson({ correct: 15, n: 30, level: 0.9 }).lower).toBeGreaterThan(1 / 3);
  });

  it('flags an interval that lies below guessing', () => {
    const { lower, upper } = clopperPearson({ correct: 0, n: 12, level: 0.95 });
    const low = shareOfDiscriminators({ correct: 0, n: 12, lower, upper, guessRate: 1 / 3 });
    expect(low).toMatchObject({ belowGuessing: true, estimate: 0, lower: 0, upper: 0 });
  });
});

describe('interval properties', () => {
  const counts = fc.integer({ min: 1, max: 1000 }).chain((n) =>
    fc.record({
      n: fc.constant(n),
      correct: fc.integer({ min: 0, max: n }),
      level: fc.constantFrom(0.8, 0.9, 0.95, 0.99),
    }),
  );

  it('holds the estimate and stays in 0..1', () => {
    fc.assert(
      fc.property(counts, ({ n, correct, level }) => {
        for (const method of [clopperPearson, wilson]) {
          const { lower, upper } = method({ correct, n, level });
          expect(lower).toBeGreaterThanOrEqual(0);
          expect(lower).toBeLessThanOrEqual(correct / n);
          expect(upper).toBeGreaterThanOrEqual(correct / n);
          expect(upper).toBeLessThanOrEqual(1);
          expect(upper - lower).toBeGreaterThan(0);
        }
      }),
    );
  });

  it('Clopper-Pearson limits give back the risk in each tail, and equal the beta quantiles', () => {
    fc.assert(
      fc.property(counts, ({ n, correct, level }) => {
        const { lower, upper } = clopperPearson({ correct, n, level });
        const risk = (1 - level) / 2;
        if (correct > 0) {
          expectRelative(upperTail(correct, n, lower), risk, 1e-10);
          expectRelative(lower, betaQuantile(risk, correct, n - correct + 1), 1e-11);
        }
        if (correct < n) {
          expectRelative(lowerTail(correct, n, upper), risk, 1e-10);
          expectRelative(upper, betaQuantile(1 - risk, correct + 1, n - correct), 1e-11);
        }
      }),
    );
  });

  it('refuses a level of 0 or 1 and counts that cannot be', () => {
    for (const method of [clopperPearson, wilson]) {
      expect(() => method({ correct: 1, n: 2, level: 1 })).toThrowError(StatsInputError);
      expect(() => method({ correct: 1, n: 2, level: 0 })).toThrowError(
        expect.objectContaining({ field: 'level' }),
      );
      expect(() => method({ correct: 3, n: 2, level: 0.9 })).toThrowError(
        expect.objectContaining({ field: 'correct' }),
      );
    }
    expect(() =>
      shareOfDiscriminators({ correct: 1, n: 2, lower: -1, upper: 1, guessRate: 0.5 }),
    ).toThrowError(StatsInputError);
  });
});

function expectPair(actual: [number, number], expected: unknown, tolerance: number): void {
  if (!Array.isArray(expected)) throw new Error('a pair of limits expected');
  expectWithin(actual[0], Number(expected[0]), tolerance, 'lower');
  expectWithin(actual[1], Number(expected[1]), tolerance, 'upper');
}
