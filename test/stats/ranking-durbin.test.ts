import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { durbin } from '@oddglass/shared/stats/ranking/durbin.ts';
import { friedman } from '@oddglass/shared/stats/ranking/friedman.ts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { expectWithin } from './within.ts';

const _ = null;
// Conover 1999, Practical Nonparametric Statistics, p. 391: seven assessors rank three of seven varieties each. The statistic
// 12 with 6 df and p 0.062 are from memory; (A - C) = 98 - 84 and the rank sums follow by hand.
const CONOVER = [
  [2, 3, _, 1, _, _, _],
  [_, 3, 1, _, 2, _, _],
  [_, _, 2, 1, _, 3, _],
  [_, _, _, 1, 2, _, 3],
  [3, _, _, _, 1, 2, _],
  [_, 3, _, _, _, 1, 2],
  [3, _, 1, _, _, _, 2],
];

/** Durbin's statistic for balanced blocks as Conover writes it: (t - 1) (sum R^2 - r C) / (A - C). */
function closedForm(rows: (number | null)[][], times: number, size: number): number {
  const t = rows[0]?.length ?? 0;
  const sums = Array.from({ length: t }, (_unused, j) => rows.reduce((sum, row) => sum + (row[j] ?? 0), 0));
  const a = rows.flat().reduce<number>((sum, rank) => sum + (rank ?? 0) ** 2, 0);
  const c = (rows.length * size * (size + 1) ** 2) / 4;
  return ((t - 1) * (sums.reduce((sum, r) => sum + r * r, 0) - times * c)) / (a - c);
}

/** Blocks of three of seven, each pair together once: the seven lines of a plane of seven points. */
const LINES = CONOVER.map((row) => row.flatMap((value, at) => (value === null ? [] : [at])));

const balanced = fc
  .array(fc.shuffledSubarray([1, 2, 3], { minLength: 3, maxLength: 3 }), { minLength: 7, maxLength: 7 })
  .map((ranks) =>
    LINES.map((line, block) =>
      Array.from({ length: 7 }, (_unused, j) => {
        const at = line.indexOf(j);
        return at < 0 ? null : (ranks[block]?.[at] ?? null);
      }),
    ),
  );

