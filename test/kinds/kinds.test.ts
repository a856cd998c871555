import { describe, expect, it } from 'vitest';
import { part, type ChoicePart } from '@oddglass/shared/contracts/part.ts';
import { partAtSeat } from '@oddglass/shared/contracts/seat.ts';
import { QUESTIONS } from '@oddglass/shared/kinds/kind.ts';
import {
  choiceOf,
  CHOICES,
  cupsOfChoice,
  DIFFERENCES,
  hasRightAnswer,
  KINDS,
  PART_KINDS,
  placeOfCups,
  servedOrders,
} from '@oddglass/shared/kinds/kinds.ts';
import { ARMS, PARTS, preferencePart, sameDifferentPart } from '../analysis/choice/choice-input.ts';

const CHOICE_PARTS: readonly [string, ChoicePart][] = [
  ...Object.entries(PARTS),
  ['preference', preferencePart],
  ['same-different', sameDifferentPart],
];
const literals = (options: readonly { shape: { kind: { value: string } } }[]): string[] =>
  options.map(({ shape }) => shape.kind.value);

describe('the table of kinds', () => {
  it('holds every kind that settings and seats know, in their order, under its own name', () => {
    expect(PART_KINDS).toEqual(literals(part.options));
    expect(literals(partAtSeat.options).sort()).toEqual([...PART_KINDS].sort());
    for (const kind of PART_KINDS) expect(KINDS[kind].kind).toBe(kind);
  });

  it('names every kind differently, and offers it under a question', () => {
    for (const name of ['plain', 'button', 'heading', 'asked'] as const) {
      expect(new Set(PART_KINDS.map((kind) => KINDS[kind].names[name])).size).toBe(PART_KINDS.length);
    }
    const asked = new Set(PART_KINDS.map((kind) => KINDS[kind].offer.question));
    expect([...asked].sort()).toEqual([...QUESTIONS].sort());
  });

  it('covers every kind of choice in the parts below', () => {
    expect(new Set(CHOICE_PARTS.map(([, { kind }]) => kind))).toEqual(new Set(Object.keys(CHOICES)));
  });
});

describe.each(CHOICE_PARTS)('cups of a %s', (_name, one) => {
  const facts = choiceOf(one);
  const cups = cupsOfChoice(one);
  const { orders } = facts.serving(one);
  const asked = (order: string): string => order.slice(facts.reference ? 1 : 0);

  it('stand in orders that are all different and all as long', () => {
    expect(new Set(orders).size).toBe(orders.length);
    for (const order of orders) {
      expect(order).toMatch(/^[AB]+$/);
      expect(order).toHaveLength(cups.cups);
    }
    expect(cups.asked).toBe(cups.cups - (facts.reference ? 1 : 0));
  });

  it('are shown in the letters of the arms, each order once', () => {
    const shown = servedOrders(one);
    expect(new Set(shown).size).toBe(orders.length);
    if (facts.serving(one).letters !== 'stronger') {
      expect(shown.map((order) => order.replace(/[()]/g, '')).sort()).toEqual([...orders].sort());
    } else {
      const alone = 'strongerArmId' in one && one.strongerArmId === ARMS[0] ? 'A' : 'B';
      for (const order of shown) expect(order.split(alone)).toHaveLength(2);
    }
  });

  it('can be chosen in as many ways as guessing has, each right equally often', () => {
    const { most } = facts.picks(one);
    for (const { cups: on } of facts.places) {
      // 'The same' names neither of two cups.
      if (one.kind === 'same-different') expect([0, most]).toContain(on.length);
      else expect(on).toHaveLength(most);
    }
    expect(new Set(facts.places.map(({ name }) => name)).size).toBe(facts.places.length);
    if (facts.test !== null) expect(facts.places.length * facts.test.guessRate).toBeCloseTo(1, 12);
    if (!hasRightAnswer(one)) return;
    const times = facts.places.map(() => 0);
    // Letters stand for arms both ways round wherever chance decides.
    const swaps = facts.serving(one).letters === 'drawn' ? [false, true] : [false];
    for (const order of servedOrders(one).map((shown) => shown.replace(/[()]/g, ''))) {
      for (const swap of swaps) {
        const arm = (letter: string): string => ARMS[(letter === 'A') === swap ? 1 : 0] ?? '';
        const tray = Array.from(order, (letter) => ({ armId: arm(letter) }));
        const reference = facts.reference ? (tray[0] ?? null) : null;
        const on = tray.slice(facts.reference ? 1 : 0);
        expect(on).toHaveLength(asked(order).length);
        const right = facts.right(one, on, reference) ?? [];
        expect(right).toHaveLength(most);
        const place = placeOfCups(facts.places, on, right);
        expect(place).toBeGreaterThanOrEqual(0);
        times[place] = (times[place] ?? 0) + 1;
      }
    }
    expect(new Set(times).size).toBe(1);
  });
});

it('tests of difference have a guessing rate, and say it as a fraction', () => {
  for (const { test } of Object.values(DIFFERENCES)) {
    const [over, under] = test.guessWords.split('/').map(Number);
    expect((over ?? 0) / (under ?? 0)).toBeCloseTo(test.guessRate, 12);
  }
});

it('both cups of a pair are said to differ, or neither is', () => {
  const { places, right, picks } = choiceOf(sameDifferentPart);
  const cups = ['411', '522'];
  expect(places[placeOfCups(places, cups, [])]?.name).toBe('the same');
  expect(places[placeOfCups(places, cups, cups)]?.name).toBe('different');
  expect(picks(sameDifferentPart)).toEqual({ least: 0, most: 2 });
  const tray = (order: string) =>
    Array.from(order, (letter) => ({ armId: ARMS[letter === 'A' ? 0 : 1] ?? '' }));
  for (const order of servedOrders(sameDifferentPart)) {
    const asked = tray(order);
    expect(right(sameDifferentPart, asked, null)).toEqual(order[0] === order[1] ? [] : asked);
  }
});

it('a half of a tetrad and the rest of its cups are one choice', () => {
  const { places } = CHOICES.tetrad;
  const cups = ['411', '522', '633', '744'];
  expect(placeOfCups(places, cups, ['411', '633'])).toBe(placeOfCups(places, cups, ['522', '744']));
});
