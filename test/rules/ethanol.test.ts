import { describe, expect, test } from 'vitest';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import { standardDrinks } from '@oddglass/shared/fermentation/ethanol.ts';
import { drinksInWords, spikedAbv, strongestCup } from '@oddglass/shared/rules/ethanol.ts';

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

describe('a spiked cup', () => {
  const reference = (abv: number | null) => ({
    wordId: 'warming',
    word: 'warming alcohol',
    own: null,
    how: 'Stir plain vodka into the drink.',
    caution: 'Count it.',
    abv,
  });
  const chosen = (abv: number | null, amount: number, unit: string, perMl: number) => ({
    spikeReference: reference(abv),
    spikeDose: { amount, unit, perMl },
  });

  test('is as it was told; none leaves that of the arm, and nobody knowing leaves it unknown', () => {
    expect(spikedAbv({ spikeAbv: 7.1 }, 5)).toBe(7.1);
    expect(spikedAbv({ spikeAbv: 'none' }, 5)).toBe(5);
    expect(spikedAbv({ spikeAbv: null }, 5)).toBeNull();
    // Kept from before it was asked.
    expect(spikedAbv({}, 5)).toBeNull();
  });

  test('from a reference cup holds what its dose adds, whatever the unit', () => {
    // By hand: 0.4 x 30 mL + 0.05 x 470 mL in 500 mL.
    expect(spikedAbv(chosen(40, 30, 'mL', 470), 5)).toBeCloseTo((100 * (12 + 23.5)) / 500, 12);
    expect(spikedAbv(chosen(40, 3, 'cl', 470), 5)).toBeCloseTo(7.1, 12);
    expect(spikedAbv(chosen(40, 6, 'tsp of rum', 470), 5)).toBeCloseTo(7.1, 12);
    // Weighed: at most as much volume as ethanol of that weight.
    expect(spikedAbv(chosen(40, 30 * 0.789, 'g', 470), 5)).toBeCloseTo(7.1, 12);
    expect(spikedAbv(chosen(40, 1, 'glass', 470), 5)).toBeNull();
    // What holds none can only thin it; what is weaker than the arm leaves it at most as strong.
    expect(spikedAbv(chosen(0, 150, 'mL', 350), 5)).toBe(5);
    expect(spikedAbv(chosen(3, 100, 'mL', 400), 5)).toBe(5);
    expect(spikedAbv(chosen(40, 30, 'mL', 470), null)).toBeNull();
    expect(spikedAbv(chosen(null, 30, 'mL', 470), 5)).toBeNull();
    // A cup of the panel's own that does not tell, told in the plan.
    expect(spikedAbv({ ...chosen(null, 30, 'mL', 470), spikeAbv: 'none' }, 5)).toBe(5);
  });

  test('of unknown strength leaves the evening unknown, and counts where it is chosen', () => {
    const plain = flight([{ at: 0 }, { at: 1 }]);
    const spiked = (facts: object): Part[] => [
      { ...plain, samples: [{ armId: id(1), role: 'spiked', spike: 'x', ...facts }] } as Part,
    ];
    expect(strongestCup(spiked({ spikeAbv: null }), arms)).toBeNull();
    expect(strongestCup(spiked({}), arms)).toBeNull();
    // (0.4 x 30 + 0.052 x 470) / 500
    expect(strongestCup(spiked(chosen(40, 30, 'mL', 470)), arms)).toBeCloseTo(7.288, 12);
  });
});

test('drinks in words are those of each country', () => {
  const drinks = standardDrinks({ ml: 568, abvPercent: 4 });
  const grams = 568 * 0.04 * 0.789;
  expect(drinksInWords(grams)).toBe(
    `${drinks.australia.toFixed(1)} drinks of 10 g (Australia), ${drinks.unitedStates.toFixed(1)} of 14 g (United States) or ${drinks.ukUnits.toFixed(1)} UK units`,
  );
});
