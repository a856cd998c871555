import { aNotA } from '@oddglass/shared/stats/discrimination/a-not-a.ts';
import { compareDPrimes } from '@oddglass/shared/stats/discrimination/compare-d-prime.ts';
import { rIndex } from '@oddglass/shared/stats/discrimination/r-index.ts';
import {
  sequentialOperating,
  sequentialStep,
  type SequentialPlan,
} from '@oddglass/shared/stats/discrimination/sequential.ts';
import { normalCdf } from '@oddglass/shared/stats/normal.ts';
import { calibrate, holds, remembered, type CalibrationRow } from './calibration.ts';
import { count, type Panel } from './percepts.ts';

const ALPHA = 0.05;

/** Tests with a criterion or grades of certainty, comparison of pulls, sequential test. */
export function furtherClaims(panel: Panel, runs: number): CalibrationRow[] {
  const rows: CalibrationRow[] = [];
  for (const n of [15, 50]) {
    const of = remembered((hits, falseAlarms) =>
      aNotA({
        hits: hits ?? 0,
        nA: n,
        falseAlarms: falseAlarms ?? 0,
        nNotA: n,
        level: 0.95,
        side: 'greater',
      }),
    );
    const session = (d: number) => {
      const hits = count(n, () => panel.normal() + d > 0.7);
      return of(
        hits,
        count(n, () => panel.normal() > 0.7),
      );
    };
    const setting = `${n} answers each, criterion at 0.7`;
    rows.push(
      calibrate({
        kind: 'alarm',
        method: 'A / not-A, Fisher exact',
        setting: `${setting}, d' 0`,
        promised: ALPHA,
        exact: true,
        runs,
        once: () => session(0).p <= ALPHA,
      }),
      calibrate({
        kind: 'coverage',
        method: "A / not-A, d' 95 %",
        setting: `${setting}, d' 1`,
        promised: 0.95,
        exact: false,
        runs,
        once: () => {
          const { lower, upper } = session(1);
          return holds({ lower: lower ?? -Infinity, upper }, 1);
        },
      }),
    );
  }
  const graded = (n: number, d: number) => {
    const counts = [0, 0, 0, 0];
    for (let i = 0; i < n; i += 1) {
      const percept = panel.normal() + d;
      const at = percept > 1.2 ? 0 : percept > 0.5 ? 1 : percept > -0.3 ? 2 : 3;
      counts[at] = (counts[at] ?? 0) + 1;
    }
    return counts;
  };
  const index = remembered((...all) =>
    rIndex({ signal: all.slice(0, 4), noise: all.slice(4), level: 0.95, side: 'greater' }),
  );
  // Four grades cannot tell all that percepts do: the true R of these grades, from their chances.
  const cuts = [Infinity, 1.2, 0.5, -0.3, -Infinity];
  const chances = (d: number) =>
    [0, 1, 2, 3].map((i) => normalCdf((cuts[i] ?? 0) - d) - normalCdf((cuts[i + 1] ?? 0) - d));
  const [ofSignal, ofNoise] = [chances(1), chances(0)];
  const truth = ofSignal.reduce(
    (sum, s, i) =>
      sum + ofNoise.reduce((inner, c, j) => inner + (j > i ? s * c : j === i ? (s * c) / 2 : 0), 0),
    0,
  );
  rows.push(
    calibrate({
      kind: 'alarm',
      method: 'R-index, exact test',
      setting: '15 answers each in 4 grades, no difference',
      promised: ALPHA,
      exact: true,
      runs,
      once: () => index(...graded(15, 0), ...graded(15, 0)).p <= ALPHA,
    }),
    calibrate({
      kind: 'coverage',
      method: 'R-index 95 %',
      setting: "30 answers each in 4 grades, d' 1",
      promised: 0.95,
      exact: false,
      runs,
      once: () => {
        const { lower, upper } = index(...graded(30, 1), ...graded(30, 0));
        return holds({ lower: lower ?? 0, upper }, truth);
      },
    }),
  );
  const pulls = remembered((a, b) =>
    compareDPrimes({
      first: { test: 'triangle', correct: a ?? 0, n: 36 },
      second: { test: 'tetrad', correct: b ?? 0, n: 36 },
      level: 0.95,
    }),
  );
  const twice = () =>
    pulls(...(['triangle', 'tetrad'] as const).map((test) => count(36, () => panel.answer(test, 1.5))));
  const setting = "triangle and tetrad, n 36 each, d' 1.5 in both";
  rows.push(
    calibrate({
      kind: 'alarm',
      method: 'comparison of two d-primes',
      setting,
      promised: ALPHA,
      exact: false,
      runs,
      once: () => twice().p <= ALPHA,
    }),
    calibrate({
      kind: 'coverage',
      method: 'difference of two d-primes 95 %',
      setting,
      promised: 0.95,
      exact: false,
      runs,
      once: () => {
        const { lower, upper } = twice();
        return holds({ lower: lower ?? -Infinity, upper }, 0);
      },
    }),
  );
  return [...rows, ...sequentialClaims(panel, runs)];
}

function sequentialClaims(panel: Panel, runs: number): CalibrationRow[] {
  const plan: SequentialPlan = { guessRate: 1 / 3, pd: 0.5, alpha: 0.05, beta: 0.1 };
  const mostAnswers = 60;
  const step = remembered((correct, n) => sequentialStep({ plan, correct: correct ?? 0, n: n ?? 0 }).state);
  const evening = (pd: number) => {
    let correct = 0;
    for (let n = 1; n <= mostAnswers; n += 1) {
      correct += Number(panel.guess('triangle', pd));
      const state = step(correct, n);
      if (state !== 'continue') return { state, n };
    }
    return { state: 'continue', n: mostAnswers };
  };
  return [0, plan.pd].flatMap((pd) => {
    const wanted = sequentialOperating({ plan, pd, mostAnswers });
    const common = {
      kind: 'prediction',
      setting: `triangle, pd ${pd}, up to ${mostAnswers}`,
      exact: true,
      runs,
    } as const;
    return [
      calibrate({
        ...common,
        method: 'sequential test, claims a difference',
        promised: wanted.difference,
        once: () => evening(pd).state === 'difference',
      }),
      calibrate({
        ...common,
        method: 'sequential test, expected answers',
        promised: wanted.expected,
        once: () => evening(pd).n,
      }),
    ];
  });
}
