import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import { rehearsalInput, simulation } from '@oddglass/shared/contracts/rehearsal.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import { KINDS, PART_KINDS } from '@oddglass/shared/kinds/kinds.ts';
import { answerErrors } from '@oddglass/shared/rules/answers.ts';
import { sheetsOfTray, type Sheet } from '@oddglass/shared/rules/parts.ts';
import type { Habits } from '@oddglass/shared/simulation/answer.ts';
import { assessorAt, drawsAt } from '@oddglass/shared/simulation/assessor.ts';
import { MARK_SPREADS } from '@oddglass/shared/simulation/marks.ts';
import { expectedStep } from '@oddglass/shared/simulation/put-in.ts';
import { describe, expect, test } from 'vitest';
import { lowerTail, upperTail } from '@oddglass/shared/stats/binomial.ts';
import { answered, CALM, flightTray, PARTS, SEED, traysOf, VOCABULARY } from './trays.ts';
import { isChoice } from '@oddglass/shared/contracts/part-fit.ts';

const N = 3000;
// What chance leaves on either side once in a million: 4.9 standard errors (normal tables).
const ERRORS = 4.9;

/** Mean and its standard error. */
function meanOf(values: readonly number[]): { mean: number; error: number } {
  const mean = values.reduce((sum, one) => sum + one, 0) / values.length;
  const squares = values.reduce((sum, one) => sum + (one - mean) ** 2, 0);
  return { mean, error: Math.sqrt(squares / (values.length - 1) / values.length) };
}

function expectMean(values: readonly number[], expected: number): void {
  const { mean, error } = meanOf(values);
  expect(Math.abs(mean - expected), `mean ${mean}, expected ${expected}`).toBeLessThan(ERRORS * error + 1e-9);
}

const CUPS = { a: '318', b: '562', c: '907' };

/** Marks of one attribute over many people, with each cup's luck its own. */
function marks(part: Part, cup: string, attributeId: string, habits: Habits): number[] {
  return Array.from({ length: N }, (_, turn) => {
    const answer = answered(part, flightTray(part), turn, { habits, codes: [cup] });
    if (answer.kind === 'liking') return answer.value ?? NaN;
    if (answer.kind !== 'rating') throw new Error('marks are asked for');
    return answer.marks.find((mark) => mark.attributeId === attributeId)?.value ?? NaN;
  });
}

describe('every kind gives answers that the API takes', () => {
  test.each(PART_KINDS)('%s', (kind) => {
    const part: Part = PARTS[kind];
    for (const careless of [0, 1]) {
      for (let turn = 0; turn < 60; turn += 1) {
        const trays = isChoice(part) ? traysOf(part) : [flightTray(part)];
        const tray = trays[turn % trays.length] ?? [];
        const sheets = sheetsOfTray([part], { part: 1, servings: tray });
        for (const sheet of sheets) {
          const answer = onSheet(part, tray, sheet, turn, { ...CALM, careless });
          expect(
            answerErrors({ part, sheet, answer, knowsWord: (id) => VOCABULARY.includes(id) }),
            JSON.stringify(answer),
          ).toEqual([]);
        }
      }
    }
    expect(Object.keys(KINDS)).toContain(kind);
  });
});

function onSheet(
  part: Part,
  tray: ReturnType<typeof flightTray>,
  sheet: Sheet,
  turn: number,
  habits: Habits,
): Answer {
  return answered(part, tray, turn, { habits, codes: sheet.codes, late: sheet.late === true });
}

