import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { upperTail } from '@oddglass/shared/stats/binomial.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { friedman, friedmanExactTail } from '@oddglass/shared/stats/ranking/friedman.ts';
import { kendallW } from '@oddglass/shared/stats/ranking/kendall-w.ts';
import { computed } from './ranking-descriptor-values.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const random = () => seededRandom(new Uint8Array(32).fill(9));

describe('Friedman test', () => {
  const ties = referenceCase<
    { rows_are_assessors: number[][] },
    Record<
      | 'chisq_tie_corrected'
      | 'chisq_uncorrected'
      | 'tie_factor'
      | 'df'
      | 'p'
      | 'kendall_W'
      | 'kendall_W_uncorrected'
      | 'F_iman_davenport'
      | 'p_iman_davenport',
      number
    > & { rank_sums: number[] }
  >('friedman-10x4-ties');
  it(named(ties), () => {
    const { expected, tolerance } = ties;
    const rows = ties.input.rows_are_assessors;
    const ours = friedman({ rows });
    expect(ours.rankSums).toEqual(expected.rank_sums);
    expectWithin(ours.chiSquare, expected.chisq_tie_corrected, tolerance);
    expectWithin(ours.uncorrected, expected.chisq_uncorrected, tolerance);
    expectWithin(ours.tieFactor, expected.tie_factor, tolerance);
    expect(ours.df).toBe(expected.df);
    // Eleven or twelve digits are printed.
    expectRelative(ours.pChiSquare, expected.p, 1e-9);
    expectRelative(ours.imanDavenport?.f ?? NaN, expected.F_iman_davenport, 1e-9);
    expectRelative(ours.imanDavenport?.p ?? NaN, expected.p_iman_davenport, 1e-9);
    const { w, uncorrected } = kendallW({ rows });
    expectWithin(w, expected.kendall_W, tolerance);
    expectWithin(uncorrected, expected.kendall_W_uncorrected, tolerance);
    expect(ours.route).toBe('exact');
    expect(ours.method).toContain('exact');
  });

  const table = referenceCase<{ n: number; k: number; chisq_at_least: number }[], number[]>(
    'friedman-exact-null',
  );
  it(named(table), () => {
    table.input.forEach(({ n, k, chisq_at_least }, index) => {
      const p = friedmanExactTail({ assessors: n, samples: k, chiSquare: chisq_at_least });
      expectWithin(p, table.expected[index] ?? NaN, table.tolerance, `${n} x ${k}`);
    });
  });

  it(`100 random panels: statistic by scipy.stats.friedmanchisquare, exact p as a fraction (${computed.about})`, () => {
    for (const { rows, chiSquare, pChiSquare, exact, pF } of computed.friedman) {
      const ours = friedman({ rows });
      const what = JSON.stringify(rows);
      expect(ours.route).toBe('exact');
      expectWithin(ours.chiSquare, chiSquare, 1e-9, what);
      // The statistic there is rounded where it is 0.
      expectWithin(ours.pChiSquare, pChiSquare, 1e-9, what);
      expectRelative(ours.p, exact, 1e-12, what);
      if (pF !== null && ours.imanDavenport) expectRelative(ours.imanDavenport.p, pF, 1e-7, what);
    }
  });

  it('for two samples is the two-sided sign test', () => {
    for (let first = 0; first <= 11; first += 1) {
      const rows = Array.from({ length: 11 }, (_, i) => (i < first ? [1, 2] : [2, 1]));
      const more = Math.max(first, 11 - first);
      expectRelative(friedman({ rows }).p, Math.min(1, 2 * upperTail(more, 11, 0.5)), 1e-12);
    }
  });

  it('says which route p took', () => {
    const rows = Array.from({ length: 40 }, (_, i) =>
      [1, 2, 3, 4, 5, 6].map((v) => ((v * (i + 2)) % 7) + v / 10),
    );
    const plain = friedman({ rows });
    expect(plain).toMatchObject({ route: 'chi-square', permutations: null });
    expect(plain.p).toBe(plain.pChiSquare);
    expect(plain.method).toContain('chi-square approximation');
    const drawn = friedman({ rows, random: random(), permutations: 999 });
    expect(drawn).toMatchObject({ route: 'permutation', permutations: 999 });
    expect(drawn.method).toContain('random orders');
    expect(Math.abs(drawn.p - plain.p)).toBeLessThan(0.06);
    expect(friedman({ rows, random: random(), permutations: 999 }).p).toBe(drawn.p);
  });

  it('smallestP is what all alike give', () => {
    const ours = friedman({
      rows: [
        [1, 2, 3],
        [4, 5, 6],
        [0, 1, 9],
      ],
    });
    expectRelative(ours.p, 1 / 36, 1e-13);
    expectRelative(ours.smallestP, 1 / 36, 1e-13);
    expect(ours.imanDavenport).toBeNull();
  });

  it('without ranking information: no data, all ties, one assessor', () => {
    expect(friedman({ rows: [] })).toMatchObject({
      chiSquare: null,
      p: 1,
      pChiSquare: 1,
      smallestP: 1,
      assessors: 0,
    });
    expect(
      friedman({
        rows: [
          [2, 2, 2],
          [5, 5, 5],
        ],
      }),
    ).toMatchObject({ chiSquare: null, tieFactor: 0, p: 1, pChiSquare: 1 });
    expect(friedman({ rows: [[1, 2, 3]] })).toMatchObject({ p: 1, imanDavenport: null, smallestP: 1 });
  });

  it('leaves out assessors with a gap and says which', () => {
    const whole = [
      [1, 2, 3],
      [2, 1, 3],
      [1, 3, 2],
    ];
    const ours = friedman({ rows: [[1, null, 2], ...whole, [null, null, null]] });
    expect(ours.excluded).toEqual([0, 4]);
    expect({ ...ours, excluded: [] }).toEqual(friedman({ rows: whole }));
  });

  it('refuses one sample, uneven rows and what is no number', () => {
    for (const [rows, field] of [
      [[[1], [1]], 'rows[0].length'],
      [
        [
          [1, 2],
          [1, 2, 3],
        ],
        'rows[1].length',
      ],
      [
        [
          [1, 2],
          [1, NaN],
        ],
        'rows[1][1]',
      ],
    ] as const) {
      expect(() => friedman({ rows })).toThrowError(StatsInputError);
      expect(() => friedman({ rows })).toThrowError(expect.objectContaining({ field }));
    }
    expect(() => friedman({ rows: [], permutations: 10 })).toThrowError(
      expect.objectContaining({ field: 'permutations' }),
    );
  });

  const panel = fc
    .record({ k: fc.integer({ min: 2, max: 4 }), n: fc.integer({ min: 2, max: 6 }) })
    .chain(({ k, n }) =>
      fc.array(fc.array(fc.integer({ min: 0, max: 9 }), { minLength: k, maxLength: k }), {
        minLength: n,
        maxLength: n,
      }),
    );

  it('does not mind the order of assessors, the names of samples or a rising change of scale', () => {
    fc.assert(
      fc.property(panel, (rows) => {
        const ours = friedman({ rows });
        for (const other of [
          rows.toReversed(),
          rows.map((row) => row.toReversed()),
          rows.map((row) => row.map((value) => Math.exp(value) - 3)),
          rows.map((row) => row.map((value) => -value)),
        ]) {
          const theirs = friedman({ rows: other });
          if (ours.chiSquare === null) expect(theirs.chiSquare).toBeNull();
          else expectWithin(theirs.chiSquare, ours.chiSquare, 1e-12);
          expectRelative(theirs.p, ours.p, 1e-12);
        }
      }),
    );
  });

  it('the table agrees with panels that reach it, and runs from 1 to all alike', () => {
    const rows = [
      [1, 2, 3, 4],
      [2, 1, 3, 4],
      [1, 3, 2, 4],
      [4, 1, 2, 3],
    ];
    const { chiSquare, p } = friedman({ rows });
    expectRelative(friedmanExactTail({ assessors: 4, samples: 4, chiSquare: chiSquare ?? NaN }), p, 1e-12);
    expect(friedmanExactTail({ assessors: 4, samples: 4, chiSquare: 0 })).toBeCloseTo(1, 12);
    expectRelative(friedmanExactTail({ assessors: 4, samples: 4, chiSquare: 12 }), 24 ** -3, 1e-12);
    expect(friedmanExactTail({ assessors: 4, samples: 4, chiSquare: 12.1 })).toBe(0);
    expect(friedmanExactTail({ assessors: 1, samples: 3, chiSquare: 2 })).toBe(1);
    expect(friedmanExactTail({ assessors: 900, samples: 6, chiSquare: 9 })).toBeNull();
  });

  it('p falls as one more assessor agrees with all before', () => {
    let before = 2;
    for (let n = 1; n < 12; n += 1) {
      const { p } = friedman({ rows: Array.from({ length: n }, () => [1, 2, 3, 4]) });
      expect(p).toBeLessThan(before);
      before = p;
    }
  });
});

