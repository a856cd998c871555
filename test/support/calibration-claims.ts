import { sharePosterior } from '@oddglass/shared/stats/discrimination/bayesian.ts';
import { betaBinomial } from '@oddglass/shared/stats/discrimination/beta-binomial.ts';
import { criticalNumber } from '@oddglass/shared/stats/discrimination/critical-number.ts';
import { dPrimeInterval } from '@oddglass/shared/stats/discrimination/d-prime.ts';
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
import { replicatedProportion } from '@oddglass/shared/stats/discrimination/replicated.ts';
import { maxCorrect, powerOfSimilarity } from '@oddglass/shared/stats/discrimination/similarity.ts';
import { taroneTest } from '@oddglass/shared/stats/discrimination/tarone.ts';
import { calibrate, holds, remembered, type CalibrationRow } from './calibration.ts';
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
  for (const test of THURSTONIAN) rows.push(tastedPower(panel, runs, test));
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

/** The power planned for a test, when its differences are tasted and its rule is followed. */
function tastedPower(panel: Panel, runs: number, test: ThurstonianTest): CalibrationRow {
  const [n, d] = [36, 1.2];
  const guessRate = GUESS_RATE[test];
  const { power, critical } = powerOfDifference({
    n,
    alpha: ALPHA,
    pd: shareFromProportion(psychometric(test, d), guessRate),
    guessRate,
  });
  return calibrate({
    kind: 'prediction',
    method: 'exact power, difference',
    setting: `${test}, n ${n}, d' ${d} tasted`,
    promised: power,
    exact: true,
    runs,
    once: () => count(n, () => panel.answer(test, d)) >= (critical ?? Infinity),
  });
}

/** Two-out-of-five, which came later: it stands last, so that the panels of all the others taste as before. */
export function twoOfFiveClaims(panel: Panel, runs: number): CalibrationRow[] {
  const [n, d, level] = [24, 1.5, 0.95];
  const test = 'two-of-five';
  const interval = remembered((right) => {
    const { lower, upper } = clopperPearson({ correct: right ?? 0, n, level });
    return dPrimeInterval({ test, correct: right ?? 0, n, lower, upper });
  });
  const covered = calibrate({
    kind: 'coverage',
    method: "d' from Clopper-Pearson",
    setting: `${test}, n ${n}, d' ${d} tasted`,
    promised: level,
    exact: true,
    runs,
    once: () => {
      const { lower, upper } = interval(count(n, () => panel.answer(test, d)));
      return lower <= d && d <= (upper ?? Infinity);
    },
  });
  return [tastedPower(panel, runs, test), covered];
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
