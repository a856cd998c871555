import { describe, expect, it } from 'vitest';
import { storyOf } from '@oddglass/shared/analysis/story/story.ts';
import type { NextMarks, StoryInput } from '@oddglass/shared/contracts/story.ts';
import { xoshiro } from '@oddglass/shared/ground/fast-random.ts';
import { peopleForMarks } from '@oddglass/shared/planner/people-for-marks.ts';
import { withinAssessors } from '@oddglass/shared/stats/rating/within-assessors.ts';
import { simulatedPanel } from '../../support/percepts.ts';
import { bareTrial, COOL, evening, WARM } from './story-input.ts';

const sessions = [evening(1, { on: '2026-03-04', people: 30, right: 8, more: 6 })];
const told = (input: StoryInput): Map<string, NextMarks> =>
  new Map(storyOf(input).forward.nextMarks.map((next) => [next.key.split('|')[0] ?? '', next]));
const advice = told({ ...bareTrial(), sessions });

/** How often the page's own test shows a difference, of panels whose marks scatter as told; none of our formulas. */
function shown(plan: NonNullable<NextMarks['plan']>, panels: number, seed: number): number {
  const panel = simulatedPanel(seed);
  const next = xoshiro([seed, 2, 3, 4]);
  const random = { bytes: (count: number) => Uint8Array.from({ length: count }, () => next() & 255) };
  let found = 0;
  for (let at = 0; at < panels; at += 1) {
    const rows = Array.from({ length: plan.assessors }, () => {
      const level = 15 * panel.normal();
      return [plan.difference, 0].map((effect) => level + effect + plan.scatter * panel.normal());
    });
    const test = withinAssessors({ rows, random, permutations: 1999 });
    found += Number(test !== null && test.p <= plan.alpha);
  }
  return found / panels;
}

describe('what would settle an attribute', () => {
  it('is planned for the lower plausible limit of what was shown, else for a size that would matter', () => {
    const [sour, body] = [advice.get('sour'), advice.get('body')];
    expect(sour?.from).toBe('lower-limit');
    expect([...(sour?.armIds ?? [])].sort()).toEqual([COOL, WARM]);
    const figures = sessions[0]!.result.parts.find((part) => part.kind === 'rating')!.attributes[0]!;
    const [pair] = figures.pairs;
    expect(sour?.plan?.difference).toBeCloseTo(Math.min(Math.abs(pair!.lower), Math.abs(pair!.upper)), 12);
    expect(sour?.plan?.difference).toBeLessThan(Math.abs(pair!.difference));
    expect(sour?.plan?.scatter).toBeCloseTo(figures.spread!.residual, 12);
    expect(body?.from).toBe('matters');
    expect(body?.plan?.difference).toBe(10);
    expect(body?.sentence).toContain('nothing is found would not mean that the arms are alike');
    // Two arms, a cup of 40 mL each.
    expect(sour?.plan?.needMl).toEqual([40 * sour!.plan!.assessors, 40 * sour!.plan!.assessors]);
  });

  it('keeps its promise of 80 % in simulated panels, at the size and the scatter it names', () => {
    const PANELS = 1500;
    const small = told({
      ...bareTrial(),
      sessions: [evening(1, { on: '2026-03-04', people: 60, right: 8, more: 3 })],
    }).get('sour')!;
    expect(small.from).toBe('lower-limit');
    expect(small.plan!.assessors).toBeGreaterThan(12);
    for (const [at, next] of [small, ...advice.values()].entries()) {
      expect(next.plan?.power).toBe(0.8);
      const error = Math.sqrt((0.8 * 0.2) / PANELS);
      expect(shown(next.plan!, PANELS, 20261127 + at), next.sentence).toBeGreaterThan(0.8 - 2 * error);
    }
  });

  it('says when people or liquid do not reach', () => {
    const few = [evening(1, { on: '2026-03-04', people: 6, right: 2, more: 0 })];
    const none = told({ ...bareTrial(), sessions: few }).get('sour');
    expect(none?.plan).toBeNull();
    expect(none?.sentence).toContain('at most 6 came so far');
    const bare = bareTrial();
    const dry = told({ ...bare, arms: bare.arms.map((arm) => ({ ...arm, volumeMl: 50 })), sessions });
    expect(dry.get('sour')?.plan).toBeNull();
    expect(dry.get('sour')?.sentence).toContain('the liquid left does not reach');
  });

  it('asks about no arm that the trial no longer has', () => {
    const bare = bareTrial();
    const left = { ...bare, arms: bare.arms.filter(({ id }) => id === COOL), sessions };
    expect(told(left).size).toBe(0);
  });
});

// Size, standard deviation of a mark, alpha, and what R asks for.
const R_PEOPLE = [
  [10, 10, 0.05, 24],
  [6, 10, 0.05, 61],
  [4, 10, 0.05, 134],
  [10, 12, 0.05, 33],
  [1, 1.6, 0.05, 56],
  [10, 12, 0.01, 55],
] as const;

describe('people for marks', () => {
  const people = (size: number, within: number, alpha = 0.05): number | null =>
    peopleForMarks({ size, within, apart: 0, trays: 1, alpha, most: 200 });

  it('asks for as many people as a paired t test of higher power, which leaves room for the test of the page', () => {
    // R 4.2.2: ceiling(power.t.test(delta = size, sd = sqrt(2) * within, sig.level = alpha, power = 0.9, type = "paired",
    // strict = TRUE)$n), power 0.95 at alpha 0.01. Ours is an approximation to the noncentral t: at most one more or less.
    for (const [size, within, alpha, r] of R_PEOPLE) {
      expect(Math.abs((people(size, within, alpha) ?? 0) - r)).toBeLessThanOrEqual(1);
    }
  });

  it('keeps 80 % from the smallest panel on, where the exact test has few steps', () => {
    for (const [size, alpha] of [
      [14.5, 0.05],
      [13.2, 0.05],
      [11.8, 0.05],
      [10.8, 0.05],
      [9, 0.05],
      [17, 0.01],
      [14, 0.1],
    ] as const) {
      const assessors = people(size, 10, alpha)!;
      const plan = {
        kind: 'rating' as const,
        assessors,
        trays: 1,
        alpha,
        power: 0.8,
        difference: size,
        scatter: 10,
        needMl: [],
      };
      expect(shown(plan, 500, assessors), `${assessors} people`).toBeGreaterThan(
        0.8 - 2 * Math.sqrt(0.16 / 500),
      );
    }
  });

  it('counts cups of one person only for the scatter they make smaller', () => {
    const common = { size: 10, alpha: 0.05, most: 200 };
    const once = peopleForMarks({ ...common, within: 12, apart: 8, trays: 1 })!;
    const thrice = peopleForMarks({ ...common, within: 12, apart: 8, trays: 3 })!;
    expect(thrice).toBeLessThan(once);
    expect(thrice).toBe(
      peopleForMarks({ ...common, within: Math.hypot(8, 12 / Math.sqrt(3)), apart: 0, trays: 1 }),
    );
    expect(peopleForMarks({ ...common, within: 0, apart: 0, trays: 1, size: 0 })).toBeNull();
    expect(people(0.1, 10)).toBeNull();
    expect(() => people(-1, 10)).toThrow('size is -1');
  });
});
