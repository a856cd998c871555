import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fastRandom, xoshiro } from '@oddglass/shared/ground/fast-random.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { exactTail, permutationTail } from '@oddglass/shared/stats/row-permutation.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { computed } from './ranking-descriptor-values.ts';
import { expectRelative } from './within.ts';

const seeded = (byte: number) => fastRandom(seededRandom(new Uint8Array(32).fill(byte)));

/** Every order of every row, one by one: nothing shared with the code under test. */
function bruteForce(rows: number[][]): number {
  const statistic = (totals: number[]) => totals.reduce((sum, total) => sum + total * total, 0);
  const orders = (row: number[]): number[][] =>
    row.length === 0
      ? [[]]
      : row.flatMap((value, i) => orders(row.toSpliced(i, 1)).map((rest) => [value, ...rest]));
  let all: number[][] = [rows[0]?.map(() => 0) ?? []];
  for (const row of rows) {
    const each = orders(row);
    all = all.flatMap((totals) => each.map((order) => order.map((value, j) => value + (totals[j] ?? 0))));
  }
  const seen = statistic((rows[0] ?? []).map((_, j) => rows.reduce((sum, row) => sum + (row[j] ?? 0), 0)));
  return all.filter((totals) => statistic(totals) >= seen).length / all.length;
}

const table = fc
  .record({ k: fc.integer({ min: 2, max: 3 }), n: fc.integer({ min: 1, max: 4 }) })
  .chain(({ k, n }) =>
    fc.array(fc.array(fc.integer({ min: 0, max: 4 }), { minLength: k, maxLength: k }), {
      minLength: n,
      maxLength: n,
    }),
  );

describe('exact tail over orders within rows', () => {
  it('is what going through every order gives, with and without ties', () => {
    fc.assert(
      fc.property(table, (rows) =>
        expectRelative(exactTail(rows), bruteForce(rows), 1e-12, JSON.stringify(rows)),
      ),
      { numRuns: 200 },
    );
  });

  it('keeps 1e-12 relative in the far tail: all alike is (1 / k!)^(n - 1)', () => {
    for (const [n, k] of [
      [30, 3],
      [15, 4],
      [5, 5],
    ] as const) {
      const factorial = [1, 1, 2, 6, 24, 120][k] ?? NaN;
      const row = Array.from({ length: k }, (_, j) => j + 1);
      expectRelative(exactTail(Array.from({ length: n }, () => row)), factorial ** (1 - n), 1e-12);
    }
  });

  it('is invariant to the order of rows and columns', () => {
    fc.assert(
      fc.property(table, (rows) => {
        const p = exactTail(rows) ?? NaN;
        expectRelative(exactTail(rows.toReversed()), p, 1e-13);
        expectRelative(exactTail(rows.map((row) => row.toReversed())), p, 1e-13);
      }),
    );
  });

  it('is 1 where nothing can differ, and gives up beyond its steps', () => {
    expect(exactTail([])).toBe(1);
    expect(exactTail([[2, 2, 2]])).toBe(1);
    expect(exactTail([[1, 2, 3]])).toBe(1);
    const rows = Array.from({ length: 10 }, () => [1, 2, 3, 4]);
    expect(exactTail(rows, 100)).toBeNull();
    expect(exactTail(Array.from({ length: 200 }, () => [1, 2, 3, 4, 5, 6, 7, 8]))).toBeNull();
  });
});

describe('tail by random orders', () => {
  it('lies within 5 standard errors of the exact one (rows of test/reference, seed 1)', () => {
    const random = seeded(1);
    const draws = 4000;
    for (const { rows, exact } of [...computed.friedman, ...computed.cochran].slice(50, 130)) {
      const ranked = rows.map((row) =>
        row.map((v) => row.filter((o) => o < v).length * 2 + row.filter((o) => o === v).length),
      );
      const p = permutationTail(ranked, draws, random);
      const error = Math.sqrt((exact * (1 - exact)) / draws);
      expect(Math.abs(p - exact), `${JSON.stringify(rows)} ${p} ${exact}`).toBeLessThan(
        5 * error + 2 / draws,
      );
    }
  });

  it('never falls below 1 / (permutations + 1)', () => {
    const rows = Array.from({ length: 30 }, () => [1, 2, 3, 4, 5, 6]);
    expect(permutationTail(rows, 199, seeded(2))).toBe(1 / 200);
  });

  it('is the same for the same seed', () => {
    const rows = [
      [0, 1, 1, 0],
      [0, 0, 1, 0],
      [1, 1, 1, 0],
    ];
    expect(permutationTail(rows, 500, seeded(3))).toBe(permutationTail(rows, 500, seeded(3)));
  });
});

describe('fast random numbers', () => {
  it('follow the recurrence in 32-bit words (Blackman & Vigna 2021; written out in big integers)', () => {
    const mask = 0xffffffffn;
    const rotl = (x: bigint, by: bigint) => ((x << by) | (x >> (32n - by))) & mask;
    let s: [bigint, bigint, bigint, bigint] = [0x9e3779b9n, 7n, 0xffffffffn, 123456789n];
    const next = xoshiro([0x9e3779b9, 7, 0xffffffff, 123456789]);
    for (let turn = 0; turn < 1000; turn += 1) {
      const [a, b, c, d] = s;
      expect(BigInt(next())).toBe((rotl((b * 5n) & mask, 7n) * 9n) & mask);
      const c1 = c ^ a;
      const d1 = d ^ b;
      s = [a ^ d1, b ^ c1, c1 ^ ((b << 9n) & mask), rotl(d1, 11n)];
    }
  });

  it('begin 11520, 0, 5927040, 70819200 from the state 1, 2, 3, 4 (reference implementation; from memory)', () => {
    const next = xoshiro([1, 2, 3, 4]);
    expect([next(), next(), next(), next()]).toEqual([11520, 0, 5927040, 70819200]);
  });

  it('are even over 0 to 6: chi-square below its 1 in 10,000 point, seed 4', () => {
    const random = seeded(4);
    const counts = new Array<number>(7).fill(0);
    for (let i = 0; i < 70_000; i += 1) {
      const value = random(7);
      counts[value] = (counts[value] ?? 0) + 1;
    }
    expect(counts.length).toBe(7);
    // 27.86 with 6 df.
    expect(counts.reduce((sum, count) => sum + (count - 10_000) ** 2 / 10_000, 0)).toBeLessThan(27.86);
  });

  it('draw again just where a remainder would favour some (Lemire 2019, in big integers)', () => {
    const bytes = Uint8Array.from({ length: 16 }, (_, i) => 17 * i + 3);
    const view = new DataView(bytes.buffer);
    const word = (at: number) => view.getUint32(at, true);
    const next = xoshiro([word(0), word(4), word(8), word(12)]);
    const below = 1_000_003n;
    const random = fastRandom({ bytes: () => bytes });
    let again = 0;
    for (let turn = 0; turn < 50_000; turn += 1) {
      let product = BigInt(next()) * below;
      while (product % 2n ** 32n < 2n ** 32n % below) {
        product = BigInt(next()) * below;
        again += 1;
      }
      expect(random(1_000_003)).toBe(Number(product / 2n ** 32n));
    }
    expect(again).toBeGreaterThan(0);
  });

  it('refuses a source that runs short, and leaves the state of zeros', () => {
    expect(() => fastRandom({ bytes: () => new Uint8Array(3) })).toThrowError(StatsInputError);
    const zeros = fastRandom({ bytes: (count) => new Uint8Array(count) });
    expect(new Set(Array.from({ length: 20 }, () => zeros(1000))).size).toBeGreaterThan(5);
  });
});
