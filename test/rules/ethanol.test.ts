import { expect, test } from 'vitest';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import { standardDrinks } from '@oddglass/shared/fermentation/ethanol.ts';
import { drinksInWords, strongestCup } from '@oddglass/shared/rules/ethanol.ts';

const id = (at: number) => `00000000-0000-4000-8000-00000000000${at}`;
const arms = [4, 5.2, null].map((abv, at) => ({ id: id(at), abv }));
const flight = (samples: { at: number; spikeAbv?: number }[]): Part => ({
  kind: 'liking',
  cups: 'own',
  samples: samples.map(({ at, spikeAbv }) =>
    spikeAbv === undefined
      ? { armId: id(at), role: 'sample', spike: null }
      : { armId: id(at), role: 'spiked', spike: '30 mL of vodka in 470 mL', spikeAbv },
  ),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
});

test('the strongest cup is that of the arms, or a spiked one that is stronger', () => {
  expect(strongestCup([flight([{ at: 0 }, { at: 1 }])], arms)).toBe(5.2);
  // 30 mL of 40 % in 470 mL of 5.2 %: (12 + 24.44) / 500.
  expect(strongestCup([flight([{ at: 0 }, { at: 1 }, { at: 1, spikeAbv: 7.29 }])], arms)).toBe(7.29);
  // A spike weaker than the arms changes nothing, and what is not poured does not count.
  expect(strongestCup([flight([{ at: 1 }, { at: 1, spikeAbv: 4.9 }])], arms)).toBe(5.2);
  expect(strongestCup([], arms)).toBe(0);
});

test('a test of two arms has their alcohol, beside a flight or not', () => {
  const triangle: Part = {
    kind: 'triangle',
    armIds: [id(0), id(1)],
    replicates: 1,
    alpha: 0.05,
    aim: 'difference',
    meaningfulShare: 0.5,
    beta: 0.2,
  };
  expect(strongestCup([triangle], arms)).toBe(5.2);
  expect(strongestCup([triangle, flight([{ at: 0, spikeAbv: 9 }])], arms)).toBe(9);
});

test('an arm whose alcohol is unknown leaves it unknown, a spike or not', () => {
  expect(strongestCup([flight([{ at: 0 }, { at: 2 }])], arms)).toBeNull();
  expect(strongestCup([flight([{ at: 2 }, { at: 0, spikeAbv: 9 }])], arms)).toBeNull();
  // An arm of which nothing is known at all.
  expect(strongestCup([flight([{ at: 0 }])], arms.slice(1))).toBeNull();
});

test('drinks in words are those of each country', () => {
  const drinks = standardDrinks({ ml: 568, abvPercent: 4 });
  const grams = 568 * 0.04 * 0.789;
  expect(drinksInWords(grams)).toBe(
    `${drinks.australia.toFixed(1)} drinks of 10 g (Australia), ${drinks.unitedStates.toFixed(1)} of 14 g (United States) or ${drinks.ukUnits.toFixed(1)} UK units`,
  );
});
