import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import {
  bestCriterion,
  sameDifferentSize,
  saysDifferent,
} from '@oddglass/shared/stats/discrimination/same-different.ts';
import {
  fewestHits,
  powerOfSameDifferent,
  smallestForSameDifferent,
} from '@oddglass/shared/stats/discrimination/same-different-power.ts';
import { fisherExact } from '@oddglass/shared/stats/discrimination/fisher-exact.ts';
import { normalQuantile } from '@oddglass/shared/stats/normal.ts';
import { simulatedPanel } from '../support/percepts.ts';
import { SOFTWARE, VALUES } from './discrimination-values.ts';
import { expectRelative, expectWithin } from './within.ts';

const pair = fc.record({
  answers: fc.integer({ min: 1, max: 60 }),
  part: fc.double({ min: 0, max: 1, noNaN: true }),
});
const counts = fc.record({ different: pair, same: pair }).map(({ different, same }) => ({
  different: { answers: different.answers, said: Math.round(different.part * different.answers) },
  same: { answers: same.answers, said: Math.round(same.part * same.answers) },
}));

describe('the differencing model', () => {
  test.each([
    [0, 1],
    [1, 1.2],
    [2, 0.5],
    [3, 2.5],
  ])('d’ %d, criterion %d: as often as simulated percepts lie so far apart', (dPrime, criterion) => {
    const panel = simulatedPanel(71);
    const n = 200_000;
    let [hits, alarms] = [0, 0];
    for (let i = 0; i < n; i += 1) {
      if (Math.abs(panel.normal() + dPrime - panel.normal()) > criterion) hits += 1;
      if (Math.abs(panel.normal() - panel.normal()) > criterion) alarms += 1;
    }
    const { hit, falseAlarm } = saysDifferent({ dPrime, criterion });
    for (const [seen, chance] of [
      [hits, hit],
      [alarms, falseAlarm],
    ] as const) {
      expect(Math.abs(seen / n - chance)).toBeLessThan(4.5 * Math.sqrt((chance * (1 - chance)) / n));
    }
  });

  it('has the criterion that is right most often where both kinds of pairs are as likely, and no other is better', () => {
    for (const { dPrime, criterion, hit, falseAlarm } of VALUES.sameDifferentPower) {
      expectRelative(bestCriterion(dPrime), criterion, 1e-9);
      const own = saysDifferent({ dPrime, criterion });
      expectRelative(own.hit, hit, 1e-9);
      expectRelative(own.falseAlarm, falseAlarm, 1e-9);
      for (const off of [-0.1, 0.1]) {
        const other = saysDifferent({ dPrime, criterion: criterion + off });
        expect(other.hit - other.falseAlarm).toBeLessThan(own.hit - own.falseAlarm);
      }
    }
    expectWithin(bestCriterion(0), Math.SQRT2, 1e-12);
    expectWithin(bestCriterion(1e-4), Math.SQRT2, 1e-6);
    // Both forms of arcosh meet.
    expectWithin(bestCriterion(20.001), bestCriterion(19.999), 2e-3);
  });

  it('refuses what is no size and no criterion', () => {
    expect(() => saysDifferent({ dPrime: -1, criterion: 1 })).toThrow(/dPrime/);
    expect(() => saysDifferent({ dPrime: 1, criterion: NaN })).toThrow(/criterion/);
    expect(() => bestCriterion(31)).toThrow(/dPrime/);
  });
});

describe('size of a difference from hits and false alarms', () => {
  it.each(VALUES.sameDifferent)(
    `both by one search and limits by searches over the criterion, ${SOFTWARE}: $different.said of $different.answers, $same.said of $same.answers`,
    ({ estimate, lower, upper, ...input }) => {
      const ours = sameDifferentSize(input);
      if (estimate === null) expect(ours.estimate).toBeNull();
      else expectWithin(ours.estimate, estimate, 1e-4);
      expectWithin(ours.lower, lower, 2e-5);
      if (upper === null) expect(ours.upper).toBeNull();
      else expectWithin(ours.upper, upper, 2e-5);
    },
  );

  it('gives back d’ and criterion that the rates were made of', () => {
    for (const [dPrime, criterion] of [
      [0.8, 1],
      [2, 1.5],
      [3.5, 2.5],
    ] as const) {
      const n = 1e5;
      const { hit, falseAlarm } = saysDifferent({ dPrime, criterion });
      const ours = sameDifferentSize({
        different: { said: Math.round(hit * n), answers: n },
        same: { said: Math.round(falseAlarm * n), answers: n },
        level: 0.9,
      });
      expectWithin(ours.estimate, dPrime, 1e-3);
      expectWithin(ours.criterion, criterion, 1e-3);
      // In large samples both ways to an interval agree.
      const reach = normalQuantile(0.95) * (ours.standardError ?? NaN);
      expectWithin(ours.lower, dPrime - reach, 0.1 * reach + 1e-3);
      expectWithin(ours.upper, dPrime + reach, 0.1 * reach + 1e-3);
    }
  });

  it('holds the estimate between its limits, which widen with less weight, for any counts', () => {
    fc.assert(
      fc.property(counts, (input) => {
        const whole = sameDifferentSize({ ...input, level: 0.9 });
        const half = sameDifferentSize({ ...input, level: 0.9, weight: 0.5 });
        expect(half.estimate).toBe(whole.estimate);
        expect(half.lower).toBeLessThanOrEqual(whole.lower + 1e-9);
        if (whole.estimate !== null) {
          expect(whole.lower).toBeLessThanOrEqual(whole.estimate + 1e-9);
          // Where 'different' was said never, or always, no size is too large.
          const said = input.different.said + input.same.said;
          const all = input.different.answers + input.same.answers;
          expect(whole.upper === null).toBe(said === 0 || said === all);
          expect(whole.upper ?? Infinity).toBeGreaterThanOrEqual(whole.estimate - 1e-9);
          expect(half.upper ?? Infinity).toBeGreaterThanOrEqual((whole.upper ?? 0) - 1e-9);
        } else expect(whole.upper).toBeNull();
      }),
      { numRuns: 60 },
    );
  });

  it('no answers to a kind of pairs, no false alarm, all hits, no more hits than false alarms', () => {
    const none = { said: 0, answers: 0 };
    const level = 0.9;
    expect(sameDifferentSize({ different: none, same: { said: 1, answers: 3 }, level })).toMatchObject({
      estimate: null,
      criterion: null,
      lower: 0,
      upper: null,
    });
    const clear = sameDifferentSize({
      different: { said: 9, answers: 12 },
      same: { said: 0, answers: 12 },
      level,
    });
    expect(clear).toMatchObject({ estimate: null, criterion: null, standardError: null, upper: null });
    expect(clear.lower).toBeGreaterThan(1);
    const turned = sameDifferentSize({
      different: { said: 2, answers: 10 },
      same: { said: 7, answers: 10 },
      level,
    });
    expect(turned).toMatchObject({ estimate: 0, standardError: null, lower: 0 });
    expect(() => sameDifferentSize({ different: none, same: none, level: 1 })).toThrow(/level/);
    expect(() => sameDifferentSize({ different: none, same: none, level, weight: 0 })).toThrow(/weight/);
    expect(() => sameDifferentSize({ different: { said: 3, answers: 2 }, same: none, level })).toThrow(
      /said/,
    );
  });
});

