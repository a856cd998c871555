import { StatsInputError } from '../ground/input.ts';

/** One line per assessor, one column per sample; null where an assessor has no answer for a sample. */
export type AssessorRows = readonly (readonly (number | null)[])[];

export interface CompleteRows {
  rows: number[][];
  /** Positions, in the input, of assessors left out because an answer is missing. */
  excluded: number[];
  /** Number of samples; 0 when there are no rows at all. */
  samples: number;
}

/**
 * Rows without a gap, and who was left out. Methods that compare all samples within an assessor need them.
 * All rows of one length, at least 2; values finite or null. Errors: StatsInputError that names row and column.
 * Example: `completeRows([[1, 2], [null, 1], [2, 1]]).rows.length` is 2
 */
export function completeRows(input: AssessorRows): CompleteRows {
  const samples = input[0]?.length ?? 0;
  const rows: number[][] = [];
  const excluded: number[] = [];
  input.forEach((row, index) => {
    if (row.length !== samples || samples < 2) {
      const allowed = samples < 2 ? 'at least 2 samples' : `${samples} samples, as in the first row`;
      throw new StatsInputError(`rows[${index}].length`, row.length, allowed);
    }
    const whole: number[] = [];
    row.forEach((value, column) => {
      if (value === null) return;
      if (!Number.isFinite(value)) {
        throw new StatsInputError(`rows[${index}][${column}]`, value, 'a finite number, or null if missing');
      }
      whole.push(value);
    });
    if (whole.length === samples) rows.push(whole);
    else excluded.push(index);
  });
  return { rows, excluded, samples };
}

/**
 * The same for choices: every value 0 (not selected), 1 (selected) or null (not asked).
 * Errors: StatsInputError. Example: `completeChoices([[1, 0], [0, null]]).excluded[0]` is 1
 */
export function completeChoices(input: AssessorRows): CompleteRows {
  const complete = completeRows(input);
  checkChoices(input);
  return complete;
}

/**
 * Refuses a value other than 0, 1 and null; returns the number of rows.
 * Errors: StatsInputError. Example: `checkChoices([[1, null]])` is 1
 */
export function checkChoices(input: AssessorRows): number {
  input.forEach((row, index) =>
    row.forEach((value, column) => {
      if (value !== 0 && value !== 1 && value !== null) {
        throw new StatsInputError(`rows[${index}][${column}]`, value, '0, 1, or null if missing');
      }
    }),
  );
  return input.length;
}
