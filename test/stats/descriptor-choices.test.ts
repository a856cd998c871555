import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { cochranQ } from '@oddglass/shared/stats/descriptor/cochran-q.ts';
import { descriptorFrequencies } from '@oddglass/shared/stats/descriptor/frequencies.ts';
import { mcnemarExact } from '@oddglass/shared/stats/descriptor/mcnemar.ts';
import { mcnemarPairs } from '@oddglass/shared/stats/descriptor/mcnemar-pairs.ts';
import { wilson } from '@oddglass/shared/stats/discrimination/proportion-interval.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { computed } from './ranking-descriptor-values.ts';
import { lowerTails, weights } from './rational.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const choices = fc
  .record({ k: fc.integer({ min: 2, max: 4 }), n: fc.integer({ min: 1, max: 8 }) })
  .chain(({ k, n }) =>
    fc.array(fc.array(fc.constantFrom(0, 1), { minLength: k, maxLength: k }), { minLength: n, maxLength: n }),
  );

const published = referenceCase<
  { rows_are_assessors: number[][] },
  Record<'Q' | 'df' | 'p_chisq' | 'p_exact_permutation', number> &
    Record<'column_totals' | 'b_only_first' | 'c_only_second' | 'mcnemar_exact_p' | 'holm_p', number[]> & {
      pairs: string[];
    }
>('cochran-q-10x3');

describe("Cochran's Q", () => {
  it(named(published), () => {
    const { expected, tolerance } = published;
    const ours = cochranQ({ rows: published.input.rows_are_assessors });
    expect(ours.totals).toEqual(expected.column_totals);
    expectWithin(ours.q, expected.Q, tolerance);
    expect(ours.df).toBe(expected.df);
    expectWithin(ours.pChiSquare, expected.p_chisq, tolerance);
    expectRelative(ours.p, expected.p_exact_permutation, 1e-11);
    expect(ours).toMatchObject({ route: 'exact', informative: 9, assessors: 10, permutations: null });
  });

  const edge = referenceCase<
    { rows_are_assessors: number[][] }[],
    { Q: number | null; equals_mcnemar_uncorrected?: number; mcnemar_exact_p?: number }[]
  >('cochran-q-edge');
  it(named(edge), () => {
    edge.input.forEach(({ rows_are_assessors: rows }, index) => {
      const wanted = edge.expected[index];
      const ours = cochranQ({ rows });
      expect(ours.q).toBe(wanted?.Q);
      expectWithin(ours.p, wanted?.mcnemar_exact_p ?? 1, edge.tolerance);
      if (wanted?.Q === null) expect(ours).toMatchObject({ informative: 0, pChiSquare: 1 });
    });
  });

  it(`60 random panels: Q, chi-square by SciPy, exact p as a fraction (${computed.about})`, () => {
    for (const { rows, q, pChiSquare, exact } of computed.cochran) {
      const ours = cochranQ({ rows });
      expectWithin(ours.q, q, 1e-12);
      expectRelative(ours.pChiSquare, pChiSquare, 1e-9);
      expectRelative(ours.p, exact, 1e-12, JSON.stringify(rows));
    }
  });

  it('for two samples is exact McNemar', () => {
    const pair = fc.array(fc.tuple(fc.constantFrom(0, 1), fc.constantFrom(0, 1)), {
      minLength: 1,
      maxLength: 20,
    });
    fc.assert(
      fc.property(pair, (rows) => {
        expectRelative(cochranQ({ rows }).p, mcnemarPairs({ rows }).pairs[0]?.p ?? NaN, 1e-12);
      }),
    );
  });

  it('does not mind the order of assessors, the names of samples, or choosing turned into not choosing', () => {
    fc.assert(
      fc.property(choices, (rows) => {
        const ours = cochranQ({ rows });
        for (const other of [
          rows.toReversed(),
          rows.map((row) => row.toReversed()),
          rows.map((row) => row.map((value) => 1 - value)),
          // Who chose all or nothing says nothing.
          [...rows, (rows[0] ?? []).map(() => 1), (rows[0] ?? []).map(() => 0)],
        ]) {
          const theirs = cochranQ({ rows: other });
          if (ours.q === null) expect(theirs.q).toBeNull();
          else expectRelative(theirs.q, ours.q, 1e-13);
          expectRelative(theirs.p, ours.p, 1e-12);
        }
      }),
    );
  });

  it('says which route p took', () => {
    const rows = Array.from({ length: 80 }, (_, i) =>
      [0, 1, 2, 3, 4, 5].map((j) => Number((i * (j + 3)) % 7 < 2 + (j % 2))),
    );
    const random = () => seededRandom(new Uint8Array(32).fill(5));
    const plain = cochranQ({ rows });
    expect(plain.route).toBe('chi-square');
    expect(plain.p).toBe(plain.pChiSquare);
    const drawn = cochranQ({ rows, random: random(), permutations: 1999 });
    expect(drawn).toMatchObject({ route: 'permutation', permutations: 1999 });
    expect(drawn.method).toContain('random orders');
    expect(Math.abs(drawn.p - plain.p)).toBeLessThan(0.06);
    expect(cochranQ({ rows, random: random(), permutations: 1999 }).p).toBe(drawn.p);
  });

  it('leaves out who missed a sample, and refuses what is neither 0 nor 1', () => {
    expect(
      cochranQ({
        rows: [
          [1, null],
          [1, 0],
          [0, 1],
        ],
      }).excluded,
    ).toEqual([0]);
    expect(cochranQ({ rows: [] })).toMatchObject({ q: null, p: 1, assessors: 0 });
    const refused = () =>
      cochranQ({
        rows: [
          [1, 0],
          [2, 0],
        ],
      });
    expect(refused).toThrowError(StatsInputError);
    expect(refused).toThrowError(expect.objectContaining({ field: 'rows[1][0]' }));
  });
});

