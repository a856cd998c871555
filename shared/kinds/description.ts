import { eachCup, noTexts } from './choice.ts';
import type { FlightFacts } from './kind.ts';

export const description: FlightFacts<'description'> = {
  kind: 'description',
  group: 'flight',
  names: { plain: 'description', button: 'Description', heading: 'Description', asked: 'description' },
  offer: {
    question: 'In which words?',
    note: 'Check the words that fit each cup. Needs no training; also works on the cups of a test before it.',
  },
  answer: 'description',
  sheets: eachCup,
  tastedFirst: 'none',
  asksIntensity: true,
  asksLiking: false,
  atSeat: ({ kind, words, intensity, late }) => ({ kind, words, intensity, ...(late && { late }) }),
  textsAtSeat: noTexts,
  task: 'describe each cup',
  doing: 'choosing words',
  tastingHint: () => '',
  toQuestion: '',
  mayBorrow: true,
  controlArm: () => null,
  reads: { as: 'shares' },
};
