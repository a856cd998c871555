import { noTexts, wholeTray } from './choice.ts';
import type { ChoiceFacts } from './kind.ts';

/** The four orders of a same-different test: both pairs of one sample, and both orders of one of each (by counting). */
export const SAME_DIFFERENT_ORDERS = ['AA', 'BB', 'AB', 'BA'] as const;

export const sameDifferent: ChoiceFacts<'same-different'> = {
  kind: 'same-different',
  group: 'choice',
  names: {
    plain: 'same-different',
    button: 'Same-different',
    heading: 'Same-different test',
    asked: 'the same-different test',
  },
  offer: {
    question: 'Do they differ?',
    note: 'Are two cups the same, or different? For drinks that linger: two cups a tray, and no idea of how they differ. Needs more people.',
  },
  answer: 'choice',
  sheets: wholeTray,
  tastedFirst: 'all',
  asksIntensity: false,
  asksLiking: false,
  atSeat: ({ kind }) => ({ kind }),
  textsAtSeat: noTexts,
  task: 'say whether two cups are the same',
  doing: 'choosing same or different',
  tastingHint: () => 'The two may be the same, or different.',
  toQuestion: 'Tasted. Same or different?',
  serving: () => ({ orders: SAME_DIFFERENT_ORDERS, letters: 'drawn' }),
  pairsOfTrays: true,
  reference: false,
  stronger: 'not-named',
  // Both cups are said to differ, or none.
  picks: () => ({ least: 0, most: 2 }),
  asksWhy: true,
  places: [
    { name: 'the same', cups: [] },
    { name: 'different', cups: [0, 1] },
  ],
  right: (_part, asked) => (asked[0]?.armId === asked[1]?.armId ? [] : asked),
  test: null,
  words: () => ({
    question: 'Are these two the same, or different?',
    hint: 'You tasted left to right. Both happen. If you can’t tell, say what is more likely.',
    group: 'The two cups are',
    note: 'different',
    missing: 'Say whether they are the same or different.',
  }),
  toldApart: (chosen) => (chosen.length === 0 ? 'What did you notice in both?' : 'What told them apart?'),
  sentence: (_part, chosen, codes) =>
    `${codes.join(' and ')} are ${chosen.length === 0 ? 'the same' : 'different'}`,
  onTray:
    'each tray holds two cups, of one arm or one of each; the assessor says whether they are the same or different.',
  chosenAs: 'said to be different',
  published: (_part, both) =>
    `two cups, of one arm or one of each (${both}); are they the same, or different? Half of the pairs were the same.`,
};
