import { PROTECTIONS, type Protections } from '@oddglass/shared/publication/disclosure.ts';
import { expect, test } from 'vitest';
import { tryWithheld } from '../support/withheld-run.ts';

// A short form of `npm run withheld`: what was withheld stays so to a program that has the publication alone.
const SEEDS = Array.from({ length: 36 }, (_, at) => at + 1);

const determined = (seeds: readonly number[], protections: Protections): string[] =>
  seeds.flatMap((seed) => tryWithheld(seed, protections).determined.map((one) => `seed ${seed}: ${one}`));

test('no withheld value of three publications of each kind can be determined', () => {
  const found = SEEDS.map((seed) => tryWithheld(seed));
  expect(found.flatMap((one) => one.determined)).toEqual([]);
  expect(found.reduce((sum, { tried }) => sum + tried, 0)).toBeGreaterThan(100);
  expect(new Set(found.map(({ tier }) => tier))).toEqual(new Set(['full', 'coarse', 'agreed']));
});

test.each(['complementary', 'smallGroups', 'batchedWithdrawals'] as const)(
  'some can be without %s',
  (protection) => {
    const seeds = Array.from({ length: 72 }, (_, at) => at + 1);
    expect(determined(seeds, { ...PROTECTIONS, [protection]: false })).not.toEqual([]);
  },
);
