import type { Confidence } from '@oddglass/shared/contracts/ballot.ts';
import type { Consent } from '@oddglass/shared/contracts/seat.ts';
import type { SafetyFacts } from '@oddglass/shared/contracts/safety.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { TrialInput } from '@oddglass/shared/contracts/trial.ts';
import type { DeviationInput } from '@oddglass/shared/contracts/deviation.ts';

import { armMaking, type BaseMaking, type MakingField } from '@oddglass/shared/contracts/making.ts';

// Everything in this file is invented: the farm, the beer, the people and their answers.

export interface DemoSession {
  /** Indices of the two arms in the trial. */
  arms: [number, number];
  settings: Omit<SessionSettings, 'parts'>;
  /** Trays each. */
  replicates: number;
  /** Days before today on which it was tasted; null: it is open now. */
  daysAgo: number | null;
  /** Seat by seat, tray by tray: r right, w wrong, - left unanswered. Empty seats are not listed. */
  answers: string[];
  /** Words by how an answer turned out, taken in turn. */
  words: { right: string[][]; wrong: string[][] };
  comments: Record<number, string>;
  /** What everybody agreed to; left out: nobody was asked. */
  consent?: Consent;
}

export const DEMO_PANEL = 'Low Meadow Farm (demo)';

/** Three fermenters alike but for their temperature; how many cells were pitched nobody counted. */
const fermenter = (temperatureC: number, abv: number): Omit<TrialInput['arms'][number], 'volumeMl'> => ({
  name: `${temperatureC} °C`,
  differs: `fermenter held at ${temperatureC} °C`,
  abv,
  allergens: ['gluten'],
  making: armMaking.parse({
    vessel: 'steel fermenter',
    vesselMl: 20_000,
    closure: 'airlock',
    culture: 'house yeast',
    cultureForm: 'slurry',
    organisms: ['yeast'],
    lot: 'slurry of the batch before',
    pitched: { amount: 180, unit: 'mL' },
    temperatureC,
  }),
});

export const DEMO_TRIAL: TrialInput = {
  title: 'Pale table beer at three temperatures',
  question:
    'Does the fermentation temperature change what people taste in our table beer, and is warmer acceptable?',
  factor: 'fermentation temperature',
  base: 'One wort (pale malt, a little oat), one house yeast, pitched from one slurry, three 20 L fermenters.',
  arms: [
    { ...fermenter(14, 3.6), volumeMl: 18_500 },
    { ...fermenter(18, 3.6), volumeMl: 18_100 },
    { ...fermenter(22, 3.7), volumeMl: 18_800 },
  ],
};

export const DEMO_RECORD: { making: BaseMaking; factorFields: MakingField[] } = {
  making: {
    recipe:
      'Pale malt with a tenth of oat flakes, mashed at 67 °C for an hour; boiled for an hour with a little hop for bitterness.',
    originalGravity: 1.036,
    originalGravityTyped: null,
    batchMl: 60_000,
    hopped: true,
  },
  factorFields: ['temperatureC'],
};

/** Notes by arm index, with days before today. */
export const DEMO_DEVIATIONS: ({ arm: number; daysAgo: number } & Pick<DeviationInput, 'note' | 'sign'>)[] = [
  {
    arm: 2,
    daysAgo: 33,
    note: 'Vessel opened on day 9 to change the temperature probe. Air may explain part of a difference.',
    sign: 'leak',
  },
];

/** What the invented host saw of every arm before each evening. */
export const DEMO_SAFETY: SafetyFacts = {
  mould: false,
  hopped: true,
  stoodWarm: false,
  gravityFalling: false,
  pitchedOn: null,
  ph: null,
  phOn: null,
  meterCalibratedOn: null,
};

/** What every difference test of the demo plans for. */
export const DEMO_TEST = {
  kind: 'triangle',
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
} as const;

const evening = {
  cupMl: 40,
  restSeconds: 90,
  masking: false,
  servingNote: 'Serve at 9 °C, from one bottle lot, in the same small glasses.',
} as const;

export const DEMO_SESSIONS: DemoSession[] = [
  {
    arms: [0, 2],
    settings: { ...evening, title: 'Pale table beer, day 21', assessors: 12, spareSeats: 2 },
    replicates: 1,
    daysAgo: 21,
    answers: ['r', 'r', 'w', 'r', 'r', 'r', 'w', 'r', 'r', 'w', 'r', 'r'],
    words: {
      right: [['banana'], ['banana', 'pear'], ['green-apple'], [], ['banana'], ['sulphur']],
      wrong: [['green-apple'], []],
    },
    comments: { 2: 'One smelled of ripe fruit, the others did not.', 7: 'Could not tell, really.' },
    consent: { rows: true, smallGroup: false },
  },
  {
    arms: [0, 1],
    settings: {
      ...evening,
      title: 'Pale table beer, day 22, second pair',
      assessors: 12,
      spareSeats: 0,
    },
    replicates: 1,
    daysAgo: 20,
    answers: ['w', 'r', 'w', 'r', 'w', 'w', 'r', 'w', 'r', 'w', 'r', '-'],
    words: { right: [['bread'], [], ['dry']], wrong: [[], ['citrus'], ['bread']] },
    comments: {},
  },
  {
    arms: [1, 2],
    settings: { ...evening, title: 'Pale table beer, day 35', assessors: 8, spareSeats: 1 },
    replicates: 3,
    daysAgo: 7,
    answers: ['rrr', 'rwr', 'rrw', 'wrw', 'rrr', 'wwr', 'rrr', 'rwr'],
    words: { right: [['banana'], ['banana', 'pear'], ['dry']], wrong: [[], ['sweet']] },
    comments: { 0: 'The third tray was easy.' },
  },
  {
    arms: [0, 2],
    settings: { ...evening, title: 'Pale table beer, day 42', assessors: 10, spareSeats: 2 },
    replicates: 2,
    daysAgo: null,
    answers: ['r-', 'w-', 'r'],
    words: { right: [['banana'], ['clove']], wrong: [[]] },
    comments: {},
  },
];

/** How sure somebody is, by turn: right answers are surer, and not always. */
export function demoConfidence(right: boolean, turn: number): Confidence {
  const turns: Confidence[] = right
    ? ['certain', 'fairly-sure', 'fairly-sure', 'guess']
    : ['guess', 'fairly-sure', 'guess'];
  return turns[turn % turns.length] ?? 'guess';
}

/** The one publication of the demo: which sessions it tells of, and what the invented host decided. */
export const DEMO_PUBLICATION = {
  sessions: [0],
  daysAgo: 5,
  title: 'Fermenting a pale table beer at 14 °C and 22 °C',
  licence: 'CC-BY-4.0',
  comments: ['One smelled of ripe fruit, the others did not.'],
  caveatAnswer:
    'The vessel was open for less than a minute. A part of the difference may come from air, so the result speaks for this batch.',
} as const;
