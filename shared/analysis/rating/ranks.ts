import type { MarkFigures } from '../../contracts/result-rating.ts';
import type { RandomSource } from '../../ground/random.ts';
import { holm } from '../../stats/multiplicity.ts';
import { durbin } from '../../stats/ranking/durbin.ts';
import { friedman } from '../../stats/ranking/friedman.ts';
import { rankSumDifferences } from '../../stats/ranking/rank-sum-differences.ts';
import { cumulativeLink } from '../../stats/rating/cumulative-link.ts';
import type { AskedMark } from './marks.ts';
import { ranksOfRow } from '../ranking/table.ts';

/** The rank-based answer before adjusting over attributes and before letters. */
export type RankDraft = Omit<NonNullable<MarkFigures['ranks']>, 'adjusted'>;
export type LinkDraft = Omit<NonNullable<MarkFigures['link']>, 'adjusted'>;

/** Mean mark of each person for each sample; null where there is none. One row per person. */
export function personMeans(marks: readonly AskedMark[], samples: number): (number | null)[][] {
  const people = Map.groupBy(marks, ({ assessor }) => assessor);
  return [...people.values()].map((own) =>
    Array.from({ length: samples }, (_sample, place) => {
      const values = own.flatMap((mark) => (mark.place === place && mark.value !== null ? [mark.value] : []));
      return values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
    }),
  );
}

/**
 * Friedman's test on means within people, pairs by Nemenyi; Durbin's, pairs by Holm, where cups were dealt in incomplete
 * blocks or marks are missing, so that nobody with two marks is left out. Null with fewer than two people or samples. Sources: in the method notes.
 */
export function rankDraft(
  marks: readonly AskedMark[],
  keys: readonly string[],
  { blocks, permutations, random }: { blocks: boolean; permutations: number; random: RandomSource },
): RankDraft | null {
  if (keys.length < 2) return null;
  const told = personMeans(marks, keys.length).filter((row) => row.some((value) => value !== null));
  const keyOf = (place: number): string => keys[place] ?? '';
  const undecided = (row: (number | null)[]): boolean => row.filter((value) => value !== null).length < 2;
  if (blocks || told.some((row) => row.includes(null))) {
    const rows = told.filter((row) => !undecided(row));
    if (rows.length < 2) return null;
    const result = durbin({ rows, random, permutations });
    return {
      by: 'durbin',
      chiSquare: result.chiSquare,
      df: result.df,
      p: result.p,
      route: result.route,
      permutations: result.permutations,
      assessors: rows.length,
      leftOut: told.length - rows.length,
      samples: meanRanks(rows, keys),
      pairs: result.pairs.map(({ first, second, difference, pHolm }) => ({
        first: keyOf(first),
        second: keyOf(second),
        difference: difference ?? 0,
        p: pHolm ?? 1,
        differs: false,
      })),
      adjustment: 'holm',
    };
  }
  const rows = told;
  if (rows.length < 2) return null;
  const result = friedman({ rows, random, permutations });
  // The level only sets critical differences, which are not shown here.
  const { pairs } = rankSumDifferences({ rows, alpha: 0.05 });
  return {
    by: 'friedman',
    chiSquare: result.chiSquare,
    df: result.df,
    p: result.p,
    route: result.route,
    permutations: result.permutations,
    assessors: rows.length,
    leftOut: told.length - rows.length,
    samples: meanRanks(rows, keys),
    pairs: pairs.map(({ first, second, difference, pNemenyi }) => ({
      first: keyOf(first),
      second: keyOf(second),
      difference,
      // Two samples: the one pair is the test itself.
      p: keys.length === 2 ? result.p : pNemenyi,
      differs: false,
    })),
    adjustment: 'nemenyi',
  };
}

function meanRanks(rows: readonly (number | null)[][], keys: readonly string[]): RankDraft['samples'] {
  const ranked = rows.map(ranksOfRow);
  return keys.map((sample, place) => {
    const own = ranked.flatMap((row) => row[place] ?? []);
    return {
      sample,
      meanRank: own.length === 0 ? null : own.reduce((sum, rank) => sum + rank, 0) / own.length,
      letters: null,
    };
  });
}

/** p of each sample against the control by differences of rank sums, Holm over samples; empty where ranks say nothing. */
export function ranksAgainst(
  marks: readonly AskedMark[],
  keys: readonly string[],
  control: string,
): Map<string, number> {
  const rows = personMeans(marks, keys.length).filter((row) => row.every((value) => value !== null));
  if (rows.length < 2 || keys.length < 2) return new Map();
  const place = keys.indexOf(control);
  const own = rankSumDifferences({ rows, alpha: 0.05 }).pairs.filter(
    ({ first, second }) => first === place || second === place,
  );
  const { adjusted } = holm({ p: own.map(({ pUnadjusted }) => pUnadjusted) });
  return new Map(
    own.map(({ first, second }, index) => [
      keys[first === place ? second : first] ?? '',
      adjusted[index] ?? 1,
    ]),
  );
}

/** Cumulative logit with people random; null when it has no fit. */
export function linkDraft(
  ratings: readonly { assessor: string; sample: string; value: number }[],
  scale: { lowest: number; highest: number },
): LinkDraft | null {
  const { sampleTest, pairs, reason } = cumulativeLink({ ratings, scale, assessors: 'random', level: 0.95 });
  if (sampleTest === null || reason !== null) return null;
  return {
    ...sampleTest,
    pairs: pairs.map(({ first, second, oddsRatio, lower, upper, tukey }) => ({
      first,
      second,
      oddsRatio,
      lower,
      upper,
      pTukey: tukey,
    })),
  };
}
