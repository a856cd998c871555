import { eachCup, noTexts } from './choice.ts';
import type { FlightFacts } from './kind.ts';

export const liking: FlightFacts<'liking'> = {
  kind: 'liking',
  group: 'flight',
  names: { plain: 'liking', button: 'Liking', heading: 'Liking', asked: 'liking' },
  offer: {
    question: 'How well liked?',
    note: 'How much do you like each cup, on nine points? Needs many people, and is best asked alone.',
  },
  answer: 'liking',
  sheets: eachCup,
  tastedFirst: 'none',
  asksIntensity: false,
  asksLiking: true,
  atSeat: ({ kind }) => ({ kind }),
  textsAtSeat: noTexts,
  task: 'say how much you like each cup',
  doing: 'rating liking',
  tastingHint: () => '',
  toQuestion: '',
  mayBorrow: true,
  controlArm: () => null,
  reads: { as: 'means', of: 'liking' },
};
