import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { penaltyLift } from '@oddglass/shared/stats/descriptor/penalty-lift.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { computed } from './ranking-descriptor-values.ts';
import { expectRelative, expectWithin } from './within.ts';

describe('penalty-lift', () => {
  it('with one choice of two samples each is the paired t test: extra sleep (Student 1908; t = -4.0621, p = 0.002833; from memory)', () => {
    const first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
    const second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
    const ours = penaltyLift({
      liking: first.map((value, i) => [value, second[i] ?? NaN]),
      chosen: first.map(() => [1, 0]),
      level: 0.95,
    });
    for (const { estimate, standardError, lower, upper, p } of [ours.lift, ours.within]) {
      expectWithin(estimate, -1.58, 1e-12);
      expectWithin((estimate ?? NaN) / (standardError ?? NaN), -4.0621, 5e-5);
      expectWithin(p, 0.002833, 5e-7);
      expectWithin(lower, -2.4598858, 1e-6);
      expectWithin(upper, -0.7001142, 1e-6);
    }
    expect(ours).toMatchObject({ chosen: 10, notChosen: 10, share: 0.5, assessors: 10 });
  });

  it(`30 random panels: jackknife and least squares with a level per assessor by NumPy, t by SciPy (${computed.about})`, () => {
    for (const { chosen, liking, lift, within } of computed.lift) {
      const ours = penaltyLift({ chosen, liking, level: 0.95 });
      for (const [mine, theirs] of [
        [ours.lift, lift],
        [ours.within, within],
      ] as const) {
        const [estimate = NaN, se = NaN, lower = NaN, p = NaN] = theirs;
        expectWithin(mine.estimate, estimate, 1e-10);
        expectRelative(mine.standardError, se, 1e-9);
        expectWithin(mine.lower, lower, 1e-9);
        expectRelative(mine.p, p, 1e-8);
      }
    }
  });

  it('within is free of how high each assessor scores, the pooled lift is not', () => {
    const chosen = [
      [1, 0, 0],
      [1, 1, 0],
      [0, 1, 0],
      [1, 0, 1],
    ];
    const liking = [
      [6, 5, 4],
      [7, 6, 6],
      [3, 5, 2],
      [8, 6, 9],
    ];
    const raised = liking.map((row, i) => row.map((value) => value + 10 * i));
    const [before, after] = [liking, raised].map((values) =>
      penaltyLift({ chosen, liking: values, level: 0.95 }),
    );
    expectWithin(after?.within.estimate ?? NaN, before?.within.estimate ?? NaN, 1e-12);
    expect(Math.abs((after?.lift.estimate ?? NaN) - (before?.lift.estimate ?? NaN))).toBeGreaterThan(1);
  });

  const panel = fc
    .record({ k: fc.integer({ min: 2, max: 4 }), n: fc.integer({ min: 3, max: 8 }) })
    .chain(({ k, n }) =>
      fc.record({
        chosen: fc.array(fc.array(fc.constantFrom(0, 1, null), { minLength: k, maxLength: k }), {
          minLength: n,
          maxLength: n,
        }),
        liking: fc.array(fc.array(fc.constantFrom(1, 2, 5, 7, 9, null), { minLength: k, maxLength: k }), {
          minLength: n,
          maxLength: n,
        }),
      }),
    );

  it('turns its sign with the choice, scales with liking, and does not mind any order', () => {
    fc.assert(
      fc.property(panel, ({ chosen, liking }) => {
        const ours = penaltyLift({ chosen, liking, level: 0.9 });
        const turned = penaltyLift({
          chosen: chosen.map((row) => row.map((value) => (value === null ? null : 1 - value))).toReversed(),
          liking: liking
            .map((row) => row.map((value) => (value === null ? null : 2 * value + 3)))
            .toReversed(),
          level: 0.9,
        });
        for (const name of ['lift', 'within'] as const) {
          const [one, other] = [ours[name], turned[name]];
          expect(other.estimate === null).toBe(one.estimate === null);
          expect(other.standardError === null).toBe(one.standardError === null);
          if (one.estimate !== null) expectWithin(other.estimate, -2 * one.estimate, 1e-11);
          if (one.standardError !== null) expectWithin(other.standardError, 2 * one.standardError, 1e-10);
          if (one.p !== null) expectWithin(other.p, one.p, 1e-8);
        }
        expect(turned.chosen).toBe(ours.notChosen);
      }),
    );
  });

  it('is null where nothing can be compared', () => {
    const none = { estimate: null, standardError: null, lower: null, upper: null, p: null };
    const never = penaltyLift({
      liking: [
        [5, 6],
        [7, 8],
      ],
      chosen: [
        [0, 0],
        [0, 0],
      ],
      level: 0.95,
    });
    expect(never).toMatchObject({ lift: none, within: none, meanChosen: null, meanNotChosen: 6.5, share: 0 });
    expect(penaltyLift({ liking: [], chosen: [], level: 0.95 })).toMatchObject({
      lift: none,
      share: null,
      assessors: 0,
    });
    // One assessor: a difference, but no way to tell how sure it is.
    expect(penaltyLift({ liking: [[7, 4]], chosen: [[1, 0]], level: 0.95 }).lift).toEqual({
      ...none,
      estimate: 3,
    });
    // All of it from one assessor: left out, nothing remains.
    const one = penaltyLift({
      liking: [
        [7, 4],
        [5, 5],
      ],
      chosen: [
        [1, 0],
        [0, 0],
      ],
      level: 0.95,
    });
    expect(one.lift.standardError).toBeNull();
    // Nothing varies: no p.
    expect(
      penaltyLift({
        liking: [
          [7, 4],
          [7, 4],
        ],
        chosen: [
          [1, 0],
          [1, 0],
        ],
        level: 0.95,
      }).lift,
    ).toMatchObject({
      estimate: 3,
      standardError: 0,
      lower: 3,
      upper: 3,
      p: null,
    });
  });

  it('refuses shapes that do not match and likings that are no numbers', () => {
    for (const [liking, chosen, field] of [
      [[[1]], [], 'chosen.length'],
      [[[1, 2]], [[1]], 'chosen[0].length'],
      [[[NaN, 2]], [[1, 0]], 'liking[0][0]'],
      [[[1, 2]], [[1, 3]], 'rows[0][1]'],
    ] as const) {
      expect(() => penaltyLift({ liking, chosen, level: 0.95 })).toThrowError(StatsInputError);
      expect(() => penaltyLift({ liking, chosen, level: 0.95 })).toThrowError(
        expect.objectContaining({ field }),
      );
    }
  });
});
