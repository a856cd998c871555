import { answerCount, probability, properProbability, StatsInputError } from '../../ground/input.ts';

/** Forced-choice tests of difference. Tetrad and triangle name no attribute; 2-AFC and 3-AFC do. */
export type TestKind = 'triangle' | 'duo-trio' | 'tetrad' | '2-AFC' | '3-AFC' | 'two-of-five';

/**
 * Chance of a right answer by guessing alone, p0.
 * One odd of three, one pair of three ways to halve four, one of three: 1/3. One of two: 1/2. One pair of ten: 1/10.
 * Source: ISO 4120 (triangle), ISO 10399 (duo-trio), ISO 5495 (2-AFC); tetrad, 3-AFC and two-of-five by counting.
 * Example: `GUESS_RATE.triangle` is 0.333333333333
 */
export const GUESS_RATE: Readonly<Record<TestKind, number>> = {
  triangle: 1 / 3,
  'duo-trio': 1 / 2,
  tetrad: 1 / 3,
  '2-AFC': 1 / 2,
  '3-AFC': 1 / 3,
  'two-of-five': 1 / 10,
};

/**
 * Chance of a right answer when a share `pd` of assessors discriminates and the rest guesses:
 * pc = p0 + (1 - p0) pd. The guessing model, not a head-count of people who can taste the difference.
 * pd from 0 to 1, guessRate between 0 and 1. Errors: StatsInputError.
 * Example: `proportionCorrect(0.3, 1 / 3)` is 0.533333333333
 */
export function proportionCorrect(pd: number, guessRate: number): number {
  probability('pd', pd);
  properProbability('guessRate', guessRate);
  // Rounding must not lift it above 1.
  return Math.min(1, guessRate + (1 - guessRate) * pd);
}

/**
 * Counts of one test: n whole from 0, correct whole from 0 to n.
 * Errors: StatsInputError. Example: `answers({ correct: 8, n: 12 }).n` is 12
 */
export function answers({ correct, n }: { correct: number; n: number }): { correct: number; n: number } {
  answerCount('n', n);
  if (!Number.isInteger(correct) || correct < 0 || correct > n) {
    throw new StatsInputError('correct', correct, `a whole number from 0 to n = ${n}`);
  }
  return { correct, n };
}
