import { describe, expect, it } from 'vitest';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { ballotTable } from '@oddglass/shared/stats/descriptor/ballot-table.ts';
import { correspondence } from '@oddglass/shared/stats/descriptor/correspondence.ts';
import { profileTest } from '@oddglass/shared/stats/descriptor/profile-test.ts';
import { fastRandom } from '@oddglass/shared/ground/fast-random.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { inventedBallots } from './descriptor-ballots.ts';
import { expectRelative } from './within.ts';

const random = (byte = 7) => seededRandom(new Uint8Array(32).fill(byte));

describe('test of all descriptors together', () => {
  it('estimates what dealing every ballot in every order gives', () => {
    const ballots = [
      [
        [1, 0, 1],
        [0, 1, 0],
        [0, 0, 1],
      ],
      [
        [1, 0, 0],
        [0, 1, 1],
        [1, 0, 1],
      ],
      [
        [1, 1, 0],
        [0, 1, 0],
        [0, 0, 1],
      ],
    ];
    const orders = [
      [0, 1, 2],
      [0, 2, 1],
      [1, 0, 2],
      [1, 2, 0],
      [2, 0, 1],
      [2, 1, 0],
    ];
    const chiSquare = (list: number[][][]) => correspondence({ table: ballotTable(list).table }).chiSquare;
    const seen = chiSquare(ballots);
    let hits = 0;
    for (const a of orders) {
      for (const b of orders) {
        for (const c of orders) {
          const dealt = [a, b, c].map((order, i) => order.map((s) => ballots[i]?.[s] ?? []));
          if (chiSquare(dealt) >= seen * (1 - 1e-10)) hits += 1;
        }
      }
    }
    const exact = hits / 216;
    const ours = profileTest({ ballots, random: random(), permutations: 9999 });
    expectRelative(ours.chiSquare, seen, 1e-12);
    expect(exact).toBeGreaterThan(0.01);
    expect(exact).toBeLessThan(0.9);
    expect(Math.abs(ours.p - exact)).toBeLessThan(5 * Math.sqrt((exact * (1 - exact)) / 9999) + 1e-4);
  });

  it('finds samples that differ and lets be those that do not', () => {
    expect(profileTest({ ballots: inventedBallots(25, 4, 9), random: random(), permutations: 999 }).p).toBe(
      0.001,
    );
    const alike = inventedBallots(25, 1, 9).map(([ballot]) => [ballot ?? [], ballot ?? [], ballot ?? []]);
    expect(profileTest({ ballots: alike, random: random(), permutations: 199 }).p).toBe(1);
  });

  it('holds its level: p is even over panels without a difference (400 panels, seed 11)', () => {
    const draw = fastRandom(random(11));
    const source = random(12);
    let significant = 0;
    for (let panel = 0; panel < 400; panel += 1) {
      // Assessors differ in what they choose, samples do not.
      const ballots = Array.from({ length: 8 }, () => {
        const habit = Array.from({ length: 5 }, () => 10 + draw(70));
        return Array.from({ length: 3 }, () => habit.map((percent) => Number(draw(100) < percent)));
      });
      if (profileTest({ ballots, random: source, permutations: 99 }).p <= 0.1) significant += 1;
    }
    // 40 expected, standard error 6.
    expect(Math.abs(significant - 40)).toBeLessThan(24);
  });

  it('has nothing to say without choices or with one sample each; missing ballots stay missing', () => {
    const test = (ballots: (number[] | null)[][]) =>
      profileTest({ ballots, random: random(), permutations: 99 });
    expect(test([])).toMatchObject({ p: 1, chiSquare: null, informative: 0 });
    expect(
      test([
        [
          [0, 0],
          [0, 0],
        ],
      ]),
    ).toMatchObject({ p: 1, chiSquare: null });
    expect(
      test([
        [[1, 0], null],
        [null, [0, 1]],
      ]),
    ).toMatchObject({ p: 1, informative: 0 });
    expect(test([[[1, 0], null, [0, 1]]]).informative).toBe(1);
    expect(() => profileTest({ ballots: [], random: random(), permutations: 5 })).toThrowError(
      StatsInputError,
    );
  });
});
