import { analyseRanking } from '@oddglass/shared/analysis/ranking/ranking.ts';
import type { ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import type { RankingPart, SampleInput } from '@oddglass/shared/contracts/part.ts';
import { rankingResult, type RankingResult } from '@oddglass/shared/contracts/result-ranking.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { named, referenceCase } from '../../stats/reference-case.ts';
import { expectWithin } from '../../stats/within.ts';
import { armId, flight, flightInput, flightTray } from '../common/flight-input.ts';

function part(arms: number, change: Partial<RankingPart> = {}, further: SampleInput[] = []): RankingPart {
  return { kind: 'ranking', ...flight(arms, further), attribute: 'sour', ...change };
}

/** A tray served as named, put in the order of `values` (one per cup, least first; equal values left to right). */
function ranked(
  asked: RankingPart,
  assessor: string,
  served: readonly number[],
  values: readonly number[] | null,
  replicate = 1,
): ServedTray {
  const order = served
    .map((_place, at) => at)
    .sort((a, b) => (values?.[a] ?? 0) - (values?.[b] ?? 0) || a - b)
    .map((at) => String(101 + at));
  return flightTray(asked, assessor, served, [values && { kind: 'ranking', order }], replicate);
}

/**
 * People who leave ties cannot say so in one order; over two trays, cups left to right and right to left, tied samples come
 * out level.
 */
function panel(asked: RankingPart, rows: readonly (readonly number[])[]): ServedTray[] {
  return rows.flatMap((row, person) => {
    const places = row.map((_value, place) => place);
    const name = `person ${person}`;
    const turned = places.toReversed();
    return [
      ranked(asked, name, places, row, 1),
      ranked(
        asked,
        name,
        turned,
        turned.map((place) => row[place] ?? 0),
        2,
      ),
    ];
  });
}

const read = (asked: RankingPart, trays: ServedTray[]): RankingResult =>
  analyseRanking(flightInput(asked, trays));

describe('published and computed examples, from served trays to the document', () => {
  const ties = referenceCase<
    { rows_are_assessors: number[][] },
    {
      rank_sums: number[];
      chisq_tie_corrected: number;
      chisq_uncorrected: number;
      df: number;
      p: number;
      kendall_W: number;
      F_iman_davenport: number;
      p_iman_davenport: number;
    }
  >('friedman-10x4-ties');
  const pairs = referenceCase<
    unknown,
    { CD_nemenyi_ranksum: number; abs_diff: number[]; p_nemenyi: number[] }
  >('posthoc-ranksum-10x4');

  test(`${named(ties)}; ${named(pairs)}`, () => {
    const { expected, input, tolerance } = ties;
    const result = read(part(4, { replicates: 2 }), panel(part(4), input.rows_are_assessors));
    expect(result.samples.map(({ rankSum }) => rankSum)).toEqual(expected.rank_sums);
    expectWithin(result.test?.chiSquare ?? NaN, expected.chisq_tie_corrected, tolerance, 'chi-square');
    expectWithin(result.test?.uncorrected ?? NaN, expected.chisq_uncorrected, tolerance, 'uncorrected');
    expect(result.test?.df).toBe(expected.df);
    expectWithin(result.test?.pChiSquare ?? NaN, expected.p, tolerance, 'p by chi-square');
    expectWithin(result.test?.imanDavenport?.f ?? NaN, expected.F_iman_davenport, tolerance, 'F');
    expectWithin(result.test?.imanDavenport?.p ?? NaN, expected.p_iman_davenport, tolerance, 'p of F');
    expectWithin(result.agreement?.w ?? NaN, expected.kendall_W, tolerance, 'W');
    // The case of the pairs makes no allowance for ties: ours do, by the root of the tie factor.
    const root = Math.sqrt((result.test?.uncorrected ?? NaN) / (result.test?.chiSquare ?? NaN));
    expectWithin(
      result.pairs?.critical ?? NaN,
      root * pairs.expected.CD_nemenyi_ranksum,
      1e-6,
      'critical difference',
    );
    result.pairs?.rows.forEach((row, index) => {
      expectWithin(Math.abs(row.difference), pairs.expected.abs_diff[index] ?? NaN, 1e-12, 'difference');
      expect(row.pNemenyi).toBeLessThanOrEqual(pairs.expected.p_nemenyi[index] ?? NaN);
    });
    // 15.5, 19.0, 27.5 and 38.0, apart from 14.83: the last differs from the first two only.
    expect(result.samples.map(({ letters }) => letters)).toEqual(['b', 'b', 'ab', 'a']);
    expect(result.ranked).toMatchObject({ assessors: 10, averaged: true });
  });

  const zar = referenceCase<
    { rows_are_raters: number[][] },
    {
      rank_sums: number[];
      W_corrected: number;
      chisq_corrected: number;
      df: number;
      p: number;
      mean_spearman: number;
    }
  >('kendall-W-zar');

  test(named(zar), () => {
    const { expected, input, tolerance } = zar;
    const result = read(part(12, { replicates: 2 }), panel(part(12), input.rows_are_raters));
    expect(result.samples.map(({ rankSum }) => rankSum)).toEqual(expected.rank_sums);
    expectWithin(result.agreement?.w ?? NaN, expected.W_corrected, tolerance, 'W');
    expectWithin(result.agreement?.meanSpearman ?? NaN, expected.mean_spearman, tolerance, 'Spearman');
    expectWithin(result.test?.chiSquare ?? NaN, expected.chisq_corrected, tolerance, 'chi-square');
    expectWithin(result.test?.pChiSquare ?? NaN, expected.p, tolerance, 'p');
    expect(result.test?.route).toBe('permutation');
    expect(result.test?.permutations).toBe(9999);
  });

  test('friedman-exact-null: five people, three samples, chi-square 6.4 (Friedman 1937: p 0.039)', () => {
    const asked = part(3);
    const rows = [
      [1, 2, 3],
      [1, 2, 3],
      [1, 2, 3],
      [1, 3, 2],
      [2, 1, 3],
    ];
    const result = read(
      asked,
      rows.map((row, person) => ranked(asked, `person ${person}`, [0, 1, 2], row)),
    );
    expectWithin(result.test?.chiSquare ?? NaN, 6.4, 1e-12, 'chi-square');
    expectWithin(result.test?.p ?? NaN, 0.0393518518519, 1e-9, 'p');
    expect(result.test).toMatchObject({ kind: 'friedman', route: 'exact', permutations: null, shown: true });
    expect(result.finding.headline).toBe('Wild was ranked most sour, Cool least.');
    expect(result.caveats.some(({ text }) => text.includes('the smallest p this test could give'))).toBe(
      true,
    );
  });

  test('Conover 1999, p. 391 (from memory): seven people rank three of seven each', () => {
    const asked = part(7, { cupsEach: 3 });
    const orders: [number[], number[]][] = [
      [
        [0, 1, 3],
        [2, 3, 1],
      ],
      [
        [1, 2, 4],
        [3, 1, 2],
      ],
      [
        [2, 3, 5],
        [2, 1, 3],
      ],
      [
        [3, 4, 6],
        [1, 2, 3],
      ],
      [
        [0, 4, 5],
        [3, 1, 2],
      ],
      [
        [1, 5, 6],
        [3, 1, 2],
      ],
      [
        [0, 2, 6],
        [3, 1, 2],
      ],
    ];
    const result = read(
      asked,
      orders.map(([served, row], person) => ranked(asked, `person ${person}`, served, row)),
    );
    expect(result.test).toMatchObject({ kind: 'incomplete', df: 6, route: 'permutation' });
    expectWithin(result.test?.chiSquare ?? NaN, 12, 1e-9, 'statistic');
    expectWithin(result.test?.pChiSquare ?? NaN, Math.exp(-6) * 25, 1e-9, 'p');
    expect(result.samples.map(({ rankSum }) => rankSum)).toEqual([8, 9, 4, 3, 5, 6, 7]);
    expect(result.agreement).toBeNull();
    expect(result.caveats.some(({ text }) => text.startsWith('Nobody ranked all samples'))).toBe(true);
    expect(rankingResult.safeParse(result).error).toBeUndefined();
  });
});

describe('panels as they are', () => {
  test('nobody, and one person', () => {
    const asked = part(3);
    const empty = read(asked, []);
    expect(rankingResult.safeParse(empty).error).toBeUndefined();
    expect(empty.finding.headline).toBe('Nobody ranked the cups, so nothing can be said.');
    expect(empty).toMatchObject({ test: null, pairs: null, agreement: null });
    const alone = read(asked, [ranked(asked, 'a', [0, 1, 2], [3, 1, 2])]);
    expect(alone.test).toBeNull();
    expect(alone.samples.map(({ rankSum }) => rankSum)).toEqual([3, 1, 2]);
    expect(alone.finding.headline).toContain('too few for a test');
  });

  test('trays left unanswered are missing', () => {
    const asked = part(3);
    const trays = [
      ranked(asked, 'a', [0, 1, 2], [1, 2, 3]),
      ranked(asked, 'b', [1, 2, 0], null),
      ranked(asked, 'c', [2, 1, 0], [3, 2, 1]),
    ];
    const result = read(asked, trays);
    expect(result.served).toEqual({ seated: 3, assessors: 2, answers: 2, unanswered: 1 });
    expect(result.samples.map(({ rankSum }) => rankSum)).toEqual([2, 4, 6]);
    // Both people alike: 1/6.
    expectWithin(result.test?.p ?? NaN, 1 / 6, 1e-12, 'p');
    expect(result.finding.headline).toBe('No difference in ‘sour’ was demonstrated.');
  });

  test('two samples are a sign test: 9 of 10, two-sided p 22 / 1024', () => {
    const asked = part(2);
    const trays = Array.from({ length: 10 }, (_unused, person) =>
      ranked(asked, `person ${person}`, [0, 1], person === 0 ? [2, 1] : [1, 2]),
    );
    const result = read(asked, trays);
    expect(result.test?.kind).toBe('sign');
    expectWithin(result.test?.p ?? NaN, 22 / 1024, 1e-12, 'p');
    expect(result.sign).toMatchObject({ firstHigher: 1, secondHigher: 9, tied: 0 });
    expect(result.pairs).toBeNull();
    expect(result.test?.imanDavenport).toBeNull();
    expect(result.finding.headline).toBe('Warm was ranked more sour than Cool.');
    expect(result.finding.lede).toContain('Nine of ten ranked Warm more sour.');
  });

  test('a hidden duplicate counts by its mean rank, a warm-up not at all', () => {
    const asked = part(3, {}, [
      { armId: armId(0), role: 'duplicate', spike: null },
      { armId: armId(4), role: 'warm-up', spike: null },
    ]);
    // Warm-up in the middle; the two cups of the first arm are least and next to least, mean 1.5.
    const tray = (name: string) => ranked(asked, name, [4, 0, 1, 2, 3], [3, 1, 4, 5, 2]);
    const result = read(asked, [tray('a'), tray('b')]);
    expect(result.samples.map(({ name }) => name)).toEqual(['Cool', 'Warm', 'Wild']);
    expect(result.samples.map(({ rankSum }) => rankSum)).toEqual([2, 4, 6]);
    expect(result.duplicates).toEqual([
      { sample: 's1', name: 'Cool', people: 2, meanApart: 1, byChance: 5 / 3 },
    ]);
    expect(result.warmUps).toHaveLength(1);
    expect(result.ranked.averaged).toBe(true);
  });

  test('an order that does not hold its cups is refused', () => {
    const asked = part(2);
    const tray = flightTray(asked, 'a', [0, 1], [{ kind: 'ranking', order: ['101', '999'] }]);
    expect(() => read(asked, [tray])).toThrow(RangeError);
  });

  test('a document holds to its contract, does not depend on the order of trays, and rank sums add up', () => {
    const row = fc.shuffledSubarray([1, 2, 3, 4], { minLength: 4, maxLength: 4 });
    fc.assert(
      fc.property(fc.array(fc.option(row, { nil: null }), { maxLength: 10 }), (rows) => {
        const asked = part(4);
        const trays = rows.map((values, person) => ranked(asked, `person ${person}`, [0, 1, 2, 3], values));
        const result = read(asked, trays);
        expect(rankingResult.safeParse(result).error).toBeUndefined();
        expect(read(asked, trays.toReversed())).toEqual(result);
        const sum = result.samples.reduce((total, { rankSum }) => total + (rankSum ?? 0), 0);
        expect(sum).toBe(10 * rows.filter((values) => values !== null).length);
      }),
      { numRuns: 60 },
    );
  });

  test('a panel that agrees on one sample is found out, the two alike are not told apart', () => {
    const asked = part(3);
    const trays = Array.from({ length: 14 }, (_unused, person) =>
      ranked(asked, `person ${person}`, [0, 1, 2], person % 2 === 0 ? [1, 2, 3] : [2, 1, 3]),
    );
    const { samples, test: tested, pairs } = read(asked, trays);
    expect(tested?.p ?? 1).toBeLessThan(0.001);
    expect(samples.map(({ letters }) => letters)).toEqual(['b', 'b', 'a']);
    expect(pairs?.rows.map(({ differs }) => differs)).toEqual([false, true, true]);
  });

  test('names no sample most or least that the pairs do not tell apart', () => {
    const asked = part(3);
    const said = (orders: readonly (readonly number[])[]): string =>
      read(
        asked,
        orders.map((order, person) => ranked(asked, `person ${person}`, [0, 1, 2], order)),
      ).finding.headline;
    // Cool and Warm stand level to the last digit: neither is 'least' alone.
    const level = Array.from({ length: 14 }, (_who, at) => (at % 2 === 0 ? [1, 2, 3] : [2, 1, 3]));
    expect(said(level)).toBe('Wild was ranked most sour, Cool and Warm least.');
    const turned = level.map((order) => order.map((rank) => 4 - rank));
    expect(said(turned)).toBe('Cool and Warm were ranked more sour than Wild.');
    const alike = Array.from({ length: 14 }, () => [1, 2, 3]);
    expect(said(alike)).toBe('Wild was ranked most sour, Cool least.');
  });

  test('several trays of one person with part of the samples count as one person', () => {
    const asked = part(4, { cupsEach: 2, replicates: 3 });
    const pairs = [
      [0, 1],
      [2, 3],
      [0, 2],
      [1, 3],
      [0, 3],
      [1, 2],
    ] as const;
    const trays = Array.from({ length: 6 }, (_who, person) =>
      [0, 1, 2].map((tray) => {
        const served = pairs[(person + 2 * tray) % 6] ?? [0, 1];
        return ranked(asked, `person ${person}`, served, served, tray + 1);
      }),
    ).flat();
    const result = read(asked, trays);
    expect(result.test).toMatchObject({ kind: 'incomplete' });
    expect(result.ranked).toMatchObject({ assessors: 6, averaged: true });
    expect(result.ranked.reading).toContain('in 18 trays');
    expect(
      Math.max(...result.samples.map(({ ranks }) => ranks.reduce((sum, { people }) => sum + people, 0))),
    ).toBeLessThanOrEqual(6);
    expect(result.caveats.some(({ text }) => text.includes('everybody counts once'))).toBe(true);
  });
});
