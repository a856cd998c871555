/** What a statistic refuses: names the field, the value given and the range allowed. */
export class StatsInputError extends Error {
  readonly field: string;
  readonly value: unknown;
  readonly allowed: string;

  constructor(field: string, value: unknown, allowed: string) {
    super(`${field} is ${String(value)}; allowed: ${allowed}`);
    this.name = 'StatsInputError';
    this.field = field;
    this.value = value;
    this.allowed = allowed;
  }
}

/**
 * Largest number of answers the methods accept. A guard of our own against endless sums (accuracy is checked
 * up to 10,000), far above any tasting; no source.
 */
export const MAX_ANSWERS = 100_000;

/**
 * A whole number from `least` to `most`, both included.
 * Errors: StatsInputError for anything else. Example: `integerIn('n', 3, 0, 5)` is 3
 */
export function integerIn(field: string, value: number, least: number, most: number): number {
  if (!Number.isInteger(value) || value < least || value > most) {
    throw new StatsInputError(field, value, `a whole number from ${least} to ${most}`);
  }
  return value;
}

/**
 * A number of answers: whole, 0 to MAX_ANSWERS.
 * Errors: StatsInputError. Example: `answerCount('n', 24)` is 24
 */
export function answerCount(field: string, value: number): number {
  return integerIn(field, value, 0, MAX_ANSWERS);
}

/**
 * A probability that may be 0 or 1.
 * Errors: StatsInputError. Example: `probability('pd', 0.3)` is 0.3
 */
export function probability(field: string, value: number): number {
  if (!(value >= 0 && value <= 1)) throw new StatsInputError(field, value, 'a number from 0 to 1');
  return value;
}

/**
 * A probability strictly between 0 and 1: a risk, a confidence level, a guess rate.
 * Errors: StatsInputError. Example: `properProbability('alpha', 0.05)` is 0.05
 */
export function properProbability(field: string, value: number): number {
  if (!(value > 0 && value < 1)) throw new StatsInputError(field, value, 'a number between 0 and 1');
  return value;
}

/**
 * A finite number of at least `least`.
 * Errors: StatsInputError. Example: `finiteFrom('ml', 330, 0)` is 330
 */
export function finiteFrom(field: string, value: number, least: number): number {
  if (!Number.isFinite(value) || value < least) {
    throw new StatsInputError(field, value, `a finite number of at least ${least}`);
  }
  return value;
}
