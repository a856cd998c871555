import { describe, expect, it } from 'vitest';
import { ethanolGrams, standardDrinks } from '@oddglass/shared/fermentation/ethanol.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { named, referenceCase } from '../stats/reference-case.ts';
import { expectWithin } from '../stats/within.ts';

describe('ethanol dose', () => {
  const published = referenceCase<
    { ml: number; abv_percent: number }[],
    { grams: number; au_10g: number; us_14g: number; uk_units_8g: number; uk_units_10ml: number }[]
  >('ethanol-grams');
  it(named(published), () => {
    published.input.forEach(({ ml, abv_percent: abvPercent }, index) => {
      const wanted = published.expected[index];
      const drinks = standardDrinks({ ml, abvPercent });
      const near = (ours: number, value: number | undefined) =>
        expectWithin(ours, value ?? NaN, published.tolerance, `${ml} mL at ${abvPercent} %`);
      near(ethanolGrams({ ml, abvPercent }), wanted?.grams);
      near(drinks.australia, wanted?.au_10g);
      near(drinks.unitedStates, wanted?.us_14g);
      near(drinks.ukUnits, wanted?.uk_units_10ml);
      near(drinks.ukUnitsOf8Grams, wanted?.uk_units_8g);
    });
  });

  it('an unknown ABV stays unknown and is never 0', () => {
    expect(ethanolGrams({ ml: 30, abvPercent: null })).toBeNull();
    expect(standardDrinks({ ml: 30, abvPercent: null })).toBeNull();
  });

  it.each([
    { field: 'ml', ml: -1, abvPercent: 5 },
    { field: 'ml', ml: Infinity, abvPercent: null },
    { field: 'abvPercent', ml: 30, abvPercent: -0.1 },
    { field: 'abvPercent', ml: 30, abvPercent: 100.1 },
    { field: 'abvPercent', ml: 30, abvPercent: NaN },
  ])('refuses $field: $ml mL at $abvPercent %', ({ field, ...pour }) => {
    for (const f of [() => ethanolGrams(pour), () => standardDrinks(pour)]) {
      expect(f).toThrowError(StatsInputError);
      expect(f).toThrowError(expect.objectContaining({ field }));
    }
  });
});
