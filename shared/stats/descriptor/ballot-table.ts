import { StatsInputError } from '../../ground/input.ts';

/**
 * Choices of a whole session: per assessor, per sample, one 0 or 1 per descriptor; null for a sample the assessor has no
 * ballot of.
 */
export type DescriptorBallots = readonly (readonly (readonly number[] | null)[])[];

export interface BallotTable {
  assessors: number;
  samples: number;
  descriptors: number;
  /** Times chosen, samples by descriptors. */
  table: number[][];
  /** Per assessor, the cells chosen: sample x descriptors + descriptor. */
  cells: Int32Array[];
}

/**
 * Ballots checked and added up. All assessors the same samples, all ballots the same descriptors, values 0 and 1.
 * Errors: StatsInputError that names the place. Example: `ballotTable([[[1, 0], [0, 1]], [[1, 1], null]]).table[0][0]` is 2
 */
export function ballotTable(ballots: DescriptorBallots): BallotTable {
  const samples = ballots[0]?.length ?? 0;
  const descriptors = ballots.flat().find((ballot) => ballot !== null)?.length ?? 0;
  const table = Array.from({ length: samples }, () => new Array<number>(descriptors).fill(0));
  const cells = ballots.map((assessor, i) => {
    if (assessor.length !== samples) {
      throw new StatsInputError(
        `ballots[${i}].length`,
        assessor.length,
        `${samples} samples, as in the first`,
      );
    }
    const chosen: number[] = [];
    assessor.forEach((ballot, sample) => {
      if (ballot === null) return;
      if (ballot.length !== descriptors) {
        const field = `ballots[${i}][${sample}].length`;
        throw new StatsInputError(field, ballot.length, `${descriptors} descriptors, as in the first`);
      }
      ballot.forEach((value, descriptor) => {
        if (value !== 0 && value !== 1) {
          throw new StatsInputError(`ballots[${i}][${sample}][${descriptor}]`, value, '0 or 1');
        }
        const row = table[sample];
        if (value === 0 || !row) return;
        row[descriptor] = (row[descriptor] ?? 0) + 1;
        chosen.push(sample * descriptors + descriptor);
      });
    });
    return Int32Array.from(chosen);
  });
  return { assessors: ballots.length, samples, descriptors, table, cells };
}
