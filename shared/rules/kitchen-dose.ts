import type { SpikeDose } from '../contracts/spike.ts';
import { measureOf, type Measure } from './kitchen-units.ts';

/** How to spike a volume with what a kitchen has: a syringe, a scale that shows tenths of a gram, a jug. */
export interface KitchenDose {
  /** What comes of it, mL: what was asked for or somewhat more, in the same proportion. */
  makesMl: number;
  /** In order, each a sentence. */
  steps: string[];
}

// The least that is measured and not guessed: half a mark of a 1 mL syringe is 2.5 % of half a millilitre, and a scale that
// shows tenths is off by half of one. Common practice, no source.
const MIN = 0.5;
// Beyond this a weighed trifle is not worth a bucket of the arm.
const MAX_TO_WEIGH_INTO_ML = 3000;
const MAX_TENFOLD = 3;

/** The next mark at or above an amount: syringes up to 10 mL, a measuring glass, a jug; a scale with tenths. */
function nextMark(amount: number, by: Measure['by']): number {
  const step = stepAt(amount, by);
  // Amounts are sums of decimals: 0.30000000000000004 stands at its mark.
  return decimal(Math.ceil(amount / step - 1e-9) * step);
}

function stepAt(amount: number, by: Measure['by']): number {
  if (by === 'g') return amount < 20 ? 0.1 : 1;
  if (amount < 1) return 0.05;
  if (amount < 10) return 0.1;
  return amount < 100 ? 1 : 5;
}

const decimal = (value: number): number => Number(value.toFixed(3));

/**
 * The dose for `volumeMl` of the spiked drink. The amount goes up to the next mark, and the arm with it, so that the strength
 * stays (or is up to 5 % less) and nothing runs short; what is too little to measure is diluted tenfold first, with the arm itself so that nothing
 * is watered, or weighed for a larger batch; what is counted is made in whole portions.
 * Null for a volume of 0, and for an amount that a kitchen cannot measure even so.
 * @param arm what it goes into, in words: 'the arm'.
 * Common practice, no source.
 */
export function kitchenDose(
  { dose, volumeMl }: { dose: SpikeDose; volumeMl: number },
  arm = 'the arm',
): KitchenDose | null {
  if (!(volumeMl > 0)) return null;
  const measure = measureOf(dose.unit);
  if (!measure) return portions(dose, volumeMl, arm);
  return measure.by === 'mL' ? liquid(dose, measure, volumeMl, arm) : weighed(dose, measure, volumeMl, arm);
}

function liquid(
  { amount, perMl }: SpikeDose,
  { each, rest }: Measure,
  volumeMl: number,
  arm: string,
): KitchenDose | null {
  const added = amount * each;
  const share = added / (perMl + added);
  let needed = volumeMl * share;
  let tenfold = 0;
  while (needed * 10 ** tenfold < MIN && tenfold <= MAX_TENFOLD) tenfold += 1;
  if (tenfold > MAX_TENFOLD) return null;
  if (share > 10 ** -tenfold) {
    // The first dilution would be weaker than the drink: a little more is made instead.
    tenfold = 0;
    needed = MIN;
  }
  const taken = nextMark(needed * 10 ** tenfold, 'mL');
  const armMl = nextMark(taken / 10 ** tenfold / share - taken, 'mL');
  // What it is stands in the recipe.
  const what = rest === '' ? ' of it' : rest;
  const steps =
    tenfold === 0
      ? [`Stir ${taken} mL${what} into ${armMl} mL of ${arm}.`]
      : [
          `Too little to measure by itself: stir 1 mL${what} into ${10 ** tenfold - 1} mL of ${arm} first.`,
          `Stir ${taken} mL of that into ${armMl} mL of ${arm}.`,
        ];
  return { makesMl: decimal(taken + armMl), steps };
}

function weighed(
  { amount, perMl }: SpikeDose,
  { each, rest }: Measure,
  volumeMl: number,
  arm: string,
): KitchenDose | null {
  const perMillilitre = (amount * each) / perMl;
  const needed = volumeMl * perMillilitre;
  const grams = nextMark(Math.max(needed, MIN), 'g');
  const armMl = nextMark(grams / perMillilitre, 'mL');
  const step = `${grams} g${rest} for ${armMl} mL of ${arm}.`;
  if (needed >= MIN) return { makesMl: armMl, steps: [step] };
  if (armMl > MAX_TO_WEIGH_INTO_ML) return null;
  return { makesMl: armMl, steps: [`More than is poured, so that it can be weighed: ${step}`] };
}

function portions({ amount, unit, perMl }: SpikeDose, volumeMl: number, arm: string): KitchenDose {
  const count = Math.ceil(volumeMl / perMl - 1e-9);
  const each = `${perMl} mL of ${arm} with ${amount} ${unit}`;
  return {
    makesMl: decimal(count * perMl),
    steps: [count === 1 ? `One portion: ${each}.` : `${count} portions, each ${each}.`],
  };
}
