import type { SoloAnswer } from '@oddglass/shared/contracts/solo.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { DIFFERENCES } from '@oddglass/shared/kinds/kinds.ts';
import { SOLO_METHODS } from '@oddglass/shared/planner/solo.ts';
import { answerTrouble, stoodTrouble } from '@oddglass/shared/rules/solo-checks.ts';
import {
  lockNeeded,
  namedAsItStood,
  soloPour,
  soloStepOf,
  standsAsPlanned,
} from '@oddglass/shared/rules/solo.ts';
import { describe, expect, test } from 'vitest';
import { alone, ARM_A, ARM_B, planOf, rated, stateOf } from '../support/solo.ts';

const random = () => seededRandom(new Uint8Array(32).fill(7));

/** Every different row of so many A and so many B: a fair shuffle makes each as often as any other. */
function rows(a: number, b: number): string[] {
  if (a === 0 || b === 0) return ['A'.repeat(a) + 'B'.repeat(b)];
  return [...rows(a - 1, b).map((rest) => `A${rest}`), ...rows(a, b - 1).map((rest) => `B${rest}`)];
}

describe.each(SOLO_METHODS)('a %s poured by one hand', (kind) => {
  const settings = alone({ kind, trays: 2 });
  const { each, poured, tasted } = soloPour(settings);
  const asides = poured === tasted ? [null] : Array.from({ length: poured }, (_, at) => at);

  test('leaves every serving order of the method, each once, whichever cup is set aside', () => {
    for (const aside of asides) {
      const left = rows(each, each).map((row) =>
        Array.from(row)
          .filter((_, at) => at !== aside)
          .join(''),
      );
      expect(left.toSorted()).toEqual([...DIFFERENCES[kind].serving(settings).orders].sort());
    }
  });

  test('is guessed with exactly the guessing rate, whatever the person prefers', () => {
    const { places, test: facts } = DIFFERENCES[kind];
    for (const aside of asides) {
      const codes = Array.from({ length: poured }, (_, at) => (at === aside ? null : `${at + 1}57`));
      const asked = codes.filter((code) => code !== null);
      for (const place of places) {
        const answer: SoloAnswer = { kind: 'choice', codes: place.cups.map((at) => asked[at] ?? '') };
        const named = rows(each, each).map((row) =>
          namedAsItStood(settings, codes, {
            answer,
            stood: { armIds: Array.from(row, (letter) => (letter === 'A' ? ARM_A : ARM_B)), asPlanned: true },
          }),
        );
        expect(named.filter(Boolean).length / named.length).toBeCloseTo(facts.guessRate, 15);
      }
    }
  });
});

test('cups of a tray: two of each arm for three, three of each for five, one of each to be marked', () => {
  expect(soloPour(alone())).toEqual({ each: 2, poured: 4, tasted: 3 });
  expect(soloPour(alone({ kind: 'tetrad' }))).toEqual({ each: 2, poured: 4, tasted: 4 });
  expect(soloPour(alone({ kind: 'two-out-of-five' }))).toEqual({ each: 3, poured: 6, tasted: 5 });
  expect(soloPour(rated())).toEqual({ each: 1, poured: 2, tasted: 2 });
});

