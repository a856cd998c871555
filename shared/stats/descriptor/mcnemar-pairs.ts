import { completeChoices, type AssessorRows } from '../complete-rows.ts';
import type { MethodFacts } from '../method.ts';
import { holm } from '../multiplicity.ts';
import { mcnemarExact } from './mcnemar.ts';

export interface McNemarPair {
  /** Columns, 0-based, first < second. */
  first: number;
  second: number;
  onlyFirst: number;
  onlySecond: number;
  p: number;
  /** Holm's p over the pairs of this descriptor. */
  pHolm: number;
}

export interface McNemarPairs extends MethodFacts {
  assessors: number;
  excluded: number[];
  pairs: McNemarPair[];
}

/**
 * For which pairs of samples was a descriptor chosen unequally often? Exact McNemar for each pair, Holm over the pairs.
 * Follows cochranQ, with the same assessors. Pairs alone: over several descriptors multiply the family further.
 * rows as in cochranQ. Errors: StatsInputError. Source: McNemar 1947, Psychometrika 12:153; Holm 1979.
 * Example: `mcnemarPairs({ rows: [[0, 1], [0, 1], [0, 1], [1, 1], [0, 1]] }).pairs[0].p` is 0.125
 */
export function mcnemarPairs({ rows: input }: { rows: AssessorRows }): McNemarPairs {
  const { rows, excluded, samples } = completeChoices(input);
  const bare: Omit<McNemarPair, 'pHolm'>[] = [];
  for (let first = 0; first < samples; first += 1) {
    for (let second = first + 1; second < samples; second += 1) {
      const onlyFirst = rows.filter((row) => row[first] === 1 && row[second] === 0).length;
      const onlySecond = rows.filter((row) => row[first] === 0 && row[second] === 1).length;
      bare.push({ first, second, onlyFirst, onlySecond, p: mcnemarExact({ onlyFirst, onlySecond }).p });
    }
  }
  const { adjusted } = holm({ p: bare.map(({ p }) => p) });
  return {
    assessors: rows.length,
    excluded,
    pairs: bare.map((pair, index) => ({ ...pair, pHolm: adjusted[index] ?? 1 })),
    method: 'Exact McNemar tests of all pairs, Holm adjustment',
    assumption: 'Each assessor tasted all samples; assessors are independent of each other.',
    source: 'McNemar 1947; Holm 1979',
  };
}
