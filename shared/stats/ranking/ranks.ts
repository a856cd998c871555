import { completeRows, type AssessorRows } from '../complete-rows.ts';
import { midRanks } from '../jstat.ts';

export interface RankTable {
  /** Ranks within each assessor, 1 for the lowest value, ties sharing the mean of their places. */
  ranks: number[][];
  rankSums: number[];
  assessors: number;
  samples: number;
  /** Positions, in the input, of assessors left out because a rank is missing. */
  excluded: number[];
  /** Sum of t^3 - t over all groups of t tied values. */
  ties: number;
}

/**
 * Rows of values or ranks, one per assessor, turned into ranks within the assessor.
 * Never merge ranks from sessions with different samples: a rank depends on the company it keeps.
 * Rows of one length of at least 2, values finite or null; an assessor with a null is left out and listed.
 * Errors: StatsInputError. Source: ISO 8587.
 * Example: `rankTable([[1, 2, 3], [5, 4, 9], [1, null, 2]]).rankSums[2]` is 6
 */
export function rankTable(input: AssessorRows): RankTable {
  const { rows, excluded, samples } = completeRows(input);
  const ranks = rows.map(midRanks);
  return {
    ranks,
    rankSums: Array.from({ length: samples }, (_, j) => ranks.reduce((sum, row) => sum + (row[j] ?? 0), 0)),
    assessors: rows.length,
    samples,
    excluded,
    ties: rows.reduce((sum, row) => sum + tiesOf(row), 0),
  };
}

function tiesOf(row: readonly number[]): number {
  const groups = new Map<number, number>();
  for (const value of row) groups.set(value, (groups.get(value) ?? 0) + 1);
  return [...groups.values()].reduce((sum, t) => sum + t ** 3 - t, 0);
}
