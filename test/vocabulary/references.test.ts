import { drink } from '@oddglass/shared/contracts/vocabulary.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { DRINK_ALLERGENS } from '@oddglass/shared/vocabulary/bases.ts';
import { milligramsPerLitre, timesThreshold } from '@oddglass/shared/vocabulary/dose.ts';
import { describe, expect, test } from 'vitest';

const { words } = BUILT_IN;
const references = words.flatMap(({ id, drinks, reference }) =>
  reference ? [{ id, drinks, ...reference }] : [],
);

describe('reference cups', () => {
  test('most words have one, with dose and caution', () => {
    expect(references.length).toBeGreaterThanOrEqual(80);
    for (const { id, dose, caution, how } of references) {
      expect(dose.amount, id).toBeGreaterThan(0);
      expect(dose.unit.length, id).toBeGreaterThan(0);
      expect(dose.per.length, id).toBeGreaterThan(5);
      expect(caution.length, id).toBeGreaterThan(15);
      expect(how.length, id).toBeGreaterThan(15);
    }
  });

  test('none of what must not be spiked at home is given as one', () => {
    const never = [
      'medicinal',
      'musty',
      'mousy',
      'barnyard',
      'drains',
      'metallic',
      'plastic',
      'diesel',
      'chlorine',
    ];
    expect(references.map(({ id }) => id).filter((id) => never.includes(id))).toEqual([]);
    // The sulphur notes and the rancid ones are shown by food, and only smelled.
    for (const id of [
      'rotten-egg',
      'struck-match',
      'aged-cheese',
      'rancid-butter',
      'goat',
      'grainy',
      'grassy',
    ]) {
      expect(references.find((one) => one.id === id)?.caution, id).toMatch(/smelling only/i);
    }
  });

  test.each([
    ['egg', /\begg\b/i],
    ['milk', /\b(?:cheese|yoghurt|milk sugar|toffee)\b/i],
    ['gluten', /\b(?:bread|roasted barley|malt extract)\b/i],
    ['nuts', /\b(?:hazelnuts|coconut flakes)\b/i],
    ['soya', /\bsoy sauce\b/i],
    ['sulphites', /\b(?:metabisulphite|sherry|white wine)\b/i],
  ] as const)('those made with %s say so as an allergen', (allergen, made) => {
    const holding = references.filter(({ how }) => made.test(how));
    expect(holding.length).toBeGreaterThan(0);
    expect(holding.filter(({ allergens }) => !allergens.includes(allergen)).map(({ id }) => id)).toEqual([]);
  });

  test('spirit added is counted in grams of ethanol', () => {
    // 30 mL at 40 % vol and 0.789 g/mL is 9.5 g; 10 mL is 3.2 g.
    expect(references.find(({ id }) => id === 'warming')?.caution).toContain(
      `${(30 * 0.4 * 0.789).toFixed(1)} g`,
    );
    expect(references.find(({ id }) => id === 'rum-spirit')?.caution).toContain(
      `${(10 * 0.4 * 0.789).toFixed(1)} g`,
    );
  });
});

describe('the drink a cup is made with', () => {
  // A cup without one is smelled over water or food, or made with hot water alone.
  const WITHOUT = [
    'grainy',
    'grassy',
    'yeasty',
    'aged-cheese',
    'rancid-butter',
    'goat',
    'rotten-egg',
    'paper',
  ];

  test('is named for every kind of drink the word is for, each once; only what is smelled has none', () => {
    for (const { id, drinks, bases, dose } of references) {
      expect(bases === undefined, id).toBe(WITHOUT.includes(id));
      if (bases === undefined) {
        expect(dose.per, id).not.toMatch(/beer|lager|cider|mead|the drink$/);
        continue;
      }
      expect(dose.per, id).toMatch(/^(?:\d+ mL|bottle) of the drink$/);
      expect(bases.flatMap((base) => base.drinks).sort(), id).toEqual([...drinks].sort());
    }
  });

  test('has its allergens listed: gluten of beer and kvass, sulphites and fruit of cider, sulphites of mead', () => {
    for (const { id, bases = [] } of references) {
      for (const { drinks, liquid, allergens } of bases) {
        if (/beer|lager|kvass/.test(liquid)) expect(allergens, `${id} ${liquid}`).toContain('gluten');
        if (/cider/.test(liquid)) expect(allergens, `${id} ${liquid}`).toEqual(['sulphites', 'fruit']);
        if (/mead/.test(liquid)) expect(allergens, `${id} ${liquid}`).toContain('sulphites');
        for (const one of drinks) expect(allergens, `${id} ${one}`).toEqual(DRINK_ALLERGENS[one]);
      }
    }
    expect(Object.keys(DRINK_ALLERGENS).sort()).toEqual([...drink.options].sort());
  });

  test('of cider and mead is never beer', () => {
    for (const { id, bases = [] } of references) {
      for (const { drinks, liquid } of bases) {
        if (drinks.includes('cider') || drinks.includes('mead')) expect(liquid, id).not.toMatch(/beer|lager/);
      }
    }
  });

  test('is not named a second time in the recipe, where its allergens would be missed', () => {
    const named = references.filter(({ how }) => /\b(?:wheat beer|lager|pale beer|dark beer)\b/.test(how));
    expect(named.map(({ id }) => id)).toEqual([]);
  });
});

