import { FORCED, guessing, noTexts, onePick, THREE_PLACES, wholeTray } from './choice.ts';
import type { DifferenceFacts } from './kind.ts';

/** The six serving orders of a triangle (ISO 4120). */
export const TRIANGLE_ORDERS = ['AAB', 'ABA', 'BAA', 'BBA', 'BAB', 'ABB'] as const;

export const triangle: DifferenceFacts<'triangle'> = {
  kind: 'triangle',
  group: 'choice',
  names: {
    plain: 'triangle',
    button: 'Triangle',
    heading: 'Triangle test',
    asked: 'the triangle test',
  },
  offer: {
    question: 'Do they differ?',
    note: 'Name the odd cup of three. Needs no idea of how they differ; three cups a tray.',
  },
  answer: 'choice',
  sheets: wholeTray,
  tastedFirst: 'all',
  asksIntensity: false,
  asksLiking: false,
  atSeat: ({ kind }) => ({ kind }),
  textsAtSeat: noTexts,
  task: 'find the different cup',
  doing: 'choosing the odd one',
  tastingHint: () => 'Two of the three are the same.',
  toQuestion: 'Tasted. Choose the odd one',
  serving: () => ({ orders: TRIANGLE_ORDERS, letters: 'drawn' }),
  reference: false,
  stronger: 'not-named',
  picks: onePick,
  asksWhy: true,
  places: THREE_PLACES,
  right: (_part, asked) =>
    asked.filter(({ armId }) => asked.filter((other) => other.armId === armId).length === 1),
  test: {
    ...guessing('triangle'),
    name: 'triangle test',
    source: 'ISO 4120 (triangle test)',
    planned: 'ISO 4120',
    percepts: 'Ennis 1993, Journal of Sensory Studies 8:353',
    rule: 'the odd cup is the one farthest from the other two',
    didRight: () => 'found the odd one',
  },
  words: () => ({
    ...FORCED,
    question: 'Two of these are the same. Which one is different?',
    group: 'The different cup',
    note: 'different',
  }),
  toldApart: ([cup]) => `What told ${cup} apart?`,
  sentence: (_part, [cup]) => `${cup} is different; the others are the same`,
  onTray: 'each tray holds three cups, two of one arm and one of the other; the assessor names the odd one.',
  chosenAs: 'chosen as the odd one',
  published: (_part, both) =>
    `three cups, two of one arm and one of the other (${both}); which one is different?`,
};
