import type { FlightFacts } from './kind.ts';

export const rating: FlightFacts<'rating'> = {
  kind: 'rating',
  group: 'flight',
  names: { plain: 'rating', button: 'Rating', heading: 'Rating', asked: 'rating' },
  offer: {
    question: 'How much of what?',
    note: 'How strong is each attribute in each cup? Needs people who agree on what the words mean.',
  },
  answer: 'rating',
  sheets: ({ by }) => (by === 'attribute' ? 'attribute' : 'cup'),
  tastedFirst: 'none',
  asksIntensity: true,
  asksLiking: false,
  atSeat: ({ kind, attributes, scale, by, returning }) => ({ kind, attributes, scale, by, returning }),
  textsAtSeat: ({ attributes }) =>
    attributes.flatMap(({ name, low, high }, place) =>
      Object.entries({ name, low, high }).map(([field, text]) => ({
        path: `attributes/${place}/${field}`,
        text,
      })),
    ),
  task: 'rate',
  doing: 'rating',
  tastingHint: () => '',
  toQuestion: '',
  mayBorrow: true,
  controlArm: () => null,
  reads: { as: 'means', of: 'an attribute' },
};
