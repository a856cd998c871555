import type { PreferencePart } from '@oddglass/shared/analysis/choice/preference-result.ts';
import type { PartInput, ServedCup, ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import type { Confidence } from '@oddglass/shared/contracts/ballot.ts';
import type { ChoicePart, DifferencePart, SameDifferentPart } from '@oddglass/shared/contracts/part.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';

export const ARMS = ['00000000-0000-4000-8000-00000000000a', '00000000-0000-4000-8000-00000000000b'] as const;

const frame = {
  armIds: [...ARMS],
  replicates: 1,
  alpha: 0.05,
  aim: 'difference' as const,
  meaningfulShare: 0.5,
  beta: 0.2,
};

/** One part of each kind of difference test; a pair with and without a direction. */
export const PARTS = {
  triangle: { kind: 'triangle', ...frame },
  'duo-trio': { kind: 'duo-trio', ...frame, reference: 'balanced' },
  tetrad: { kind: 'tetrad', ...frame },
  'two-out-of-five': { kind: 'two-out-of-five', ...frame },
  'three-afc': { kind: 'three-afc', ...frame, attribute: 'bitter', strongerArmId: ARMS[1] },
  'directional-pair': { kind: 'directional-pair', ...frame, attribute: 'bitter', strongerArmId: ARMS[1] },
  'open-pair': { kind: 'directional-pair', ...frame, attribute: 'bitter', strongerArmId: null },
} as const satisfies Record<string, DifferencePart>;
export type PartName = keyof typeof PARTS;

export const preferencePart: PreferencePart = {
  kind: 'preference',
  armIds: [...ARMS],
  alpha: 0.05,
  noPreference: true,
};

export const sameDifferentPart: SameDifferentPart = {
  kind: 'same-different',
  armIds: [...ARMS],
  replicates: 2,
  alpha: 0.05,
  beta: 0.2,
  dPrime: 1.5,
};

/** Orders as their standards list them, the reference first and in brackets. */
export const ORDERS: Readonly<Record<PartName, readonly string[]>> = {
  triangle: ['AAB', 'ABA', 'BAA', 'BBA', 'BAB', 'ABB'],
  'duo-trio': ['(A)AB', '(A)BA', '(B)AB', '(B)BA'],
  tetrad: ['AABB', 'ABAB', 'ABBA', 'BBAA', 'BABA', 'BAAB'],
  'two-out-of-five': [
    'AABBB',
    'ABABB',
    'ABBAB',
    'ABBBA',
    'BAABB',
    'BABAB',
    'BABBA',
    'BBAAB',
    'BBABA',
    'BBBAA',
    'BBAAA',
    'BABAA',
    'BAABA',
    'BAAAB',
    'ABBAA',
    'ABABA',
    'ABAAB',
    'AABBA',
    'AABAB',
    'AAABB',
  ],
  'three-afc': ['BAA', 'ABA', 'AAB'],
  'directional-pair': ['AB', 'BA'],
  'open-pair': ['AB', 'BA'],
};

interface Said {
  assessor?: string;
  replicate?: number;
  confidence?: Confidence | null;
  descriptors?: string[];
  comment?: string;
}

/** A tray of cups in the order given; `chosen` are places among the cups asked about, from 1; null: unanswered. */
export function tray(order: string, chosen: readonly number[] | null, said: Said = {}): ServedTray {
  const reference = /^\((.)\)/.exec(order)?.[1];
  const letters = [...(reference ?? ''), ...order.replace(/\(.\)/, '')];
  const cups: ServedCup[] = letters.map((letter, index) => ({
    code: String(101 + index * 111),
    position: index + 1,
    mark: reference !== undefined && index === 0 ? 'reference' : null,
    sample: letter === 'A' ? 's1' : 's2',
    armId: letter === 'A' ? ARMS[0] : ARMS[1],
  }));
  const asked = cups.filter(({ mark }) => mark === null);
  return {
    assessor: said.assessor ?? 'a1',
    replicate: said.replicate ?? 1,
    cups,
    sheets: [
      {
        sheet: 1,
        codes: asked.map(({ code }) => code),
        attributeIds: [],
        answer: chosen && {
          kind: 'choice',
          chosen: chosen.map((place) => asked[place - 1]?.code ?? '999'),
          confidence: said.confidence === undefined ? 'guess' : said.confidence,
          descriptors: said.descriptors ?? [],
        },
        comment: said.comment ?? '',
      },
    ],
  };
}

/** Places a right answer names, found by hand from the letters; for an open pair, those that name the first arm. */
export function rightPlaces(name: PartName, order: string): number[] {
  const letters = [...order.replace(/\(.\)/, '')];
  const at = (wanted: string) => letters.flatMap((letter, index) => (letter === wanted ? [index + 1] : []));
  switch (name) {
    case 'triangle':
      return at('A').length === 1 ? at('A') : at('B');
    case 'duo-trio':
      return at(order[1] ?? '');
    case 'tetrad':
      return at('B');
    case 'two-out-of-five':
      return at('A').length === 2 ? at('A') : at('B');
    case 'open-pair':
      return at('A');
    default:
      return at('B');
  }
}

/** Places of an answer that is not right. */
export function wrongPlaces(name: PartName, order: string): number[] {
  const right = rightPlaces(name, order);
  if (name === 'tetrad') return [1, [...order].findIndex((letter) => letter !== order[0]) + 1];
  if (name === 'two-out-of-five') return [1, [...order].findIndex((letter) => letter !== order[0]) + 1];
  const cups = order.replace(/\(.\)/, '').length;
  return [1, 2, 3].filter((place) => place <= cups && !right.includes(place)).slice(0, 1);
}

/** `count` trays over balanced orders, one person each, of which the first `right` are right. */
export function trays(name: PartName, count: number, right: number): ServedTray[] {
  return Array.from({ length: count }, (_, index) => {
    const order = ORDERS[name][index % ORDERS[name].length] ?? '';
    const chosen = index < right ? rightPlaces(name, order) : wrongPlaces(name, order);
    return tray(order, chosen, { assessor: `a${index + 1}` });
  });
}

/** An input around trays: a session of one part, two arms, twelve expected assessors. */
export function input<P extends ChoicePart>(part: P, served: readonly ServedTray[]): PartInput<P> {
  return {
    session: {
      title: 'T',
      trialTitle: 'Trial',
      question: 'Q',
      factor: 'F',
      demo: false,
      arms: ARMS.map((id, index) => ({ id, name: index === 0 ? 'Cool' : 'Warm', differs: 'x' })),
      blinding: 'double',
      smellOnly: false,
      stopped: false,
      fingerprint: 'AAAA·BBBB·CCCC',
      root: 'a'.repeat(64),
      revealedAt: '2031-03-04T20:00:00.000Z',
      assessors: 12,
      cupMl: 40,
      restSeconds: 0,
    },
    settings: {
      title: 'T',
      assessors: 12,
      spareSeats: 0,
      cupMl: 40,
      restSeconds: 0,
      masking: false,
      servingNote: '',
      parts: [part],
    },
    number: 1,
    part,
    samples: ARMS.map((armId, index) => ({
      key: `s${index + 1}`,
      armId,
      name: index === 0 ? 'Cool' : 'Warm',
      role: 'sample',
      spike: null,
      control: false,
    })),
    trays: served,
    deviations: [],
    words: new Map([['banana', { word: 'banana', family: 'fruit' }]]),
    kinds: [part.kind],
    random: () => seededRandom(new Uint8Array(32)),
  };
}
