import { FORCED, guessing, onePick, PAIR_ORDERS, TO_CHOICE, TWO_PLACES, wholeTray } from './choice.ts';
import type { DifferenceFacts } from './kind.ts';

export const directionalPair: DifferenceFacts<'directional-pair'> = {
  kind: 'directional-pair',
  group: 'choice',
  names: {
    plain: 'directional pair',
    button: 'Directional pair',
    heading: 'Directional pair',
    asked: 'the directional pair',
  },
  offer: {
    question: 'Do they differ?',
    note: 'Which of two cups has more of one attribute? Only two cups a tray; you name the attribute.',
  },
  answer: 'choice',
  sheets: wholeTray,
  tastedFirst: 'all',
  asksIntensity: true,
  asksLiking: false,
  atSeat: ({ kind, attribute }) => ({ kind, attribute }),
  textsAtSeat: ({ attribute }) => [{ path: 'attribute', text: attribute }],
  task: 'find the cup that has more of something',
  doing: 'choosing the one with more',
  tastingHint: ({ attribute }) => `You will be asked which has more ${attribute}.`,
  toQuestion: TO_CHOICE,
  serving: () => ({ orders: PAIR_ORDERS, letters: 'drawn' }),
  reference: false,
  stronger: 'may-be-named',
  picks: onePick,
  asksWhy: true,
  places: TWO_PLACES,
  right: ({ strongerArmId }, asked) =>
    strongerArmId === null ? null : asked.filter(({ armId }) => armId === strongerArmId),
  test: {
    ...guessing('2-AFC'),
    name: 'directional pair',
    source: 'ISO 5495 (paired comparison)',
    planned: 'ISO 5495',
    percepts: 'Ennis 1993, Journal of Sensory Studies 8:353',
    rule: 'the cup with more of the attribute is chosen',
    didRight: ({ stronger, attribute }) => `named ${stronger} as stronger in ${attribute}`,
  },
  words: ({ attribute }) => ({
    ...FORCED,
    question: `Which has more ${attribute}?`,
    group: `The cup with more ${attribute}`,
    note: 'more',
  }),
  toldApart: ([cup]) => `What else told ${cup} apart?`,
  sentence: ({ attribute }, [cup]) => `${cup} has more ${attribute}`,
  onTray: 'each tray holds one cup of each arm; the assessor names the one with more.',
  chosenAs: 'chosen as the stronger',
  published: ({ strongerArmId, attribute }, both, nameOf) =>
    `two cups (${both}); which is more ${attribute}? ${
      strongerArmId === null
        ? 'No direction was expected beforehand.'
        : `${nameOf(strongerArmId)} was expected to be, beforehand.`
    }`,
};
