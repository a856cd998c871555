import { FORCED, noTexts, PAIR_ORDERS, TO_CHOICE, TWO_PLACES, wholeTray } from './choice.ts';
import type { ChoiceFacts } from './kind.ts';

export const preference: ChoiceFacts<'preference'> = {
  kind: 'preference',
  group: 'choice',
  names: {
    plain: 'paired preference',
    button: 'Paired preference',
    heading: 'Paired preference',
    asked: 'preference',
  },
  offer: {
    question: 'Which is preferred?',
    note: 'Which of two cups do you prefer? Needs people who drink it anyway, not trained ones.',
  },
  answer: 'choice',
  sheets: wholeTray,
  tastedFirst: 'all',
  asksIntensity: false,
  asksLiking: true,
  atSeat: ({ kind, noPreference }) => ({ kind, noPreference }),
  textsAtSeat: noTexts,
  task: 'choose the cup you prefer',
  doing: 'choosing',
  tastingHint: () => 'You will be asked which you prefer.',
  toQuestion: TO_CHOICE,
  serving: () => ({ orders: PAIR_ORDERS, letters: 'drawn' }),
  reference: false,
  stronger: 'not-named',
  picks: ({ noPreference }) => ({ least: noPreference ? 0 : 1, most: 1 }),
  asksWhy: false,
  places: TWO_PLACES,
  right: () => null,
  test: null,
  words: ({ noPreference }) => ({
    question: 'Which do you prefer?',
    hint: noPreference
      ? 'There is no right answer. Say so if you prefer neither.'
      : 'There is no right answer. Choose one, even if it is a close call.',
    group: 'The cup you prefer',
    note: 'preferred',
    missing: noPreference ? 'Choose a cup, or say no preference.' : FORCED.missing,
  }),
  toldApart: ([cup]) => `What told ${cup} apart?`,
  sentence: (_part, [cup]) => (cup === undefined ? 'No preference' : `You prefer ${cup}`),
  onTray: 'one tray with one cup of each arm; the assessor names the one they prefer.',
  chosenAs: 'preferred',
  published: ({ noPreference }, both) =>
    `two cups (${both}); which do you like better? ‘No preference’ could ${noPreference ? '' : 'not '}be said.`,
};
