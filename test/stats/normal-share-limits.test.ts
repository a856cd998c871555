import { expect, it } from 'vitest';
import { GUESS_RATE, type TestKind } from '@oddglass/shared/stats/discrimination/guessing.ts';
import { normalShareLimits } from '@oddglass/shared/stats/discrimination/normal-share-limits.ts';
import {
  exactUpperLimit,
  shareFromProportion,
} from '@oddglass/shared/stats/discrimination/proportion-interval.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectWithin } from './within.ts';

const iso = referenceCase<
  { test: TestKind; correct: number; n: number; one_sided_risk: number }[],
  { pd: number; se_pd: number; pd_upper_normal: number; pd_lower_normal: number; pd_upper_exact: number }[]
>('pd-iso-normal-limits');

it(`${named(iso)}: as printed, beside the exact limit`, () => {
  expect(iso.input).toHaveLength(3);
  iso.input.forEach(({ test, correct, n, one_sided_risk: risk }, index) => {
    const wanted = iso.expected[index];
    if (!wanted) throw new Error('limits expected');
    const guessRate = GUESS_RATE[test];
    const ours = normalShareLimits({ correct, n, guessRate, risk });
    expectWithin(ours.estimate, wanted.pd, iso.tolerance);
    expectWithin(ours.standardError, wanted.se_pd, iso.tolerance);
    expectWithin(ours.lower, wanted.pd_lower_normal, iso.tolerance);
    expectWithin(ours.upper, wanted.pd_upper_normal, iso.tolerance);
    const exact = shareFromProportion(exactUpperLimit({ correct, n, risk }), guessRate);
    expectWithin(exact, wanted.pd_upper_exact, iso.tolerance);
    expect(ours.upper).toBeLessThan(exact);
  });
});

it('normal limits collapse where all are right, and need data', () => {
  expect(normalShareLimits({ correct: 9, n: 9, guessRate: 1 / 3, risk: 0.05 })).toMatchObject({
    standardError: 0,
    lower: 1,
    upper: 1,
  });
  expect(normalShareLimits({ correct: 0, n: 0, guessRate: 1 / 3, risk: 0.05 })).toMatchObject({
    upper: null,
  });
  expect(() => normalShareLimits({ correct: 1, n: 3, guessRate: 1 / 3, risk: 0 })).toThrowError(/risk/);
});