describe('the order of things', () => {
  const answer: SoloAnswer = { kind: 'choice', codes: ['157'] };
  const stood = { armIds: [ARM_A, ARM_A, ARM_B, ARM_B], asPlanned: true };

  test('without lines every answer comes before the first slip is turned', () => {
    const settings = alone({ trays: 3 });
    const plan = planOf(settings, random());
    const at = (...trays: Parameters<typeof stateOf>[2]) => stateOf(settings, plan, trays);
    expect(soloStepOf({ ...at(), cautionsRead: false })).toEqual({ at: 'cautions' });
    expect(soloStepOf(at())).toEqual({ at: 'tray', tray: 1 });
    expect(soloStepOf(at({ answer }, { answer }))).toEqual({ at: 'tray', tray: 3 });
    expect(lockNeeded(at({ answer }, { answer }), 1)).toBeUndefined();
    expect(soloStepOf(at({ answer }, { answer }, { answer }))).toEqual({ at: 'stood', tray: 1 });
    expect(lockNeeded(at({ answer }, { answer }, { answer }), 1)).toBeNull();
    const one = { answer, stood };
    expect(soloStepOf(at(one, one, { answer }))).toEqual({ at: 'stood', tray: 3 });
    expect(soloStepOf(at(one, one, one))).toEqual({ at: 'over' });
  });

  test('ended early, what was answered is turned; what was left out is not', () => {
    const settings = alone({ trays: 3 });
    const plan = planOf(settings, random());
    const trays = [{ answer }, { answer: { kind: 'left-out', why: 'seen' } as SoloAnswer }];
    expect(soloStepOf(stateOf(settings, plan, trays, true))).toEqual({ at: 'stood', tray: 1 });
    expect(lockNeeded(stateOf(settings, plan, trays, true), 1)).toBeNull();
    expect(lockNeeded(stateOf(settings, plan, trays, true), 3)).toBeUndefined();
    expect(soloStepOf(stateOf(settings, plan, [{ answer, stood }, trays[1]!], true))).toEqual({ at: 'over' });
  });

  test('with lines each tray is turned before the next, and the first stop ends it', () => {
    const settings = alone({ trays: 10, stopping: 'by-lines', dPrime: 2 });
    const plan = planOf(settings, random());
    const at = (...trays: Parameters<typeof stateOf>[2]) => stateOf(settings, plan, trays);
    expect(soloStepOf(at({ answer }))).toEqual({ at: 'stood', tray: 1 });
    expect(lockNeeded(at({ answer }), 1)).toBe(1);
    expect(lockNeeded(at({ answer }), 2)).toBeUndefined();
    const found = plan.trays.map(({ codes }) => {
      const odd = codes.findIndex((code) => code !== null);
      const rest = codes.map((code, place) => (code === null || place === odd ? ARM_A : ARM_B));
      return {
        answer: { kind: 'choice', codes: [codes[odd]!] } as SoloAnswer,
        stood: { armIds: rest, asPlanned: true },
      };
    });
    expect(soloStepOf(at(found[0]!))).toEqual({ at: 'tray', tray: 2 });
    const steps = found.map((_, count) => soloStepOf(at(...found.slice(0, count + 1))).at);
    expect(steps.indexOf('over')).toBeGreaterThan(2);
    expect(steps.slice(0, steps.indexOf('over'))).toEqual(
      steps.slice(0, steps.indexOf('over')).map(() => 'tray'),
    );
  });
});

test('what is entered must be what was poured, else it says what is odd about it', () => {
  const settings = alone();
  const plan = planOf(settings, random());
  const entry = (armIds: string[], asPlanned = true) =>
    stoodTrouble({ settings, plan }, { armIds, asPlanned });
  expect(entry([ARM_A, ARM_B, ARM_B, ARM_A])).toBeNull();
  expect(entry([ARM_A, ARM_A, ARM_B, ARM_A])).toBe(
    'Two cups of each arm were to be poured, and this is three of A and one of B. Look at the slips once more.',
  );
  expect(entry([ARM_A, ARM_A, ARM_B, ARM_A], false)).toBeNull();
  expect(entry([ARM_A, ARM_B, ARM_B, ARM_A], false)).toBe('This is how the cups were to be poured.');
  expect(entry([ARM_A, ARM_B, ARM_B])).toBe('Enter the mark under each of the four cups.');
  expect(entry([ARM_A, ARM_B, ARM_B, 'aaaaaaaa-0000-4000-8000-000000000009'])).toBe(
    'Enter the mark under each of the four cups.',
  );
  // One slip misread is always noticed, since it leaves three of one arm.
  for (let at = 0; at < 4; at++) {
    const misread = [ARM_A, ARM_B, ARM_B, ARM_A].map((arm, place) =>
      place === at ? (arm === ARM_A ? ARM_B : ARM_A) : arm,
    );
    expect(standsAsPlanned(settings, misread)).toBe(false);
  }
});

test('an answer names cups of its own tray, as many as the method asks for', () => {
  const settings = alone({ kind: 'tetrad' });
  const plan = planOf(settings, random());
  const [a = '', b = ''] = (plan.trays[0]?.codes ?? []).map((code) => code ?? '');
  const trouble = (codes: string[]) =>
    answerTrouble({ settings, plan }, { tray: 1, answer: { kind: 'choice', codes } });
  expect(trouble([a, b])).toBeNull();
  expect(trouble([a])).toBe('Choose two cups first.');
  expect(trouble([a, a])).toBe('Choose two cups first.');
  expect(trouble([a, plan.trays[1]?.codes[0] ?? ''])).toBe('Choose among the cups of this tray.');
  const marks = { tray: 1, answer: { kind: 'marks', marks: [[50]] } } as const;
  expect(answerTrouble({ settings, plan }, { ...marks, answer: { kind: 'marks', marks: [[50]] } })).toBe(
    'Choose among the cups of this tray.',
  );
  const rating = { settings: rated(), plan: planOf(rated(), random()) };
  expect(answerTrouble(rating, { tray: 1, answer: { kind: 'marks', marks: [[50], [null]] } })).toBeNull();
  expect(answerTrouble(rating, { tray: 1, answer: { kind: 'marks', marks: [[50]] } })).toBe(
    'Mark every cup on every attribute, or say that you cannot.',
  );
});