describe('Durbin', () => {
  it('agrees with the example of Conover 1999, p. 391 (statistic and p from memory)', () => {
    const test = durbin({ rows: CONOVER });
    expect(test.rankSums).toEqual([8, 9, 4, 3, 5, 6, 7]);
    expect(test.times).toEqual([3, 3, 3, 3, 3, 3, 3]);
    expectWithin(test.chiSquare ?? NaN, 12, 1e-12, 'chi-square');
    expect(test.df).toBe(6);
    // Upper tail of chi-square with 6 df at 12: exp(-6) (1 + 6 + 18).
    expectWithin(test.p, Math.exp(-6) * 25, 1e-12, 'p');
  });

  it('equals the closed form whenever blocks are balanced', () => {
    fc.assert(
      fc.property(balanced, (rows) => {
        expectWithin(durbin({ rows }).chiSquare ?? NaN, closedForm(rows, 3, 3), 1e-9, 'chi-square');
      }),
    );
  });

  it('equals Friedman when everybody ranks everything, ties included', () => {
    const row = fc.array(fc.integer({ min: 1, max: 5 }), { minLength: 4, maxLength: 4 });
    fc.assert(
      fc.property(fc.array(row, { minLength: 2, maxLength: 12 }), (rows) => {
        const expected = friedman({ rows });
        const test = durbin({ rows });
        if (expected.chiSquare === null) expect(test.chiSquare).toBeNull();
        else expectWithin(test.chiSquare ?? NaN, expected.chiSquare, 1e-9, 'chi-square');
        expect(test.rankSums).toEqual(expected.rankSums);
      }),
    );
  });

  it('does not care for the order of blocks, and follows the samples when they change places', () => {
    fc.assert(
      fc.property(balanced, fc.array(fc.boolean(), { minLength: 7, maxLength: 7 }), (rows, gone) => {
        const there = rows.filter((_unused, index) => !gone[index]);
        if (there.length === 0) return;
        const test = durbin({ rows: there });
        const turned = durbin({ rows: there.map((row) => row.toReversed()).toReversed() });
        if (test.chiSquare === null) expect(turned.chiSquare).toBeNull();
        else expectWithin(turned.chiSquare ?? NaN, test.chiSquare, 1e-9, 'chi-square');
        expect(turned.df).toBe(test.df);
        expect(turned.rankSums.toReversed()).toEqual(test.rankSums);
      }),
    );
  });

  it('keeps its level: orders by chance give p at or below 0.1 in about a tenth of cases', () => {
    const chance = seededRandom(new Uint8Array(32).fill(9));
    let below = 0;
    for (let trial = 0; trial < 200; trial += 1) {
      const rows = LINES.map((line) => {
        const ranks = [1, 2, 3];
        for (let i = 2; i > 0; i -= 1) {
          const pick = (chance.bytes(1)[0] ?? 0) % (i + 1);
          [ranks[i], ranks[pick]] = [ranks[pick] ?? 0, ranks[i] ?? 0];
        }
        return Array.from({ length: 7 }, (_unused, j) =>
          line.includes(j) ? (ranks[line.indexOf(j)] ?? 0) : null,
        );
      });
      if (durbin({ rows, random: chance, permutations: 199 }).p <= 0.1) below += 1;
    }
    // 20 expected, standard deviation 4.2.
    expect(below).toBeGreaterThan(5);
    expect(below).toBeLessThan(36);
  });

  it('finds a sample that is always last, and pairs freed of their company', () => {
    const rows = [...CONOVER, ...CONOVER, ...CONOVER, ...CONOVER].map((row) =>
      row.map((value, j) => (value === null ? null : j)),
    );
    const random = seededRandom(new Uint8Array(32).fill(3));
    const test = durbin({ rows, random, permutations: 999 });
    expect(test.route).toBe('permutation');
    expect(test.p).toBe(1 / 1000);
    const ends = test.pairs.find(({ first, second }) => first === 0 && second === 6);
    expect(ends?.difference ?? 0).toBeLessThan(0);
    expect(ends?.pHolm ?? 1).toBeLessThan(0.001);
  });

  it.each([
    [2, 1],
    [3, 2],
    [4, 3],
    [6, 5],
  ])('of %i samples that everybody ranked alike says first and last are %i ranks apart', (k, apart) => {
    const rows = Array.from({ length: 5 }, () => Array.from({ length: k }, (_, at) => at + 1));
    const ends = durbin({ rows }).pairs.find(({ first, second }) => first === 0 && second === k - 1);
    expect(ends?.difference).toBeCloseTo(-apart, 10);
    // Of samples that nobody had there are no ranks.
    const wider = durbin({ rows: rows.map((row) => [...row, null]) }).pairs;
    expect(wider.find(({ first, second }) => first === 0 && second === k - 1)?.difference).toBeCloseTo(
      -apart,
      10,
    );
  });

  it('says when nothing can be compared', () => {
    expect(durbin({ rows: [] })).toMatchObject({ chiSquare: null, p: 1, df: 0 });
    expect(durbin({ rows: [[1, null, null]] })).toMatchObject({ chiSquare: null, p: 1, blocks: 0 });
    expect(durbin({ rows: [[2, 2, 2]] })).toMatchObject({ chiSquare: null, p: 1, df: 0 });
    // Two islands: the samples of one are never compared with those of the other.
    const islands = durbin({
      rows: [
        [1, 2, null, null],
        [null, null, 1, 2],
      ],
    });
    expect(islands.df).toBe(2);
    expect(islands.pairs.find(({ first, second }) => first === 0 && second === 2)?.pHolm).toBeNull();
  });
});
