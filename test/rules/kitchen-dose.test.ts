import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { kitchenDose } from '@oddglass/shared/rules/kitchen-dose.ts';
import { measureOf, millilitresIn, mostMillilitres } from '@oddglass/shared/rules/kitchen-units.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { spikeCups } from '@oddglass/shared/vocabulary/spike-cups.ts';

describe('units of a kitchen', () => {
  test.each([
    ['mL', 'mL', 1, ''],
    ['ml', 'mL', 1, ''],
    ['mL of infusion (5 g in 100 mL)', 'mL', 1, ' of infusion (5 g in 100 mL)'],
    ['mL, shaken (3 g in 100 mL)', 'mL', 1, ', shaken (3 g in 100 mL)'],
    ['tsp. of rum', 'mL', 5, ' of rum'],
    ['tablespoons', 'mL', 15, ''],
    ['drops', 'mL', 0.05, ''],
    ['L', 'mL', 1000, ''],
    ['g', 'g', 1, ''],
    ['mg', 'g', 0.001, ''],
  ])('%s', (unit, by, each, rest) => {
    expect(measureOf(unit)).toEqual({ by, each, rest });
  });
  test.each(['tablet', 'dip of 10 s', 'minutes of sun', 'glass', 'lime', 'pours', 'days at 30 °C'])(
    '%s is counted or done, not measured',
    (unit) => {
      expect(measureOf(unit)).toBeNull();
      expect(mostMillilitres(1, unit)).toBeNull();
    },
  );
  test.each([
    ['500 mL of the drink', 500],
    ['1 litre', 1000],
    ['a litre of plain pale lager', 1000],
    ['litre', 1000],
    ['0,5 L', 500],
    ['into 2 l of mead', 2000],
    ['bottle of the drink', null],
    ['a covered empty glass', null],
    ['a glass', null],
    ['0 mL', null],
  ])('%s', (text, ml) => {
    expect(millilitresIn(text)).toBe(ml);
  });
});

const words = (amount: number, unit: string, perMl: number, volumeMl: number) =>
  kitchenDose({ dose: { amount, unit, perMl }, volumeMl }, 'Cool');

describe('a dose for what is poured', () => {
  test('is in marks of a syringe or glass, with the arm in the same proportion', () => {
    // 12 cups of 40 mL: 480 mL of which 30 in 500 are added, 28.8 mL; a measuring glass shows 29, and 29 x 470 / 30 is 454.3.
    expect(words(30, 'mL', 470, 480)).toEqual({
      makesMl: 484,
      steps: ['Stir 29 mL of it into 455 mL of Cool.'],
    });
    expect(words(8, 'g', 500, 360)?.steps).toEqual(['5.8 g for 365 mL of Cool.']);
    expect(words(6, 'tsp of rum', 470, 480)?.steps).toEqual(['Stir 29 mL of rum into 455 mL of Cool.']);
  });

  test('too small to measure is diluted tenfold first, with the arm itself', () => {
    // 0.36 mL of 360 mL at 0.5 mL per 500 mL.
    expect(words(0.5, 'mL', 500, 360)?.steps).toEqual([
      'Too little to measure by itself: stir 1 mL of it into 9 mL of Cool first.',
      'Stir 3.6 mL of that into 360 mL of Cool.',
    ]);
    expect(words(2, 'drops', 1000, 200)?.steps[0]).toMatch(/stir 1 mL of it into 99 mL of Cool/);
    expect(words(0.001, 'mL', 1000, 40)).toBeNull();
  });

  test('too small to weigh is made for more; never for a bucket', () => {
    expect(words(0.5, 'g', 500, 360)).toEqual({
      makesMl: 500,
      steps: ['More than is poured, so that it can be weighed: 0.5 g for 500 mL of Cool.'],
    });
    expect(words(2, 'mg', 1000, 360)).toBeNull();
  });

  test('that is counted is made in whole portions', () => {
    expect(words(1, 'tablet', 500, 360)?.steps).toEqual(['One portion: 500 mL of Cool with 1 tablet.']);
    expect(words(20, 'minutes of sun', 250, 510)).toEqual({
      makesMl: 750,
      steps: ['3 portions, each 250 mL of Cool with 20 minutes of sun.'],
    });
    expect(words(1, 'tablet', 500, 0)).toBeNull();
    expect(words(1, 'mL', 500, 0)).toBeNull();
  });

  test('runs never short, and is at the strength of the dose or at most a twentieth below, for every cup and volume', () => {
    const cups = spikeCups(BUILT_IN).filter(({ dose }) => measureOf(dose.unit) !== null);
    expect(cups.length).toBeGreaterThan(80);
    fc.assert(
      fc.property(
        fc.constantFrom(...cups),
        fc.integer({ min: 2, max: 300 }),
        fc.integer({ min: 5, max: 250 }),
        (cup, count, cupMl) => {
          const volumeMl = count * cupMl;
          const made = kitchenDose({ dose: cup.dose, volumeMl }, 'Cool');
          expect(made?.makesMl).toBeGreaterThanOrEqual(volumeMl);
          const { strength, told } = strengthOf(made?.steps ?? [], cup.dose);
          expect(strength / told).toBeLessThanOrEqual(1 + 1e-9);
          // Below 100 mL a mark of the jug weighs more.
          expect(strength / told).toBeGreaterThan(volumeMl < 100 ? 0.85 : 0.95);
        },
      ),
    );
  });
});

/** What the sentences come to when they are followed, per mL of the arm or of the whole; and what the dose says. */
function strengthOf(steps: string[], dose: { amount: number; perMl: number; unit: string }) {
  const numbers = steps.map((step) =>
    [...step.replace(/\(.*?\)/g, '').matchAll(/[\d.]+(?= (?:mL|g)\b)/g)].map(Number),
  );
  const [first = [], second] = numbers;
  const measure = measureOf(dose.unit)!;
  const added = dose.amount * measure.each;
  if (measure.by === 'g') return { strength: first[0]! / first[1]!, told: added / dose.perMl };
  const told = added / (dose.perMl + added);
  if (!second) return { strength: first[0]! / (first[0]! + first[1]!), told };
  const stock = first[0]! / (first[0]! + first[1]!);
  return { strength: (second[0]! * stock) / (second[0]! + second[1]!), told };
}
