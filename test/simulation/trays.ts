import type { ChoicePart, Part } from '@oddglass/shared/contracts/part.ts';
import { choiceOf, isChoiceKind, servedOrders } from '@oddglass/shared/kinds/kinds.ts';
import { answerSheet, type Habits, type SimulatedCup } from '@oddglass/shared/simulation/answer.ts';
import { drawsAt } from '@oddglass/shared/simulation/assessor.ts';

// Trays as a plan would lay them, for simulated people to taste.

export const A = '00000000-0000-4000-8000-00000000000a';
export const B = '00000000-0000-4000-8000-00000000000b';
export const C = '00000000-0000-4000-8000-00000000000c';

export const CALM: Habits = { dPrime: 1, attributeSteps: {}, positionBias: 0, careless: 0 };
export const SEED = '0123456789abcdef';
export const VOCABULARY = ['banana', 'clove', 'stale', 'sour', 'bread', 'apple'];

const pair = { armIds: [A, B], alpha: 0.05 };
const difference = {
  ...pair,
  replicates: 1,
  aim: 'difference' as const,
  meaningfulShare: 0.5,
  beta: 0.2,
};
const flight = {
  cups: 'own' as const,
  samples: [A, B, C].map((armId) => ({ armId, role: 'sample' as const, spike: null })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
};

/** One part of each kind, by its name. */
export const PARTS = {
  triangle: { kind: 'triangle', ...difference },
  'duo-trio': { kind: 'duo-trio', ...difference, reference: 'balanced' },
  tetrad: { kind: 'tetrad', ...difference },
  'two-out-of-five': { kind: 'two-out-of-five', ...difference },
  'three-afc': { kind: 'three-afc', ...difference, attribute: 'sour', strongerArmId: A },
  'directional-pair': { kind: 'directional-pair', ...difference, attribute: 'sour', strongerArmId: A },
  preference: { kind: 'preference', ...pair, noPreference: false },
  'same-different': { kind: 'same-different', ...pair, replicates: 2, beta: 0.2, dPrime: 1.5 },
  rating: {
    kind: 'rating',
    ...flight,
    attributes: [
      { id: 'sour', name: 'Sour', low: 'none', high: 'much' },
      { id: 'body', name: 'Body', low: 'thin', high: 'full' },
    ],
    scale: 'line',
    by: 'sample',
    returning: false,
  },
  description: {
    kind: 'description',
    ...flight,
    words: ['banana', 'clove', 'stale'],
    intensity: true,
    late: { words: ['stale', 'sour'], seconds: 60 },
  },
  control: {
    kind: 'control',
    ...flight,
    samples: flight.samples.slice(1),
    controlArmId: A,
    degrees: ['none', 'slight', 'clear', 'large', 'very large'],
  },
  liking: { kind: 'liking', ...flight },
  ranking: { kind: 'ranking', ...flight, attribute: 'sour' },
} satisfies { [K in Part['kind']]: Extract<Part, { kind: K }> };

const CODES = ['318', '562', '907', '241', '835'];

/** The trays of all serving orders of a choice: A is the first arm that the part names. */
export function traysOf(part: ChoicePart): SimulatedCup[][] {
  const [first = A, second = B] = part.armIds;
  return servedOrders(part).map((order) =>
    [...order.replace(/[()]/g, '')].map((letter, at) => ({
      code: CODES[at] ?? '',
      position: at + 1,
      armId: letter === 'A' ? first : second,
      role: 'sample',
      mark: choiceOf(part).reference && at === 0 ? 'reference' : null,
    })),
  );
}

/** A tray of a flight: A, B, C from left to right, with a marked control before them where there is one. */
export function flightTray(part: Part): SimulatedCup[] {
  const arms = part.kind === 'control' ? [A, A, B, C] : [A, B, C];
  return arms.map((armId, at) => ({
    code: CODES[at] ?? '',
    position: at + 1,
    armId,
    role: 'sample',
    mark: part.kind === 'control' && at === 0 ? 'control' : null,
  }));
}

const CALM_PERSON = { level: 0, leavesAfter: null };

/** What somebody answers to the whole tray, or to one cup of it; `turn` gives each its own luck. */
export function answered(
  part: Part,
  tray: readonly SimulatedCup[],
  turn: number,
  { habits = CALM, codes, late = false }: { habits?: Habits; codes?: string[]; late?: boolean } = {},
) {
  const asked = codes ?? tray.filter(({ mark }) => mark === null).map(({ code }) => code);
  const attributeIds = part.kind === 'rating' ? part.attributes.map(({ id }) => id) : [];
  return answerSheet(
    {
      part,
      poured: part,
      sheet: { codes: asked, attributeIds, ...(late && { late: true as const }) },
      tray,
      vocabulary: VOCABULARY,
    },
    habits,
    CALM_PERSON,
    drawsAt(SEED, part.kind, turn),
  );
}

/** Arms of the cups chosen, and of those that a right answer names. */
export function choiceOn(
  part: ChoicePart,
  tray: readonly SimulatedCup[],
  turn: number,
  habits: Habits = CALM,
): { chosen: SimulatedCup[]; named: readonly SimulatedCup[] | null } {
  if (!isChoiceKind(part)) throw new Error('a choice is asked for');
  const answer = answered(part, tray, turn, { habits });
  if (answer.kind !== 'choice') throw new Error('a choice is answered');
  const asked = tray.filter(({ mark }) => mark === null);
  const reference = tray.find(({ mark }) => mark === 'reference') ?? null;
  return {
    chosen: asked.filter(({ code }) => answer.chosen.includes(code)),
    named: choiceOf(part).right(part as never, asked, reference),
  };
}
