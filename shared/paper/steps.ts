import type { Confidence, Swallowing } from '../contracts/ballot.ts';

// Steps that are numbered on paper, in their order.

export const CONFIDENCE_STEPS: readonly { step: Confidence; word: string }[] = [
  { step: 'certain', word: 'certain' },
  { step: 'fairly-sure', word: 'fairly sure' },
  { step: 'guess', word: 'a guess' },
];

export const SWALLOWING_STEPS: readonly { step: Swallowing; word: string }[] = [
  { step: 'swallowed', word: 'swallowed' },
  { step: 'spat', word: 'spat' },
  { step: 'some-of-each', word: 'some of each' },
];

/** Strength of a word, from 1. */
export const STRENGTH_STEPS = ['faint', 'clear', 'strong'] as const;
