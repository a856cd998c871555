import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import type { DifferencePart } from '@oddglass/shared/contracts/part.ts';
import type { DifferencePartKind } from '@oddglass/shared/kinds/kind.ts';
import { DIFFERENCES } from '@oddglass/shared/kinds/kinds.ts';
import {
  compareTests,
  dPrimeOfShare,
  MAX_CUPS,
  shareOfDPrime,
  SIZES,
} from '@oddglass/shared/planner/compare-tests.ts';
import { powerOfDifference } from '@oddglass/shared/stats/discrimination/power.ts';
import { powerOfTrays, smallestForTrays } from '@oddglass/shared/stats/discrimination/power-of-trays.ts';

interface Row {
  test: DifferencePartKind;
  people: number;
  trays: number;
  alpha: number;
  dPrime: number | null;
  pd: number;
  power: number;
}
const { rows, source } = JSON.parse(
  readFileSync(new URL('../reference/planner-power.json', import.meta.url), 'utf8'),
) as { rows: Row[]; source: string };

const armIds = ['00000000-0000-4000-8000-000000000001', '00000000-0000-4000-8000-000000000002'];
const arms = (volumeMl: number) =>
  armIds.map((id, at) => ({ id, name: ['Cool', 'Warm'][at] ?? '', volumeMl, abv: 5 + at }));
const triangle = (meaningfulShare: number): DifferencePart => ({
  kind: 'triangle',
  armIds,
  replicates: 1,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare,
  beta: 0.2,
});

test(`200 random rows are those of ${source}: shares from percepts, sums by scipy.stats.binom`, () => {
  expect(rows).toHaveLength(200);
  for (const { test: kind, people, trays, alpha, dPrime, pd, power } of rows) {
    const { guessRate } = DIFFERENCES[kind].test;
    // The double integral of the duo-trio, over a kink, holds about 2e-7.
    if (dPrime !== null) expect(Math.abs(shareOfDPrime(kind, dPrime) - pd)).toBeLessThan(1e-6);
    const ours = powerOfTrays({ assessors: people, trays, alpha, pd, guessRate }).differing;
    expect(Math.abs(ours - power)).toBeLessThan(1e-8);
  }
});

describe('power of repeated trays', () => {
  test('is that of independent answers with one tray, and never counts on more than the smaller with more', () => {
    for (const n of [4, 8, 15, 30]) {
      const plan = { alpha: 0.05, pd: 0.4, guessRate: 1 / 3 };
      expect(powerOfTrays({ ...plan, assessors: n, trays: 1 }).power).toBeCloseTo(
        powerOfDifference({ ...plan, n }).power,
        12,
      );
      const three = powerOfTrays({ ...plan, assessors: n, trays: 3 });
      expect(three.independent).toBeCloseTo(powerOfDifference({ ...plan, n: 3 * n }).power, 12);
      expect(three.power).toBe(Math.min(three.differing, three.independent));
      // A good chance is less with persons who differ, a poor one more.
      expect(three.differing < three.independent).toBe(three.independent > 0.5);
    }
  });

  test('of half who always tell in a triangle is 77, 83, 72 and 81 % (SciPy 1.17.1)', () => {
    const of = (assessors: number, trays: number) =>
      powerOfTrays({ assessors, trays, alpha: 0.05, pd: 0.5, guessRate: 1 / 3 }).power;
    const said = [of(4, 4), of(6, 4), of(5, 3), of(6, 3)];
    [0.768110560616, 0.827042791399, 0.723364295273, 0.810081495199].forEach((power, at) =>
      expect(said[at]).toBeCloseTo(power, 10),
    );
    const smallest = smallestForTrays({ trays: 3, alpha: 0.05, beta: 0.2, pd: 0.5, guessRate: 1 / 3 });
    expect(smallest?.first).toBe(6);
    expect(of(smallest?.stable ?? 0, 3)).toBeGreaterThanOrEqual(0.8);
  });

  test('to both sides counts either arm', () => {
    const plan = { assessors: 9, trays: 2, alpha: 0.05, pd: 0.6, guessRate: 1 / 2 };
    expect(powerOfTrays({ ...plan, twoSided: true }).power).toBeLessThan(powerOfTrays(plan).power);
    // Without anybody who tells it is the size of the test, at most alpha.
    const size = powerOfTrays({ ...plan, pd: 0, twoSided: true }).power;
    expect(size).toBeLessThanOrEqual(0.05);
    expect(size).toBeGreaterThan(0.02);
  });
});

