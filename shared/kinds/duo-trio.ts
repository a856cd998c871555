import { FORCED, guessing, noTexts, onePick, TO_CHOICE, TWO_PLACES, wholeTray } from './choice.ts';
import type { DifferenceFacts } from './kind.ts';

/** Orders of a duo-trio with reference A at every seat (ISO 10399): the reference first, then the pair. */
export const DUO_TRIO_CONSTANT_ORDERS = ['AAB', 'ABA'] as const;

/** Orders of a duo-trio in which each sample is the reference equally often (ISO 10399): the reference first. */
export const DUO_TRIO_BALANCED_ORDERS = [...DUO_TRIO_CONSTANT_ORDERS, 'BAB', 'BBA'] as const;

export const duoTrio: DifferenceFacts<'duo-trio'> = {
  kind: 'duo-trio',
  group: 'choice',
  names: {
    plain: 'duo-trio',
    button: 'Duo-trio',
    heading: 'Duo-trio test',
    asked: 'the duo-trio test',
  },
  offer: {
    question: 'Do they differ?',
    note: 'Which of two cups is like the reference? Simple to explain; needs more people than a triangle.',
  },
  answer: 'choice',
  sheets: wholeTray,
  tastedFirst: 'all',
  asksIntensity: false,
  asksLiking: false,
  atSeat: ({ kind }) => ({ kind }),
  textsAtSeat: noTexts,
  task: 'find the cup that is the reference',
  doing: 'choosing the one like the reference',
  tastingHint: () => 'One of the other two is the same as the reference.',
  toQuestion: TO_CHOICE,
  serving: ({ reference }) =>
    reference === 'constant'
      ? { orders: DUO_TRIO_CONSTANT_ORDERS, letters: 'given' }
      : { orders: DUO_TRIO_BALANCED_ORDERS, letters: 'drawn' },
  reference: true,
  stronger: 'not-named',
  picks: onePick,
  asksWhy: true,
  places: TWO_PLACES,
  right: (_part, asked, reference) => asked.filter(({ armId }) => armId === reference?.armId),
  test: {
    ...guessing('duo-trio'),
    name: 'duo-trio test',
    source: 'ISO 10399 (duo-trio test)',
    planned: 'ISO 10399',
    percepts: 'David & Trivedi 1962; Ennis 1993, Journal of Sensory Studies 8:353',
    rule: 'the cup nearer to the reference is taken to be it',
    didRight: () => 'found the cup that was the reference',
  },
  words: () => ({
    ...FORCED,
    question: 'Which of the two is the same as the reference?',
    group: 'The cup that is the same as the reference',
    note: 'same',
  }),
  toldApart: () => 'What told the other cup apart?',
  sentence: (_part, [cup]) => `${cup} is the same as the reference`,
  onTray: 'each tray holds a cup marked as reference and two more; the assessor names the one like it.',
  chosenAs: 'chosen as the reference',
  published: ({ reference, armIds }, both, nameOf) =>
    `a marked reference and two cups, one of each arm (${both}); which one is like the reference? ${
      reference === 'constant'
        ? `The reference was always ${nameOf(armIds[0] ?? '')}.`
        : 'Each arm was the reference equally often.'
    }`,
};
