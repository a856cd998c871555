import { FORCED, guessing, onePick, THREE_PLACES, TO_CHOICE, wholeTray } from './choice.ts';
import type { DifferenceFacts } from './kind.ts';

/** The three orders of a 3-AFC: B, the stronger sample, once beside two of the other (by counting). */
export const THREE_AFC_ORDERS = ['BAA', 'ABA', 'AAB'] as const;

export const threeAfc: DifferenceFacts<'three-afc'> = {
  kind: 'three-afc',
  group: 'choice',
  names: { plain: '3-AFC', button: '3-AFC', heading: '3-AFC test', asked: 'the 3-AFC test' },
  offer: {
    question: 'Do they differ?',
    note: 'Which cup of three has the most of one attribute? Strong, when you know which arm should have more.',
  },
  answer: 'choice',
  sheets: wholeTray,
  tastedFirst: 'all',
  asksIntensity: true,
  asksLiking: false,
  atSeat: ({ kind, attribute }) => ({ kind, attribute }),
  textsAtSeat: ({ attribute }) => [{ path: 'attribute', text: attribute }],
  task: 'find the cup that has the most of something',
  doing: 'choosing the one with most',
  tastingHint: ({ attribute }) => `You will be asked which has the most ${attribute}.`,
  toQuestion: TO_CHOICE,
  serving: () => ({ orders: THREE_AFC_ORDERS, letters: 'stronger' }),
  reference: false,
  stronger: 'named',
  picks: onePick,
  asksWhy: true,
  places: THREE_PLACES,
  right: ({ strongerArmId }, asked) => asked.filter(({ armId }) => armId === strongerArmId),
  test: {
    ...guessing('3-AFC'),
    name: '3-AFC test',
    source: 'exact binomial; guessing rate by counting, one cup of three',
    planned: 'by counting, as in ISO 4120',
    percepts: 'Ennis 1993, Journal of Sensory Studies 8:353',
    rule: 'the cup with the most of the attribute is chosen',
    didRight: ({ stronger, attribute }) => `named the cup of ${stronger} as strongest in ${attribute}`,
  },
  words: ({ attribute }) => ({
    ...FORCED,
    question: `Which has the most ${attribute}?`,
    group: `The cup with the most ${attribute}`,
    note: 'most',
  }),
  toldApart: ([cup]) => `What else told ${cup} apart?`,
  sentence: ({ attribute }, [cup]) => `${cup} has the most ${attribute}`,
  onTray: 'each tray holds three cups, one of the arm that should have more and two of the other.',
  chosenAs: 'chosen as the strongest',
  published: ({ strongerArmId, attribute }, both, nameOf) =>
    `three cups, one of ${nameOf(strongerArmId)} and two of the other arm (${both}); which is the most ${attribute}?`,
};