describe('the table of tests', () => {
  test('asks every test for the same difference, which is another share in each', () => {
    for (const { dPrime } of SIZES) {
      const shares = (Object.keys(DIFFERENCES) as DifferencePartKind[]).map((kind) => {
        const share = shareOfDPrime(kind, dPrime);
        expect(dPrimeOfShare(kind, share)).toBeCloseTo(dPrime, 7);
        return share;
      });
      expect(new Set(shares.map((share) => share.toFixed(2))).size).toBeGreaterThan(4);
    }
    // Methods: d' 1.5 with eight people finds 15, 41, 72 and 67 %.
    const found = compareTests(
      { assessors: 8, cupMl: 20 },
      triangle(shareOfDPrime('triangle', 1.5)),
      arms(2000),
    );
    const power = (kind: string) =>
      Math.round(100 * (found?.rows.find((row) => row.kind === kind && row.trays === 1)?.power ?? 0));
    expect(['triangle', 'tetrad', 'three-afc', 'directional-pair'].map(power)).toEqual([15, 41, 72, 67]);
  });

  test('names what reaches the goal with the liquid there is, and what would where nothing does', () => {
    const medium = triangle(shareOfDPrime('triangle', 1.5));
    const enough = compareTests({ assessors: 8, cupMl: 20 }, medium, arms(2000));
    expect(enough?.best.length).toBeGreaterThan(0);
    for (const row of enough?.best ?? []) {
      expect(row.power).toBeGreaterThanOrEqual(0.8);
      expect(row.enough).toBe(true);
      expect(row.cupsEach).toBeLessThanOrEqual(MAX_CUPS);
    }
    expect(enough?.saying).toMatch(
      /^Eight people find a difference of this size with a chance of 80 % or more/,
    );
    expect(enough?.saying).toMatch(/if it is known in what the arms differ/);
    const little = compareTests({ assessors: 8, cupMl: 20 }, medium, arms(100));
    expect(little?.best).toEqual([]);
    expect(little?.saying).toMatch(
      /^No test finds a difference of this size .* with the liquid there is .* What would: /,
    );
    const two = compareTests({ assessors: 2, cupMl: 20 }, triangle(0.1), arms(2000));
    expect(two?.best).toEqual([]);
    expect(two?.saying).toMatch(/with these people .* What would: .* with \d+ people/);
    const none = compareTests({ assessors: 2, cupMl: 20 }, triangle(0.001), arms(2000));
    expect(none?.saying).toMatch(/with up to 400 people: look for a larger difference/);
  });

  test('says how much of what each test needs', () => {
    const found = compareTests({ assessors: 8, cupMl: 20 }, triangle(0.3), arms(2000));
    const row = found?.rows.find(({ kind, trays }) => kind === 'triangle' && trays === 2);
    // Two trays of three cups; of eight seats six take a whole set of orders, and two more may have two cups of one arm.
    expect(row).toMatchObject({ cupsEach: 6, needMl: [520, 520], enough: true, needsDirection: false });
    expect(row?.ethanolGrams).toBeCloseTo(6 * 20 * 0.06 * 0.789, 10);
    expect(
      compareTests({ assessors: 8, cupMl: 20 }, { ...triangle(0.3), aim: 'similarity' }, arms(2000)),
    ).toBeNull();
  });
});
