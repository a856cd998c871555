import { storyOf } from '@oddglass/shared/analysis/story/story.ts';
import { DIFFERENCES } from '@oddglass/shared/kinds/kinds.ts';
import { peopleForMarks, scatterOfMarks, MARKS_POWER } from '@oddglass/shared/planner/people-for-marks.ts';
import { criticalNumber } from '@oddglass/shared/stats/discrimination/critical-number.ts';
import { withinAssessors } from '@oddglass/shared/stats/rating/within-assessors.ts';
import { bareTrial, evening } from '../analysis/story/story-input.ts';
import { calibrate, type CalibrationRow } from './calibration.ts';
import { randomOf } from './calibration-verdicts.ts';
import { count, type Panel } from './percepts.ts';

// What a story says a next session would settle, beside what happens to panels of that size. The test of the page decides.

/** Size in units of the scale, scatter of one person's marks, what people taste apart, and cups of each. */
const MARKED = [
  { size: 14.5, within: 10, apart: 0, trays: 1, alpha: 0.05 },
  { size: 10, within: 10, apart: 0, trays: 1, alpha: 0.05 },
  { size: 6, within: 10, apart: 0, trays: 1, alpha: 0.05 },
  { size: 10, within: 10, apart: 8, trays: 3, alpha: 0.05 },
  { size: 17, within: 10, apart: 0, trays: 1, alpha: 0.01 },
] as const;

/** The advice of the story for tests of difference, and for marks. */
export function storyClaims(panel: Panel, runs: number, dear: number): CalibrationRow[] {
  const day = { on: '2031-03-04', people: 60, more: 0 };
  const tests = [22, 38, 46].map((right) => evening(1, { ...day, right }));
  return [
    ...tests.map((session) => {
      const next = storyOf({ ...bareTrial(), sessions: [session] }).forward.next[0];
      if (!next?.plan) throw new RangeError('every one of these has a plan');
      const { kind, assessors, alpha, power, dPrime } = next.plan;
      const { stats, guessRate } = DIFFERENCES[kind as keyof typeof DIFFERENCES].test;
      const critical = criticalNumber({ n: assessors, alpha, guessRate }) ?? Infinity;
      return calibrate({
        kind: 'prediction',
        method: 'advice of a story, test of difference',
        setting: `${kind}, n ${assessors}, d' ${dPrime.toFixed(2)} tasted`,
        promised: power,
        exact: true,
        runs,
        once: () => count(assessors, () => panel.answer(stats, dPrime)) >= critical,
      });
    }),
    ...MARKED.map((cell) => {
      const { size, within, apart, trays, alpha } = cell;
      const assessors = peopleForMarks({ ...cell, most: 200 }) ?? 0;
      const scatter = scatterOfMarks({ within, apart, trays });
      return calibrate({
        kind: 'coverage',
        method: 'advice of a story, marks',
        setting: `${assessors} people, ${trays === 1 ? 'one cup' : `${trays} cups`} of each, size ${(size / scatter).toFixed(2)} SD, alpha ${alpha}`,
        promised: MARKS_POWER,
        exact: true,
        runs: dear,
        once: () => {
          const rows = Array.from({ length: assessors }, () => {
            const level = 15 * panel.normal();
            return [size, 0].map((effect) => {
              const own = level + effect + apart * panel.normal();
              const cups = Array.from({ length: trays }, () => own + within * panel.normal());
              return cups.reduce((sum, mark) => sum + mark, 0) / trays;
            });
          });
          const test = withinAssessors({ rows, random: randomOf(panel), permutations: 1999 });
          return test !== null && test.p <= alpha;
        },
      });
    }),
  ];
}
