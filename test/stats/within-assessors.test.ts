import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { withinAssessors } from '@oddglass/shared/stats/rating/within-assessors.ts';

const random = () => seededRandom(new Uint8Array(32).fill(7));

describe('permutation within assessors', () => {
  // SciPy 1.17.1, stats.permutation_test(permutation_type='samples', n_resamples=inf) of the larger of the two shares, and the
  // same by going through all orders with itertools: 444 of 7,776.
  const full = [
    [3, 5, 8],
    [2, 6, 5],
    [4, 4, 9],
    [1, 7, 6],
    [5, 3, 7],
  ];

  it('is SciPy’s of the same statistic', () => {
    const test = withinAssessors({ rows: full, random: random() });
    expect(test?.route).toBe('exact');
    expect(test?.marks).toBeCloseTo(0.6, 12);
    expect(test?.ranks).toBeCloseTo(0.452631578947368, 12);
    expect(test?.p).toBeCloseTo(0.0570987654320988, 12);
  });

  it('against a control and with gaps is that of all orders, gone through by Python’s itertools', () => {
    // NumPy: estimates by the pseudo-inverse of the information on samples after assessors; 200 of 7,776 and 6 of 288 orders.
    const control = withinAssessors({ rows: full, random: random(), against: 0 });
    expect(control?.marks).toBeCloseTo(0.489897948556637, 12);
    expect(control?.p).toBeCloseTo(200 / 7776, 12);
    const gaps = withinAssessors({
      rows: [
        [3, 5, 8],
        [2, null, 7],
        [null, 4, 4],
        [1, 7, 6],
        [2, 6, null],
        [null, null, 9],
      ],
      random: random(),
    });
    expect(gaps?.marks).toBeCloseTo(0.894294559929235, 12);
    expect(gaps?.ranks).toBeCloseTo(0.771428571428571, 12);
    expect(gaps?.p).toBeCloseTo(6 / 288, 12);
    expect([gaps?.assessors, gaps?.leftOut]).toEqual([5, 1]);
  });

  it('takes what everybody says alike as the evidence it is: 2 in 2^n for two samples', () => {
    for (const n of [4, 10, 15]) {
      const rows = Array.from({ length: n }, () => [3, 7]);
      expect(withinAssessors({ rows, random: random() })?.p).toBeCloseTo(2 ** (1 - n), 15);
    }
    expect(withinAssessors({ rows: Array.from({ length: 9 }, () => [4, 4, 4]), random: random() })?.p).toBe(
      1,
    );
  });

  it('by random orders comes near the p of all orders', () => {
    const differences = [4, -1, 3, 2, -2, 5, 1, -3, 2, 2, 1, -1, 3, -4, 2, 1];
    const n = differences.length;
    const test = withinAssessors({
      rows: differences.map((difference) => [0, difference]),
      random: random(),
    });
    expect(test?.route).toBe('permutation');
    // All 65,536 ways to turn differences round, by the same statistic.
    const squares = differences.reduce((sum, value) => sum + value * value, 0);
    const statistic = (ways: number): number => {
      let [marks, signs] = [0, 0];
      differences.forEach((value, at) => {
        const sign = (ways >> at) % 2 === 0 ? 1 : -1;
        marks += sign * value;
        signs += sign * Math.sign(value);
      });
      return Math.max(marks ** 2 / (n * squares), signs ** 2 / (n * n));
    };
    let reached = 0;
    for (let ways = 0; ways < 2 ** n; ways += 1) if (statistic(ways) >= statistic(0) - 1e-12) reached += 1;
    const exact = reached / 2 ** n;
    expect(exact).toBeGreaterThan(0.05);
    // A thousand orders that reached it: p is known to 3 % of itself.
    expect(Math.abs((test?.p ?? 0) / exact - 1)).toBeLessThan(0.12);
    expect(test?.permutations).toBeLessThan(9999);
    // A column that nobody has changes nothing.
    const few = differences.slice(0, 6).map((value, at) => [at, value, 3]);
    const all = withinAssessors({ rows: few, random: random() });
    expect(withinAssessors({ rows: few.map((row) => [...row, null]), random: random() })?.p).toBe(all?.p);
  });

  it('does not change with anybody’s own level, nor with the scale', () => {
    const values = fc.array(fc.array(fc.integer({ min: 1, max: 9 }), { minLength: 3, maxLength: 3 }), {
      minLength: 3,
      maxLength: 5,
    });
    fc.assert(
      fc.property(
        values,
        fc.integer({ min: -20, max: 20 }),
        fc.integer({ min: 1, max: 7 }),
        (rows, level, unit) => {
          const moved = rows.map((row, who) => row.map((value) => unit * value + level * who));
          expect(withinAssessors({ rows: moved, random: random() })?.p).toBeCloseTo(
            withinAssessors({ rows, random: random() })?.p ?? -1,
            12,
          );
        },
      ),
      { numRuns: 40 },
    );
  });

  it('says nothing where nothing can be compared, and refuses what is no table', () => {
    expect(withinAssessors({ rows: [[1, 2]], random: random() })).toBeNull();
    expect(withinAssessors({ rows: [[1], [2]], random: random() })).toBeNull();
    expect(withinAssessors({ rows: [], random: random() })).toBeNull();
    expect(() => withinAssessors({ rows: [[1, 2], [1]], random: random() })).toThrow(/rows\[1\]/);
    expect(() => withinAssessors({ rows: [[1, NaN]], random: random() })).toThrow(/rows\[0\]\[1\]/);
    expect(() => withinAssessors({ rows: [[1, 2]], random: random(), against: 2 })).toThrow(/against/);
  });
});
