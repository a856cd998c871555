import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { normalQuantile } from '@oddglass/shared/stats/normal.ts';
import { nemenyiQ, rankSumDifferences } from '@oddglass/shared/stats/ranking/rank-sum-differences.ts';
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
    expectWithin(critical?.lsd ?? NaN, expected.LSD_z, tolerance);
    expectWithin(critical?.conover ?? NaN, expected.LSD_conover_t, tolerance);
    expectWithin(critical?.nemenyi ?? NaN, expected.CD_nemenyi_ranksum, tolerance);
    expectWithin(critical?.nemenyiMeanRank ?? NaN, expected.CD_nemenyi_meanrank, tolerance);
    expect(pairs.map(({ first, second }) => `${first + 1}-${second + 1}`)).toEqual(expected.pairs);
    pairs.forEach((pair, index) => {
      expect(Math.abs(pair.difference)).toBe(expected.abs_diff[index]);
      expectRelative(pair.pUnadjusted, expected.p_LSD_unadjusted[index] ?? NaN, 1e-9);
      expectRelative(pair.pHolm, expected.p_holm[index] ?? NaN, 1e-9);
      // qtukey and ptukey of R hold about 1e-9 absolute.
      expectWithin(pair.pNemenyi, expected.p_nemenyi[index] ?? NaN, 1e-8);
    });
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
