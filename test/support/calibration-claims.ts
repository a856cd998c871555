import { aNotA } from '@oddglass/shared/stats/discrimination/a-not-a.ts';
import { sharePosterior } from '@oddglass/shared/stats/discrimination/bayesian.ts';
import { betaBinomial } from '@oddglass/shared/stats/discrimination/beta-binomial.ts';
import { compareDPrimes } from '@oddglass/shared/stats/discrimination/compare-d-prime.ts';
import { criticalNumber } from '@oddglass/shared/stats/discrimination/critical-number.ts';
import { exactP } from '@oddglass/shared/stats/discrimination/exact-p.ts';
import {
  GUESS_RATE,
  proportionCorrect,
  type TestKind,
} from '@oddglass/shared/stats/discrimination/guessing.ts';
import { likelihoodInterval } from '@oddglass/shared/stats/discrimination/likelihood-interval.ts';
import { powerOfDifference } from '@oddglass/shared/stats/discrimination/power.ts';
import { pairedPreference } from '@oddglass/shared/stats/discrimination/preference.ts';
import {
  clopperPearson,
  shareFromProportion,
  wilson,
} from '@oddglass/shared/stats/discrimination/proportion-interval.ts';
import { psychometric, type ThurstonianTest } from '@oddglass/shared/stats/discrimination/psychometric.ts';
import { rIndex } from '@oddglass/shared/stats/discrimination/r-index.ts';
import { replicatedProportion } from '@oddglass/shared/stats/discrimination/replicated.ts';
import {
  sequentialOperating,
  sequentialStep,
  type SequentialPlan,
} from '@oddglass/shared/stats/discrimination/sequential.ts';
import { maxCorrect, powerOfSimilarity } from '@oddglass/shared/stats/discrimination/similarity.ts';
import { taroneTest } from '@oddglass/shared/stats/discrimination/tarone.ts';
import { normalCdf } from '@oddglass/shared/stats/normal.ts';
import { calibrate, remembered, type CalibrationRow } from './calibration.ts';
import { count, type Panel } from './percepts.ts';

const KINDS: TestKind[] = ['triangle', 'duo-trio', 'tetrad', '2-AFC', '3-AFC', 'two-of-five'];
const THURSTONIAN: ThurstonianTest[] = ['triangle', 'duo-trio', 'tetrad', '2-AFC', '3-AFC'];
const ALPHA = 0.05;

/** Tests of difference and of similarity, with the power planned for them. */
export function testClaims(panel: Panel, runs: number): CalibrationRow[] {
  const rows: CalibrationRow[] = [];
  for (const test of KINDS) {
    const guessRate = GUESS_RATE[test];
    for (const n of [12, 24, 48]) {
      const critical = criticalNumber({ n, alpha: ALPHA, guessRate }) ?? Infinity;
      const significant = () => count(n, () => panel.guess(test, 0)) >= critical;
      const common = {
        method: 'exact binomial test',
        setting: `${test}, n ${n}, nobody discriminates`,
        runs,
      };
      rows.push(calibrate({ ...common, kind: 'alarm', promised: ALPHA, exact: true, once: significant }));
      if (test !== 'triangle') continue;
      const { size } = powerOfDifference({ n, alpha: ALPHA, pd: 0, guessRate });
      rows.push(
        calibrate({
          ...common,
          kind: 'prediction',
          method: 'exact size',
          promised: size,
          exact: true,
          once: significant,
        }),
      );
    }
  }
  for (const test of THURSTONIAN) {
    const [n, d] = [36, 1.2];
    const guessRate = GUESS_RATE[test];
    const { power, critical } = powerOfDifference({
      n,
      alpha: ALPHA,
      pd: shareFromProportion(psychometric(test, d), guessRate),
      guessRate,
    });
    rows.push(
      calibrate({
        kind: 'prediction',
        method: 'exact power, difference',
        setting: `${test}, n ${n}, d' ${d} tasted`,
        promised: power,
        exact: true,
        runs,
        once: () => count(n, () => panel.answer(test, d)) >= (critical ?? Infinity),
      }),
    );
  }
  const plan = { n: 66, beta: 0.05, pdMax: 0.3, guessRate: 1 / 3 };
  const most = maxCorrect(plan) ?? -1;
  const similar = (pd: number) => () => count(plan.n, () => panel.guess('triangle', pd)) <= most;
  rows.push(
    calibrate({
      kind: 'alarm',
      method: 'exact similarity test',
      setting: 'triangle, n 66, pd at its limit 0.3',
      promised: plan.beta,
      exact: true,
      runs,
      once: similar(plan.pdMax),
    }),
    calibrate({
      kind: 'prediction',
      method: 'exact power, similarity',
      setting: 'triangle, n 66, nobody discriminates',
      promised: powerOfSimilarity(plan).power,
      exact: true,
      runs,
      once: similar(0),
    }),
    calibrate({
      kind: 'alarm',
      method: 'two-sided preference test',
      setting: 'n 31, a fifth undecided and excluded',
      promised: ALPHA,
      exact: true,
      runs,
      once: () => {
        const noPreference = count(31, () => panel.uniform() < 0.2);
        const preferA = count(31 - noPreference, () => panel.uniform() < 0.5);
        return preferenceP(preferA, 31 - noPreference - preferA) <= ALPHA;
      },
    }),
  );
  return rows;
}