describe('marks', () => {
  test('neighbouring arms lie as many units apart as was set for the attribute', () => {
    const habits = { ...CALM, attributeSteps: { sour: 12 } };
    const sour = [CUPS.a, CUPS.b, CUPS.c].map((cup) => marks(PARTS.rating, cup, 'sour', habits));
    const [a = [], b = [], c = []] = sour;
    expectMean(
      b.map((mark, at) => mark - (a[at] ?? 0)),
      12,
    );
    expectMean(
      c.map((mark, at) => mark - (a[at] ?? 0)),
      24,
    );
    expect(expectedStep('line', 'sour', habits)).toBe(12);
  });

  test('an attribute of which nothing is set follows d-prime, in standard deviations of a mark', () => {
    const [a, b] = [CUPS.a, CUPS.b].map((cup) => marks(PARTS.rating, cup, 'body', { ...CALM, dPrime: 0.8 }));
    expectMean(
      (b ?? []).map((mark, at) => mark - (a?.[at] ?? 0)),
      0.8 * MARK_SPREADS.line.noise,
    );
    const { error } = meanOf(a ?? []);
    expect(error * Math.sqrt(N)).toBeGreaterThan(MARK_SPREADS.line.noise * 0.93);
    expect(error * Math.sqrt(N)).toBeLessThan(MARK_SPREADS.line.noise * 1.07);
  });

  test('without a difference there is none, and careless marks lie anywhere', () => {
    const same = [CUPS.a, CUPS.c].map((cup) => marks(PARTS.liking, cup, '', { ...CALM, dPrime: 0 }));
    expectMean(
      (same[1] ?? []).map((mark, at) => mark - (same[0]?.[at] ?? 0)),
      0,
    );
    const careless = marks(PARTS.rating, CUPS.c, 'sour', { ...CALM, dPrime: 3, careless: 1 });
    expectMean(careless, 50);
    // Of a uniform on 0 to 100 in whole steps: root of (101^2 - 1) / 12.
    const { error } = meanOf(careless);
    expect(error * Math.sqrt(N)).toBeCloseTo(Math.sqrt((101 ** 2 - 1) / 12), -0.5);
  });

  test('a first cup that seems stronger gets as much more', () => {
    const plain = marks(PARTS.rating, CUPS.a, 'body', CALM);
    const shifted = marks(PARTS.rating, CUPS.a, 'body', { ...CALM, positionBias: 0.7 });
    expectMean(
      shifted.map((mark, at) => mark - (plain[at] ?? 0)),
      7,
    );
    expect(marks(PARTS.rating, CUPS.b, 'body', { ...CALM, positionBias: 0.7 })).toEqual(
      marks(PARTS.rating, CUPS.b, 'body', CALM),
    );
  });
});

test('of two neighbours in a ranking the further one comes later by Phi(d / root 2); at random as often as not', () => {
  const later = (habits: Habits): number => {
    let sum = 0;
    for (let turn = 0; turn < N; turn += 1) {
      const answer = answered(PARTS.ranking, flightTray(PARTS.ranking), turn, { habits });
      if (answer.kind === 'ranking' && answer.order.indexOf(CUPS.b) > answer.order.indexOf(CUPS.a)) sum += 1;
    }
    return sum;
  };
  for (const [habits, share] of [
    [CALM, 0.76025],
    [{ ...CALM, dPrime: 5, careless: 1 }, 0.5],
  ] as const) {
    const said = later(habits);
    expect(upperTail(said, N, share)).toBeGreaterThan(1e-6);
    expect(lowerTail(said, N, share)).toBeGreaterThan(1e-6);
  }
});

test('a control: the hidden cup of it is marked lower than cups further off', () => {
  const degrees = ['562', '907', '241'].map((cup) => {
    let sum = 0;
    for (let turn = 0; turn < N; turn += 1) {
      const answer = answered(PARTS.control, flightTray(PARTS.control), turn, {
        codes: [cup],
        habits: { ...CALM, dPrime: 1.5 },
      });
      if (answer.kind === 'control') sum += answer.degree ?? 0;
    }
    return sum / N;
  });
  const [hidden = 0, near = 0, far = 0] = degrees;
  expect(near).toBeGreaterThan(hidden + 0.2);
  expect(far).toBeGreaterThan(near + 0.5);
});

