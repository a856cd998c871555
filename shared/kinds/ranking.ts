import { wholeTray } from './choice.ts';
import type { FlightFacts } from './kind.ts';

export const ranking: FlightFacts<'ranking'> = {
  kind: 'ranking',
  group: 'flight',
  names: { plain: 'ranking', button: 'Ranking', heading: 'Ranking', asked: 'ranking' },
  offer: {
    question: 'How much of what?',
    note: 'Put the cups in order of one attribute. Quick, without a scale; tells order, not distance.',
  },
  answer: 'ranking',
  sheets: wholeTray,
  tastedFirst: 'all',
  asksIntensity: true,
  asksLiking: false,
  atSeat: ({ kind, attribute }) => ({ kind, attribute }),
  textsAtSeat: ({ attribute }) => [{ path: 'attribute', text: attribute }],
  task: 'put the cups in order',
  doing: 'ranking',
  tastingHint: ({ attribute }) => `You will be asked to put them in order of ${attribute}.`,
  toQuestion: 'Tasted. Put them in order',
  mayBorrow: true,
  controlArm: () => null,
  reads: { as: 'ranks' },
};
