import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { normalCdf, normalQuantile } from '@oddglass/shared/stats/normal.ts';
import { friedman } from '@oddglass/shared/stats/ranking/friedman.ts';
import { nemenyiQ, rankSumDifferences } from '@oddglass/shared/stats/ranking/rank-sum-differences.ts';
import { studentizedRangeUpperTail } from '@oddglass/shared/stats/studentized-range.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

describe('differences of rank sums', () => {
  const posthoc = referenceCase<
    { rows_are_assessors: number[][]; alpha: number },
    Record<'LSD_z' | 'LSD_conover_t' | 'CD_nemenyi_ranksum' | 'CD_nemenyi_meanrank', number> &
      Record<'rank_sums' | 'abs_diff' | 'p_LSD_unadjusted' | 'p_nemenyi' | 'p_holm', number[]> & {
        pairs: string[];
      }
  >('posthoc-ranksum-10x4');
  it(named(posthoc), () => {
    const { expected, tolerance } = posthoc;
    const { rankSums, pairs, critical } = rankSumDifferences({
      rows: posthoc.input.rows_are_assessors,
      alpha: posthoc.input.alpha,
    });
    expect(rankSums).toEqual(expected.rank_sums);
    // The case makes no allowance for ties, of which its data have some: differences count for more by the root of the tie
    // factor of the Friedman test, 0.98 here (friedman-10x4-ties).
    const { tieFactor } = friedman({ rows: posthoc.input.rows_are_assessors });
    const root = Math.sqrt(tieFactor ?? NaN);
    expect(root).toBeLessThan(0.995);
    expectWithin(critical?.lsd ?? NaN, root * expected.LSD_z, tolerance);
    expectWithin(critical?.conover ?? NaN, expected.LSD_conover_t, tolerance);
    expectWithin(critical?.nemenyi ?? NaN, root * expected.CD_nemenyi_ranksum, tolerance);
    expectWithin(critical?.nemenyiMeanRank ?? NaN, root * expected.CD_nemenyi_meanrank, tolerance);
    expect(pairs.map(({ first, second }) => `${first + 1}-${second + 1}`)).toEqual(expected.pairs);
    pairs.forEach((pair, index) => {
      expect(Math.abs(pair.difference)).toBe(expected.abs_diff[index]);
      const z = -normalQuantile((expected.p_LSD_unadjusted[index] ?? NaN) / 2) / root;
      expectRelative(pair.pUnadjusted, 2 * normalCdf(-z), 1e-7);
      // qtukey and ptukey of R hold about 1e-9 absolute.
      expectWithin(pair.pNemenyi, studentizedRangeUpperTail(Math.SQRT2 * z, 4, Infinity), 1e-8);
    });
  });

  it('without ties are those of a case without them', () => {
    // Ten orders of four without ties; s = sqrt(10 x 4 x 5 / 6) (Nemenyi 1963, by hand).
    const rows = Array.from({ length: 10 }, (_who, at) => [1, 2, 3, 4].map((rank) => ((rank + at) % 4) + 1));
    const { critical } = rankSumDifferences({ rows, alpha: 0.05 });
    expectRelative(critical?.lsd ?? NaN, 1.959963984540054 * Math.sqrt(200 / 6), 1e-12);
  });

  it('of a floor count for more than without the allowance for ties', () => {
    // Twelve people, six samples of which five got nothing from anybody: z is 3.9 by the formula for no ties, 6 as it is.
    const rows = Array.from({ length: 12 }, () => [0, 0, 0, 0, 0, 3]);
    const { pairs } = rankSumDifferences({ rows, alpha: 0.05 });
    const last = pairs.find(({ first, second }) => first === 0 && second === 5);
    // Rank sums 36 and 72; within squares 12 x 7.5, so that s^2 is 2 x 90 / 5.
    expectRelative(last?.pUnadjusted ?? NaN, 2 * normalCdf(-36 / Math.sqrt(36)), 1e-12);
    expect(last?.pNemenyi).toBeLessThan(0.001);
  });

  const table = referenceCase<{ k: number[] }, Record<string, number[]>>('nemenyi-q');
  it(named(table), () => {
    for (const alpha of ['0.05', '0.10']) {
      table.input.k.forEach((samples, index) => {
        const q = nemenyiQ({ samples, alpha: Number(alpha) });
        // The stated tolerance is that of a printed table; R's qtukey gives seven digits or so.
        expectWithin(q, table.expected[alpha]?.[index] ?? NaN, 1e-6, `${samples} samples, ${alpha}`);
      });
    }
    expectRelative(nemenyiQ({ samples: 2, alpha: 0.05 }), normalQuantile(0.975), 1e-10);
  });

  const panel = fc
    .record({ k: fc.integer({ min: 2, max: 5 }), n: fc.integer({ min: 2, max: 12 }) })
    .chain(({ k, n }) =>
      fc.array(fc.array(fc.integer({ min: 0, max: 9 }), { minLength: k, maxLength: k }), {
        minLength: n,
        maxLength: n,
      }),
    );

  it('p, adjusted p and critical differences say the same', () => {
    fc.assert(
      fc.property(panel, (rows) => {
        const { pairs, critical } = rankSumDifferences({ rows, alpha: 0.05 });
        for (const pair of pairs) {
          const d = Math.abs(pair.difference);
          expect(pair.pUnadjusted <= 0.05).toBe(d >= (critical?.lsd ?? NaN));
          expect(pair.pNemenyi <= 0.05).toBe(d >= (critical?.nemenyi ?? NaN));
          if (critical?.conover && pair.pConover !== null)
            expect(pair.pConover <= 0.05).toBe(d >= critical.conover);
          expect(pair.pHolm).toBeGreaterThanOrEqual(pair.pUnadjusted);
          expect(pair.pNemenyi).toBeGreaterThanOrEqual(pair.pUnadjusted * (1 - 1e-9));
        }
      }),
    );
  });

  it('renaming samples renames pairs, and the order of assessors does not matter', () => {
    fc.assert(
      fc.property(panel, (rows) => {
        const k = rows[0]?.length ?? 0;
        const ours = rankSumDifferences({ rows, alpha: 0.05 });
        const turned = rankSumDifferences({
          rows: rows.toReversed().map((row) => row.toReversed()),
          alpha: 0.05,
        });
        for (const { first, second, difference, pHolm, pConover } of ours.pairs) {
          const same = turned.pairs.find(
            (pair) => pair.first === k - 1 - second && pair.second === k - 1 - first,
          );
          expectWithin(same?.difference ?? NaN, -difference, 0);
          expectWithin(same?.pHolm ?? NaN, pHolm, 1e-12);
          if (pConover === null) expect(same?.pConover).toBeNull();
          else expectWithin(same?.pConover ?? NaN, pConover, 1e-9);
        }
      }),
    );
  });

  it('handles no data, one assessor, all alike and all ties', () => {
    expect(rankSumDifferences({ rows: [], alpha: 0.05 })).toMatchObject({ pairs: [], critical: null });
    expect(rankSumDifferences({ rows: [[1, 2]], alpha: 0.05 }).pairs[0]?.pConover).toBeNull();
    const alike = rankSumDifferences({
      rows: [
        [1, 2, 3],
        [1, 2, 3],
      ],
      alpha: 0.05,
    });
    expect(alike.critical?.conover).toBeNull();
    const ties = rankSumDifferences({
      rows: [
        [4, 4, 4],
        [1, 1, 1],
      ],
      alpha: 0.05,
    });
    for (const pair of ties.pairs)
      expect(pair).toMatchObject({ difference: 0, pUnadjusted: 1, pHolm: 1, pNemenyi: 1 });
    expect(
      rankSumDifferences({
        rows: [
          [1, 2],
          [2, null],
          [1, 2],
        ],
        alpha: 0.05,
      }).excluded,
    ).toEqual([1]);
  });

  it('refuses an alpha of 0', () => {
    expect(() => rankSumDifferences({ rows: [[1, 2]], alpha: 0 })).toThrowError(StatsInputError);
  });
});
