import { guessing, noTexts, pairsOf, twoPicks, wholeTray } from './choice.ts';
import type { DifferenceFacts } from './kind.ts';

const PAIRS = pairsOf(5);
const ordersWith = (two: string, three: string): string[] =>
  PAIRS.map(({ cups }) => Array.from({ length: 5 }, (_, at) => (cups.includes(at) ? two : three)).join(''));

/** The twenty orders of a two-out-of-five: two cups of one sample in each of ten pairs of places, either way (by counting). */
export const TWO_OUT_OF_FIVE_ORDERS: readonly string[] = [...ordersWith('A', 'B'), ...ordersWith('B', 'A')];

export const twoOutOfFive: DifferenceFacts<'two-out-of-five'> = {
  kind: 'two-out-of-five',
  group: 'choice',
  names: {
    plain: 'two-out-of-five',
    button: 'Two-out-of-five',
    heading: 'Two-out-of-five test',
    asked: 'the two-out-of-five test',
  },
  offer: {
    question: 'Do they differ?',
    note: 'Find the two of five cups that belong together. Guessing is seldom right, so few people do; five cups a tray tire.',
  },
  answer: 'choice',
  sheets: wholeTray,
  tastedFirst: 'all',
  asksIntensity: false,
  asksLiking: false,
  atSeat: ({ kind }) => ({ kind }),
  textsAtSeat: noTexts,
  task: 'find the two of five that belong together',
  doing: 'choosing two of five',
  tastingHint: () => 'Two of the five are the same, and so are the other three.',
  toQuestion: 'Tasted. Choose two',
  serving: () => ({ orders: TWO_OUT_OF_FIVE_ORDERS, letters: 'drawn' }),
  reference: false,
  stronger: 'not-named',
  picks: twoPicks,
  asksWhy: true,
  places: PAIRS,
  right: (_part, asked) =>
    asked.filter(({ armId }) => asked.filter((other) => other.armId === armId).length === 2),
  test: {
    ...guessing('two-of-five'),
    name: 'two-out-of-five test',
    source: 'ISO 6658 (two-out-of-five test)',
    planned: 'ISO 6658',
    percepts: 'derived for this program from the rule, by quadrature, and held against simulation',
    rule: 'cups are split into the two and the three that lie closest together, by least squares',
    didRight: () => 'found the two that belong together',
  },
  words: () => ({
    question: 'Which two belong together?',
    hint: 'Two of these are the same, and so are the other three. Choose the two; tap one again to take it back. If you can’t tell, guess.',
    group: 'Two cups that belong together',
    note: 'together',
    missing: 'Choose two cups first.',
  }),
  toldApart: () => 'What told the two from the three?',
  sentence: (_part, chosen) => `${chosen.join(' and ')} belong together, and so do the other three`,
  onTray: 'each tray holds five cups, two of one arm and three of the other; the assessor names the two.',
  chosenAs: 'chosen as one of the two',
  published: (_part, both) =>
    `five cups, two of one arm and three of the other (${both}); which two belong together?`,
};
