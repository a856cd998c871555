import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { page, pageCritical } from '@oddglass/shared/stats/ranking/page.ts';
import { computed } from './ranking-descriptor-values.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const inOrder = (k: number) => Array.from({ length: k }, (_, j) => j);

describe('Page test', () => {
  const soa = referenceCase<
    { rows_are_blocks: number[][] },
    Record<'L' | 'mean_L' | 'sd_L' | 'z' | 'p_asymptotic' | 'p_exact_scipy', number> & { rank_sums: number[] }
  >('page-soa');
  it(named(soa), () => {
    const { expected, tolerance } = soa;
    const ours = page({ rows: soa.input.rows_are_blocks, predicted: inOrder(6) });
    expect(ours.rankSums).toEqual(expected.rank_sums);
    expect(ours.l).toBe(expected.L);
    expect(ours.mean).toBe(expected.mean_L);
    expectWithin(ours.standardDeviation, expected.sd_L, tolerance);
    expectWithin(ours.z, expected.z, tolerance);
    expectRelative(ours.pNormal, expected.p_asymptotic, 1e-9);
    expectRelative(ours.p, expected.p_exact_scipy, 1e-9);
    expect(ours.route).toBe('exact');
  });

  const critical = referenceCase<
    { k: number[]; n: number[]; alpha: number[] },
    Record<string, Record<string, (number | null)[]>>
  >('page-critical');
  it(named(critical), () => {
    for (const samples of critical.input.k) {
      for (const assessors of critical.input.n) {
        const ours = critical.input.alpha.map((alpha) => pageCritical({ samples, assessors, alpha }));
        expect(ours, `${assessors} x ${samples}`).toEqual(critical.expected[samples]?.[assessors]);
      }
    }
  });

  it(`80 random panels: exact p by scipy.stats.page_trend_test, or as a fraction where ranks tie (${computed.about})`, () => {
    for (const { rows, l, exact, normal } of computed.page) {
      const ours = page({ rows, predicted: inOrder(rows[0]?.length ?? 0) });
      const what = JSON.stringify(rows);
      expect(ours.l, what).toBe(l);
      expectRelative(ours.p, exact, 1e-12, what);
      if (normal !== null) expectRelative(ours.pNormal, normal, 1e-12, what);
    }
  });

  it('a critical value is the first L with p <= alpha', () => {
    const least = pageCritical({ samples: 4, assessors: 5, alpha: 0.05 }) ?? NaN;
    const order = fc.shuffledSubarray([1, 2, 3, 4], { minLength: 4, maxLength: 4 });
    fc.assert(
      fc.property(fc.array(order, { minLength: 5, maxLength: 5 }), (rows) => {
        const { l, p } = page({ rows, predicted: inOrder(4) });
        expect(p <= 0.05).toBe((l ?? NaN) >= least);
      }),
    );
  });

  it('the order predicted, not that of the columns, counts', () => {
    const rows = [
      [3, 1, 2],
      [3, 1, 2],
      [2, 1, 3],
    ];
    const turned = rows.map(([a, b, c]) => [b ?? 0, c ?? 0, a ?? 0]);
    const ours = page({ rows, predicted: [1, 2, 0] });
    expect({ ...ours, rankSums: [] }).toEqual({
      ...page({ rows: turned, predicted: [0, 1, 2] }),
      rankSums: [],
    });
  });

  it('p of an order and of its reverse overlap in the outcome seen only', () => {
    const order = fc.shuffledSubarray([1, 2, 3, 4], { minLength: 4, maxLength: 4 });
    fc.assert(
      fc.property(fc.array(order, { minLength: 1, maxLength: 6 }), (rows) => {
        const up = page({ rows, predicted: [0, 1, 2, 3] });
        const down = page({ rows, predicted: [3, 2, 1, 0] });
        expect(up.p + down.p).toBeGreaterThan(1 - 1e-12);
        expectWithin(up.z, -(down.z ?? NaN), 1e-12);
        expectRelative(page({ rows: rows.toReversed(), predicted: [0, 1, 2, 3] }).p, up.p, 1e-12);
      }),
    );
  });

  it('goes over to the normal distribution where there are too many samples, and says so', () => {
    const rows = Array.from({ length: 6 }, (_, i) =>
      Array.from({ length: 14 }, (_unused, j) => (j * 5 + i * 3) % 14),
    );
    const ours = page({ rows, predicted: inOrder(14) });
    expect(ours.route).toBe('normal');
    expect(ours.p).toBe(ours.pNormal);
    expect(ours.method).toContain('normal approximation');
  });

  it('has nothing to say without data or ranks, and leaves out assessors with a gap', () => {
    expect(page({ rows: [], predicted: [] })).toMatchObject({ l: null, z: null, p: 1 });
    expect(page({ rows: [[1, 1, 1]], predicted: [0, 1, 2] })).toMatchObject({ l: 12, z: null, p: 1 });
    const gap = page({
      rows: [
        [1, 2, 3],
        [1, null, 3],
      ],
      predicted: [0, 1, 2],
    });
    expect(gap.excluded).toEqual([1]);
    expectRelative(gap.p, 1 / 6, 1e-14);
  });

  it('refuses an order that names a column twice or not at all', () => {
    for (const predicted of [
      [0, 1],
      [0, 1, 1],
      [0, 1, 3],
      [0, 1, 2, 2],
    ]) {
      expect(() => page({ rows: [[1, 2, 3]], predicted })).toThrowError(StatsInputError);
    }
    expect(() => pageCritical({ samples: 9, assessors: 5, alpha: 0.05 })).toThrowError(
      expect.objectContaining({ field: 'samples' }),
    );
  });
});
