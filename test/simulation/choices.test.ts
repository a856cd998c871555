import type { ChoicePart, DifferencePart } from '@oddglass/shared/contracts/part.ts';
import { choiceOf, DIFFERENCES, placeOfCups } from '@oddglass/shared/kinds/kinds.ts';
import { lowerTail, upperTail } from '@oddglass/shared/stats/binomial.ts';
import { CRITERION, INDIFFERENCE, type Habits } from '@oddglass/shared/simulation/answer.ts';
import { expectedShare } from '@oddglass/shared/simulation/put-in.ts';
import { describe, expect, test } from 'vitest';
import { referenceCase } from '../stats/reference-case.ts';
import { A, B, CALM, choiceOn, PARTS, traysOf } from './trays.ts';

// Simulated people against published psychometric functions (Ura 1960; Ennis 1993, J. Sens. Stud. 8:353; Bi, Ennis & O'Mahony
// 1997; Ennis & Jesionka 2011), whose values were computed apart from this program: test/reference/reference-values.json.

const N = 6000;
// Exact binomial limits that chance leaves once in a million on either side, for each share looked at.
const RISK = 1e-6;

function expectShare(counted: number, n: number, share: number): void {
  expect(upperTail(counted, n, share), `${counted} of ${n}, expected ${n * share}`).toBeGreaterThan(RISK);
  expect(lowerTail(counted, n, share), `${counted} of ${n}, expected ${n * share}`).toBeGreaterThan(RISK);
}

/** How often the answer named what it should, over all orders in turn. */
function counted(part: ChoicePart, habits: Habits, n = N): number {
  const trays = traysOf(part);
  const { places } = choiceOf(part);
  let sum = 0;
  for (let turn = 0; turn < n; turn += 1) {
    const tray = trays[turn % trays.length] ?? [];
    const asked = tray.filter(({ mark }) => mark === null);
    const { chosen, named } = choiceOn(part, tray, turn, habits);
    // A half of the cups and the rest of them are one choice.
    if (placeOfCups(places, asked, chosen) === placeOfCups(places, asked, named ?? [])) sum += 1;
  }
  return sum;
}

interface Curve {
  dprime: number[];
}

describe.each(Object.values(DIFFERENCES))('$kind', ({ kind, test: { stats, guessRate } }) => {
  const part = PARTS[kind] as DifferencePart;
  const { input, expected, source } = referenceCase<Curve, { pc: number[] }>(`psychometric-${stats}`);
  const published = (dPrime: number): number => expected.pc[input.dprime.indexOf(dPrime)] ?? NaN;

  test.each([0, 0.5, 1, 1.5, 2, 3])(`d-prime %s (${source})`, (dPrime) => {
    expectShare(counted(part, { ...CALM, dPrime }), N, published(dPrime));
  });

  test('careless people are right as often as by guessing, however far the arms lie apart', () => {
    expectShare(counted(part, { ...CALM, dPrime: 4, careless: 1 }), N, guessRate);
  });

  test('what was put in is told as it comes out', () => {
    const habits = { ...CALM, dPrime: 1.5, careless: 0.4 };
    const share = 0.4 * guessRate + 0.6 * published(1.5);
    expect(expectedShare(part, habits)).toBeCloseTo(share, 6);
    expectShare(counted(part, habits), N, share);
  });
});

// Phi(x) from tables of the normal distribution, six places.
const PHI_OF_1_OVER_ROOT_2 = 0.76025;

test('preference: the second arm by Phi(d / root 2), either way round', () => {
  const part = PARTS.preference;
  const trays = traysOf(part);
  let second = 0;
  for (let turn = 0; turn < N; turn += 1)
    if (choiceOn(part, trays[turn % trays.length] ?? [], turn).chosen[0]?.armId === B) second += 1;
  expectShare(second, N, PHI_OF_1_OVER_ROOT_2);
});

test('preference: nobody prefers without a difference, and who may say so does where cups lie close', () => {
  const part = { ...PARTS.preference, noPreference: true };
  const [tray = []] = traysOf(part);
  let [none, second] = [0, 0];
  for (let turn = 0; turn < N; turn += 1) {
    const { chosen } = choiceOn(part, tray, turn, { ...CALM, dPrime: 0 });
    if (chosen.length === 0) none += 1;
    else if (chosen[0]?.armId === B) second += 1;
  }
  // 2 Phi(0.3 / root 2) - 1 = 0.16800, from tables.
  expect(INDIFFERENCE).toBe(0.3);
  expectShare(none, N, 0.168);
  expectShare(second, N - none, 0.5);
});

test('same-different: hits and false alarms as the differencing model has them', () => {
  const part = PARTS['same-different'];
  const [alikeA = [], , differing = []] = traysOf(part);
  expect(alikeA.map(({ armId }) => armId)).toEqual([A, A]);
  const said = (tray: typeof differing, dPrime: number): number => {
    let sum = 0;
    for (let turn = 0; turn < N; turn += 1)
      if (choiceOn(part, tray, turn, { ...CALM, dPrime }).chosen.length === 2) sum += 1;
    return sum;
  };
  // Phi((d - k) / root 2) + Phi((-d - k) / root 2) with k = 1.6 (Macmillan & Creelman 2005); Phi from tables.
  expect(CRITERION).toBe(1.6);
  expectShare(said(alikeA, 2), N, 0.2579);
  expectShare(said(differing, 2), N, 0.6168);
  expectShare(said(differing, 0), N, 0.2579);
});

test('a first cup that seems stronger is named more often, and a last one with the sign turned', () => {
  const part = PARTS['directional-pair'];
  const trays = traysOf(part);
  const first = (positionBias: number): number => {
    let sum = 0;
    for (let turn = 0; turn < N; turn += 1) {
      const tray = trays[turn % trays.length] ?? [];
      if (choiceOn(part, tray, turn, { ...CALM, dPrime: 0, positionBias }).chosen[0]?.position === 1)
        sum += 1;
    }
    return sum;
  };
  expectShare(first(1), N, PHI_OF_1_OVER_ROOT_2);
  expectShare(first(-1), N, 1 - PHI_OF_1_OVER_ROOT_2);
  expectShare(first(0), N, 0.5);
});
