import { checkChoices, type AssessorRows } from '../complete-rows.ts';
import { wilson } from '../discrimination/proportion-interval.ts';
import { properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';

export interface DescriptorFrequency {
  /** Assessors who chose the descriptor for this sample. */
  chosen: number;
  /** Assessors who were asked; a missing ballot does not count. */
  asked: number;
  /** chosen / asked; null without data. */
  share: number | null;
  lower: number;
  upper: number;
}

export interface DescriptorFrequencies extends MethodFacts {
  /** One per sample, in the order of the columns. */
  samples: DescriptorFrequency[];
  level: number;
}

/**
 * How often was a descriptor chosen for each sample, and within which limits would the share lie for assessors like these?
 * share = chosen / asked, limits by Wilson's score interval. Not chosen means not selected, not absent.
 * The limits of two samples do not compare them, since the same people tasted both: take cochranQ and McNemar's test.
 * rows: one per assessor, 1 chosen, 0 not, null not asked; one answer per assessor and sample. level between 0 and 1.
 * No data: share null, limits 0 and 1. Errors: StatsInputError. Source: Wilson 1927; Newcombe 1998, Stat. Med. 17:857.
 * Example: `descriptorFrequencies({ rows: [[1, 0], [1, null], [0, 1]], level: 0.95 }).samples[1].share` is 0.5
 */
export function descriptorFrequencies({
  rows,
  level,
}: {
  rows: AssessorRows;
  level: number;
}): DescriptorFrequencies {
  properProbability('level', level);
  checkChoices(rows);
  const samples = rows[0]?.length ?? 0;
  rows.forEach((row, index) => {
    if (row.length !== samples) {
      throw new StatsInputError(
        `rows[${index}].length`,
        row.length,
        `${samples} samples, as in the first row`,
      );
    }
  });
  return {
    samples: Array.from({ length: samples }, (_, column) => {
      const answers = rows.map((row) => row[column]).filter((value) => value !== null);
      const chosen = answers.filter((value) => value === 1).length;
      const asked = answers.length;
      const { estimate, lower, upper } = wilson({ correct: chosen, n: asked, level });
      return { chosen, asked, share: estimate, lower, upper };
    }),
    level,
    method: 'Share choosing a descriptor, Wilson score interval',
    assumption: 'One answer per assessor and sample; assessors are independent of each other.',
    source: 'Wilson 1927; Newcombe 1998',
  };
}