describe('exact McNemar', () => {
  const exact = referenceCase<{ b: number; c: number }[], number[]>('mcnemar-exact');
  it(named(exact), () => {
    exact.input.forEach(({ b, c }, index) => {
      const { p } = mcnemarExact({ onlyFirst: b, onlySecond: c });
      expectWithin(p, exact.expected[index] ?? NaN, exact.tolerance, `${b} and ${c}`);
    });
  });

  it('is whole-number arithmetic to 1e-12 for all counts up to 60, mid-p too', () => {
    for (let n = 1; n <= 60; n += 1) {
      const tails = lowerTails(n, 1n, 2n);
      const each = weights(n, 1n, 2n).map((weight) => Number(weight) / 2 ** n);
      for (let b = 0; b <= n; b += 1) {
        const ours = mcnemarExact({ onlyFirst: b, onlySecond: n - b });
        const less = Math.min(b, n - b);
        expectRelative(ours.p, Math.min(1, 2 * (tails[less] ?? NaN)), 1e-12, `${b} of ${n}`);
        // By its definition: what is more extreme, and half of what is as extreme.
        const far = (i: number) => Math.abs(2 * i - n);
        const mid = each.reduce(
          (sum, mass, i) => sum + (far(i) > far(b) ? mass : far(i) === far(b) ? mass / 2 : 0),
          0,
        );
        expectRelative(ours.midP, mid, 1e-10);
      }
    }
  });

  it(`pairs: ${named(published)}`, () => {
    const { pairs } = mcnemarPairs({ rows: published.input.rows_are_assessors });
    const { expected } = published;
    expect(pairs.map(({ first, second }) => `${first + 1}-${second + 1}`)).toEqual(expected.pairs);
    expect(pairs.map(({ onlyFirst }) => onlyFirst)).toEqual(expected.b_only_first);
    expect(pairs.map(({ onlySecond }) => onlySecond)).toEqual(expected.c_only_second);
    pairs.forEach(({ p, pHolm }, index) => {
      expectWithin(p, expected.mcnemar_exact_p[index] ?? NaN, 1e-12);
      expectWithin(pHolm, expected.holm_p[index] ?? NaN, 1e-12);
    });
  });

  it('handles no pairs, no data and refuses half an assessor', () => {
    expect(mcnemarExact({ onlyFirst: 0, onlySecond: 0 })).toMatchObject({ p: 1, midP: 1, discordant: 0 });
    expect(mcnemarPairs({ rows: [] }).pairs).toEqual([]);
    expect(
      mcnemarPairs({
        rows: [
          [1, 1],
          [null, 0],
        ],
      }),
    ).toMatchObject({ assessors: 1, excluded: [1] });
    expect(() => mcnemarExact({ onlyFirst: 0.5, onlySecond: 1 })).toThrowError(
      expect.objectContaining({ field: 'onlyFirst' }),
    );
  });
});

describe('descriptor frequencies', () => {
  it('are Wilson intervals of the answers there are (Wilson 1927, checked in proportion-interval.test.ts)', () => {
    const rows = [
      [1, 0, null],
      [1, 1, null],
      [0, null, null],
      [1, 1, null],
    ];
    const { samples } = descriptorFrequencies({ rows, level: 0.95 });
    expect(samples.map(({ chosen, asked, share }) => [chosen, asked, share])).toEqual([
      [3, 4, 0.75],
      [2, 3, 2 / 3],
      [0, 0, null],
    ]);
    const { lower, upper } = wilson({ correct: 3, n: 4, level: 0.95 });
    expect(samples[0]).toMatchObject({ lower, upper });
    expect(samples[2]).toMatchObject({ lower: 0, upper: 1 });
  });

  it('turn round when choosing is turned into not choosing', () => {
    fc.assert(
      fc.property(choices, (rows) => {
        const ours = descriptorFrequencies({ rows, level: 0.9 }).samples;
        const turned = descriptorFrequencies({
          rows: rows.map((row) => row.map((v) => 1 - v)),
          level: 0.9,
        }).samples;
        ours.forEach(({ lower, upper }, j) => {
          expectWithin(turned[j]?.lower ?? NaN, 1 - upper, 1e-14);
          expectWithin(turned[j]?.upper ?? NaN, 1 - lower, 1e-14);
        });
      }),
    );
  });

  it('need no data, but even rows', () => {
    expect(descriptorFrequencies({ rows: [], level: 0.95 }).samples).toEqual([]);
    expect(() => descriptorFrequencies({ rows: [[1, 0], [1]], level: 0.95 })).toThrowError(
      expect.objectContaining({ field: 'rows[1].length' }),
    );
    expect(() => descriptorFrequencies({ rows: [[3]], level: 0.95 })).toThrowError(StatsInputError);
  });
});
