import { guessing, noTexts, pairsOf, twoPicks, wholeTray } from './choice.ts';
import type { DifferenceFacts } from './kind.ts';

/** The six orders of a tetrad, two cups of each sample: all there are (by counting). */
export const TETRAD_ORDERS = ['AABB', 'ABAB', 'ABBA', 'BAAB', 'BABA', 'BBAA'] as const;

export const tetrad: DifferenceFacts<'tetrad'> = {
  kind: 'tetrad',
  group: 'choice',
  names: {
    plain: 'tetrad',
    button: 'Tetrad',
    heading: 'Tetrad test',
    asked: 'the tetrad test',
  },
  offer: {
    question: 'Do they differ?',
    note: 'Sort four cups into two pairs. Often needs fewer people than a triangle, but four cups a tray.',
  },
  answer: 'choice',
  sheets: wholeTray,
  tastedFirst: 'all',
  asksIntensity: false,
  asksLiking: false,
  atSeat: ({ kind }) => ({ kind }),
  textsAtSeat: noTexts,
  task: 'find the two that belong together',
  doing: 'sorting into pairs',
  tastingHint: () => 'Two and two of the four are the same.',
  toQuestion: 'Tasted. Choose two',
  serving: () => ({ orders: TETRAD_ORDERS, letters: 'drawn' }),
  reference: false,
  stronger: 'not-named',
  picks: twoPicks,
  asksWhy: true,
  // Four cups are halved in three ways: a half and the rest of the cups are one choice.
  places: pairsOf(4).filter(({ cups }) => cups.includes(0)),
  right: (_part, asked) => asked.filter(({ armId }) => armId === asked[0]?.armId),
  test: {
    ...guessing('tetrad'),
    name: 'tetrad test',
    source: 'exact binomial; guessing rate by counting the three ways to pair four cups',
    planned: 'by counting, as in ISO 4120',
    percepts: 'Ennis & Jesionka 2011 (tetrad)',
    rule: 'the two pairs are those in which cups lie nearest to each other',
    didRight: () => 'paired the cups right',
  },
  words: () => ({
    question: 'Which two belong together?',
    hint: 'Two and two of these are the same. Choose two; tap one again to take it back. If you can’t tell, guess.',
    group: 'Two cups that belong together',
    note: 'together',
    missing: 'Choose two cups first.',
  }),
  toldApart: () => 'What told the two pairs apart?',
  sentence: (_part, chosen, codes) => {
    const others = codes.filter((code) => !chosen.includes(code));
    return `${chosen.join(' and ')} belong together, and so do ${others.join(' and ')}`;
  },
  onTray: 'each tray holds four cups, two of each arm; the assessor sorts them into two pairs.',
  chosenAs: 'chosen as a pair',
  published: (_part, both) => `four cups, two of each arm (${both}); which two belong together?`,
};
