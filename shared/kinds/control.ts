import { eachCup } from './choice.ts';
import type { FlightFacts } from './kind.ts';

export const control: FlightFacts<'control'> = {
  kind: 'control',
  group: 'flight',
  names: {
    plain: 'difference from control',
    button: 'Difference from control',
    heading: 'Difference from control',
    asked: 'difference from control',
  },
  offer: {
    question: 'How much of what?',
    note: 'How far is each cup from a marked control? Needs a control arm; tells size, not direction.',
  },
  answer: 'control',
  sheets: eachCup,
  tastedFirst: 'marked',
  asksIntensity: true,
  asksLiking: false,
  atSeat: ({ kind, degrees }) => ({ kind, degrees }),
  textsAtSeat: ({ degrees }) => degrees.map((text, place) => ({ path: `degrees/${place}`, text })),
  task: 'compare each cup with the control',
  doing: 'comparing with the control',
  tastingHint: () => 'It is marked as the control, and every other cup is compared with it. Keep some of it.',
  toQuestion: 'Tasted. Compare the first cup',
  mayBorrow: false,
  controlArm: ({ controlArmId }) => controlArmId,
  reads: { as: 'means', of: 'degree of difference' },
};