test('words follow the arms: one grows, one fades, one stays', () => {
  const often = (cup: string): number[] => {
    const sums = [0, 0, 0];
    for (let turn = 0; turn < N; turn += 1) {
      const answer = answered(PARTS.description, flightTray(PARTS.description), turn, {
        codes: [cup],
        habits: { ...CALM, dPrime: 1 },
      });
      if (answer.kind !== 'description') continue;
      PARTS.description.words.forEach((word, at) => {
        if (answer.words.some(({ id }) => id === word)) sums[at] = (sums[at] ?? 0) + 1;
      });
    }
    return sums.map((sum) => sum / N);
  };
  const [a, c] = [often(CUPS.a), often(CUPS.c)];
  // Phi(-0.9 - 0.6) and Phi(-0.9 + 0.6) from tables, a unit to either side of the middle.
  for (const [at, expected] of [0.0668, 0.3821, 0.1841].entries())
    expect(Math.abs((a[at] ?? 0) - expected)).toBeLessThan(ERRORS * Math.sqrt(0.25 / N));
  for (const [at, expected] of [0.3821, 0.0668, 0.1841].entries())
    expect(Math.abs((c[at] ?? 0) - expected)).toBeLessThan(ERRORS * Math.sqrt(0.25 / N));
});

describe('people', () => {
  const leaving = { share: 0.25, from: 2, to: 4 };

  test('as many leave as was set, between the answers that were set', () => {
    const all = Array.from({ length: N }, (_, seat) => assessorAt({ seed: SEED, leaving }, seat + 1, 9));
    const left = all.flatMap(({ leavesAfter }) => (leavesAfter === null ? [] : [leavesAfter]));
    expect(upperTail(left.length, N, 0.25)).toBeGreaterThan(1e-6);
    expect(lowerTail(left.length, N, 0.25)).toBeGreaterThan(1e-6);
    expect([...new Set(left)].sort()).toEqual([2, 3, 4]);
    expectMean(left, 3);
  });

  test('nobody who has answered everything has left', () => {
    const everybody = { share: 1, from: 3, to: 40 };
    const all = Array.from({ length: 200 }, (_, seat) =>
      assessorAt({ seed: SEED, leaving: everybody }, seat, 3),
    );
    expect(new Set(all.map(({ leavesAfter }) => leavesAfter))).toEqual(new Set([2]));
    expect(assessorAt({ seed: SEED, leaving: { ...everybody, share: 0 } }, 1, 3).leavesAfter).toBeNull();
  });

  test('the same seed gives the same luck, another one another', () => {
    const numbers = (seed: string): number[] => {
      const draws = drawsAt(seed, 'sheet', 3);
      return Array.from({ length: 5 }, () => draws.normal());
    };
    expect(numbers(SEED)).toEqual(numbers(SEED));
    expect(numbers(SEED)).not.toEqual(numbers('fedcba9876543210'));
  });

  test('draws are uniform and normal', () => {
    const draws = drawsAt(SEED, 'many');
    const normal = Array.from({ length: N }, () => draws.normal());
    expectMean(normal, 0);
    expectMean(
      normal.map((one) => one ** 2),
      1,
    );
    expectMean(
      Array.from({ length: N }, () => draws.uniform()),
      0.5,
    );
  });
});

test('settings: what nobody can mean is refused, and a seed may be left out', () => {
  const settings = {
    people: 12,
    dPrime: 1,
    positionBias: 0,
    careless: 0,
    leaving: { share: 0, from: 1, to: 1 },
    pace: null,
  };
  expect(rehearsalInput.parse(settings)).toEqual({ ...settings, attributeSteps: {} });
  expect(simulation.safeParse(settings).success).toBe(false);
  for (const wrong of [
    { people: 201 },
    { people: 0 },
    { dPrime: -1 },
    { careless: 1.1 },
    { leaving: { share: 0.5, from: 3, to: 2 } },
    { pace: 0 },
    { seed: 'seed' },
  ])
    expect(rehearsalInput.safeParse({ ...settings, ...wrong }).success, JSON.stringify(wrong)).toBe(false);
});