describe("Kendall's W", () => {
  const zar = referenceCase<
    { rows_are_raters: number[][] },
    Record<'W_uncorrected' | 'W_corrected' | 'chisq_corrected' | 'df' | 'p' | 'mean_spearman', number> & {
      rank_sums: number[];
    }
  >('kendall-W-zar');
  it(named(zar), () => {
    const ours = kendallW({ rows: zar.input.rows_are_raters });
    expect(ours.rankSums).toEqual(zar.expected.rank_sums);
    expectWithin(ours.uncorrected, zar.expected.W_uncorrected, zar.tolerance);
    expectWithin(ours.w, zar.expected.W_corrected, zar.tolerance);
    expectWithin(ours.chiSquare, zar.expected.chisq_corrected, zar.tolerance);
    expect(ours.df).toBe(zar.expected.df);
    expectRelative(ours.pChiSquare, zar.expected.p, 1e-9);
    expect(ours.route).toBe('chi-square');
    expect(ours.p).toBe(ours.pChiSquare);
    expectWithin(ours.meanSpearman, zar.expected.mean_spearman, zar.tolerance);
  });

  const edge = referenceCase<{ rows_are_raters: number[][] }[], { W: number | null }[]>('kendall-W-edge');
  it(named(edge), () => {
    edge.input.forEach(({ rows_are_raters }, index) => {
      expect(kendallW({ rows: rows_are_raters }).w).toBe(edge.expected[index]?.W);
    });
  });

  it('has no p to report for a single rater, and none without data', () => {
    expect(kendallW({ rows: [[1, 2, 3]] })).toMatchObject({
      w: null,
      meanSpearman: null,
      p: 1,
      pChiSquare: 1,
    });
    expect(kendallW({ rows: [] })).toMatchObject({ w: null, p: 1, assessors: 0 });
  });

  it('lies in 0 to 1, and for two raters is (1 + Spearman) / 2', () => {
    const ranks = fc.shuffledSubarray([1, 2, 3, 4, 5], { minLength: 5, maxLength: 5 });
    fc.assert(
      fc.property(ranks, ranks, (a, b) => {
        const { w, meanSpearman } = kendallW({ rows: [a, b] });
        const squares = a.reduce((sum, value, j) => sum + (value - (b[j] ?? 0)) ** 2, 0);
        const spearman = 1 - (6 * squares) / (5 * 24);
        expectWithin(w, (1 + spearman) / 2, 1e-13);
        expectWithin(meanSpearman, spearman, 1e-13);
        expect(w).toBeGreaterThanOrEqual(0);
        expect(w).toBeLessThanOrEqual(1);
      }),
    );
  });
});