describe('power', () => {
  it.each(VALUES.sameDifferentPower)(
    `over all counts, ${SOFTWARE}: $assessors people, $trays trays, d’ $dPrime`,
    ({ assessors, trays, alpha, dPrime, power }) => {
      const ours = powerOfSameDifferent({ assessors, trays, alpha, dPrime });
      // Of an odd number of people the lower of two ways to deal is taken.
      if (assessors % 2 === 0 || trays > 1) expectRelative(ours.power, power, 1e-9);
      else expect(ours.power).toBeLessThanOrEqual(power + 1e-12);
    },
  );

  it('fewest hits are those that Fisher’s test finds significant, and one less is not', () => {
    for (const [different, same] of [
      [12, 12],
      [7, 8],
      [30, 20],
    ] as const) {
      for (let said = 1; said < different + same; said += 1) {
        const fewest = fewestHits(different, same, said, 0.05);
        const p = (yes: number): number =>
          fisherExact({
            first: { yes, n: different },
            second: { yes: said - yes, n: same },
            side: 'greater',
          }).p;
        const most = Math.min(different, said);
        if (fewest === null) expect(p(most)).toBeGreaterThan(0.05);
        else {
          expect(p(fewest)).toBeLessThanOrEqual(0.05);
          if (fewest > Math.max(0, said - same)) expect(p(fewest - 1)).toBeGreaterThan(0.05);
        }
      }
    }
  });

  it('without a difference never more than alpha, whatever the criterion', () => {
    for (const trays of [1, 2, 4] as const) {
      for (const falseAlarmRate of [0.02, 0.1, 0.3, 0.5, 0.8]) {
        for (const assessors of [6, 12, 25, 60]) {
          const { power } = powerOfSameDifferent({
            assessors,
            trays,
            alpha: 0.05,
            dPrime: 0,
            falseAlarmRate,
          });
          expect(power).toBeLessThanOrEqual(0.05 + 1e-12);
        }
      }
    }
  });

  it('four trays: no more than if both twos of a palate were independent, and finds what eight twos find', () => {
    const plan = { alpha: 0.05, dPrime: 2 };
    const four = powerOfSameDifferent({ ...plan, assessors: 12, trays: 4 }).power;
    expect(four).toBeLessThanOrEqual(powerOfSameDifferent({ ...plan, assessors: 24, trays: 2 }).power);
    expect(four).toBeGreaterThan(powerOfSameDifferent({ ...plan, assessors: 12, trays: 2 }).power);
  });

  it('the smallest panel is the first that reaches the goal', () => {
    const plan = { trays: 2, alpha: 0.05, dPrime: 2 } as const;
    const { first, stable } = smallestForSameDifferent({ ...plan, beta: 0.2 }) ?? { first: 0, stable: 0 };
    expect(powerOfSameDifferent({ ...plan, assessors: first }).power).toBeGreaterThanOrEqual(0.8);
    for (let n = 1; n < first; n += 1) {
      expect(powerOfSameDifferent({ ...plan, assessors: n }).power).toBeLessThan(0.8);
    }
    for (let n = stable; n < stable + 30; n += 1) {
      expect(powerOfSameDifferent({ ...plan, assessors: n }).power).toBeGreaterThanOrEqual(0.8);
    }
    expect(smallestForSameDifferent({ ...plan, dPrime: 0.2, beta: 0.2 })).toBeNull();
    expect(() => powerOfSameDifferent({ ...plan, assessors: 0 })).toThrow(/assessors/);
    expect(powerOfSameDifferent({ ...plan, assessors: 9, falseAlarmRate: 1 }).power).toBe(0);
  });
});