describe('doses', () => {
  test.each([
    // 5 mL of vinegar with 5 g of acid in 100 mL, in half a litre.
    ['vinegar', 'acetic acid', (5 * (5 / 100) * 1000) / 0.5],
    // 1 mL of 1 in 20, the ester at 0.902 g/mL.
    ['solvent', 'ethyl acetate', ((1 / 20) * 0.902 * 1000) / 0.5],
    // 5 mL of 1 g in 100 mL; potassium metabisulphite 222.3 g/mol gives two of sulphur dioxide, 64.07 g/mol.
    ['struck-match', 'sulfur dioxide', (5 * (1 / 100) * ((2 * 64.07) / 222.3) * 1000) / 0.5],
    ['bitter', 'iso-alpha-acids', (2.5 * (1 / 100) * 0.3 * 1000) / 0.5],
    ['sweet', 'sucrose', 5000 / 0.5],
    ['sour', 'citric acid', (5 * (10 / 100) * 1000) / 0.5],
    ['tart-fruit-acid', 'malic acid', (5 * (10 / 100) * 1000) / 0.5],
    ['salty', 'sodium chloride', (10 * (6 / 100) * 1000) / 0.5],
    ['savoury', 'monosodium glutamate', (10 * (3 / 100) * 1000) / 0.5],
    ['mineral', 'gypsum', (10 * (3 / 100) * 1000) / 0.5],
    ['full-body', 'maltodextrin', 15000 / 0.5],
  ])('%s: the %s stated is the dose, its purity and the volume', (id, compound, milligrams) => {
    const adds = references.find((one) => one.id === id)?.adds;
    expect(adds?.compound).toBe(compound);
    expect(adds?.low).toBeCloseTo(milligrams, -1);
    expect((adds?.low ?? 0) / milligrams).toBeCloseTo(1, 3);
    expect(adds?.high).toBe(adds?.low);
  });

  test('lactic acid of 80 % to 88 %: half a millilitre in half a litre, as one in a litre', () => {
    const adds = references.find(({ id }) => id === 'lactic')?.adds;
    expect(adds?.low).toBeCloseTo((0.5 * 1.19 * 0.8 * 1000) / 0.5, 6);
    expect((adds?.high ?? 0) / ((0.5 * 1.21 * 0.88 * 1000) / 0.5)).toBeCloseTo(1, 3);
    // The example of the plan form: 1 mL of 80 % in a litre is 2.4 times the threshold; 0.2 mL would be half of it.
    expect(milligramsPerLitre({ amount: 1, milligramsPer: 1.19 * 800, drinkMl: 1000 }) / 400).toBeCloseTo(
      2.38,
      2,
    );
    expect(milligramsPerLitre({ amount: 0.2, milligramsPer: 1.19 * 800, drinkMl: 1000 }) / 400).toBeLessThan(
      0.5,
    );
  });

  test('a pure compound stands at one and a half to four times its threshold', () => {
    const times = words.flatMap((word) => {
      const found = timesThreshold(word);
      return found ? [{ id: word.id, ...found }] : [];
    });
    expect(times.map(({ id }) => id).sort()).toEqual(['lactic', 'solvent', 'vinegar']);
    for (const { id, low, high } of times) {
      expect(low, id).toBeGreaterThan(1.5);
      expect(high, id).toBeLessThan(4);
    }
    expect(times.find(({ id }) => id === 'vinegar')?.low).toBeCloseTo(500 / 175, 6);
  });

  test('is compared in the unit of the threshold, never with one of rejection or of water', () => {
    const one = { ...words[0]!.thresholds[0]!, compound: 'x', medium: 'beer' as const, matrix: 'beer' };
    const reference = { ...references[0]!, adds: { compound: 'x', low: 2, high: 2 } };
    const against = (threshold: object) =>
      timesThreshold({
        reference,
        thresholds: [{ ...one, low: 500, high: 1000, unit: 'µg/L', ...threshold }],
      });
    expect(against({})).toMatchObject({ low: 2, high: 4 });
    expect(against({ kind: 'rejection' })).toBeNull();
    expect(against({ medium: 'water' })).toBeNull();
    expect(against({ compound: 'y' })).toBeNull();
    expect(timesThreshold({ reference: null, thresholds: [one] })).toBeNull();
  });

  test('needs no scale finer than a tenth of a gram and no measure finer than half a millilitre', () => {
    for (const { id, dose } of references) {
      if (/^mL\b/.test(dose.unit)) expect(dose.amount, id).toBeGreaterThanOrEqual(0.5);
      if (dose.unit === 'g') expect(dose.amount, id).toBeGreaterThanOrEqual(0.5);
    }
  });
});