const preferenceP = remembered(
  (preferA, preferB) =>
    pairedPreference({
      preferA: preferA ?? 0,
      preferB: preferB ?? 0,
      noPreference: 0,
      policy: 'exclude',
      level: 0.95,
    }).p,
);

/** Intervals of one answer per assessor, from tasted differences; and of a share drawn from its prior. */
export function intervalClaims(panel: Panel, runs: number): CalibrationRow[] {
  const rows: CalibrationRow[] = [];
  for (const level of [0.9, 0.95]) {
    for (const n of [12, 24, 48]) {
      for (const d of [0, 1, 2]) {
        const pc = psychometric('triangle', d);
        const correct = () => count(n, () => panel.answer('triangle', d));
        const common = {
          kind: 'coverage',
          promised: level,
          setting: `triangle, n ${n}, d' ${d} tasted`,
          runs,
        } as const;
        for (const [name, method] of [
          ['Clopper-Pearson', clopperPearson],
          ['Wilson', wilson],
        ] as const) {
          const of = remembered((x) => method({ correct: x ?? 0, n, level }));
          const once = () => holds(of(correct()), pc);
          rows.push(
            calibrate({
              ...common,
              method: `${name} ${100 * level} %`,
              exact: name === 'Clopper-Pearson',
              once,
            }),
          );
        }
        const of = remembered((x) => likelihoodInterval({ test: 'triangle', correct: x ?? 0, n, level }));
        const once = () => holds(of(correct()), d);
        rows.push(
          calibrate({ ...common, method: `likelihood interval of d' ${100 * level} %`, exact: false, once }),
        );
      }
    }
  }
  const posterior = remembered((x) =>
    sharePosterior({
      correct: x ?? 0,
      n: 24,
      guessRate: 1 / 3,
      matters: 0.2,
      level: 0.9,
      prior: { a: 1, b: 1 },
    }),
  );
  rows.push(
    calibrate({
      kind: 'prediction',
      method: 'credible interval 90 %',
      setting: 'triangle, n 24, pd drawn from the prior',
      promised: 0.9,
      exact: true,
      runs,
      once: () => {
        const pd = panel.uniform();
        return holds(posterior(count(24, () => panel.guess('triangle', pd))), pd);
      },
    }),
  );
  return rows;
}

function holds({ lower, upper }: { lower: number; upper: number | null }, truth: number): boolean {
  return lower <= truth && (upper === null || truth <= upper);
}

/** Repeated answers: shares drawn per assessor from a beta distribution with variation gamma on the scale of pd. */
export function replicateClaims(panel: Panel, runs: number): CalibrationRow[] {
  const rows: CalibrationRow[] = [];
  const m = 4;
  const tasted = (k: number, pd: number, gamma: number) =>
    Array.from({ length: k }, () => {
      const theta = 1 / gamma - 1;
      const own = gamma === 0 ? pd : panel.beta(pd * theta, (1 - pd) * theta);
      return count(m, () => panel.guess('triangle', own));
    }).sort((a, b) => a - b);
  const people = (list: number[]) => list.map((correct) => ({ answers: m, correct }));
  const of = remembered((...list) => replicatedProportion({ clusters: people(list), level: 0.9 }));
  const ratio = remembered((...list) => betaBinomial(people(list)).p ?? 1);
  const tarone = remembered((...list) => taroneTest(people(list)).p ?? 1);
  for (const k of [12, 24]) {
    const n = k * m;
    rows.push(
      calibrate({
        kind: 'alarm',
        method: 'exact binomial test, all answers',
        setting: `triangle, ${k} assessors x ${m}, nobody discriminates`,
        promised: ALPHA,
        exact: true,
        runs,
        once: () =>
          exactP({ correct: tasted(k, 0, 0).reduce((a, b) => a + b, 0), n, guessRate: 1 / 3 }) <= ALPHA,
      }),
    );
    for (const gamma of [0, 0.3, 0.8]) {
      rows.push(
        calibrate({
          kind: 'coverage',
          method: 'replicated proportion 90 %',
          setting: `triangle, ${k} assessors x ${m}, pd 0.3, gamma ${gamma}`,
          promised: 0.9,
          exact: false,
          runs,
          once: () => holds(of(...tasted(k, 0.3, gamma)), proportionCorrect(0.3, 1 / 3)),
        }),
      );
    }
    for (const [method, p] of [
      ['beta-binomial likelihood ratio', ratio],
      ["Tarone's z", tarone],
    ] as const) {
      rows.push(
        calibrate({
          kind: 'alarm',
          method,
          setting: `triangle, ${k} assessors x ${m}, all alike with pd 0.3`,
          promised: ALPHA,
          exact: false,
          runs,
          once: () => p(...tasted(k, 0.3, 0)) <= ALPHA,
        }),
      );
    }
  }
  return rows;
}

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
