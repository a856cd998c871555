import { ETHANOL_GRAMS_PER_ML } from '../fermentation/ethanol.ts';

/** What one unit of a dose is by volume or weight, and what stands behind the unit: ' of infusion (5 g in 100 mL)'. */
export interface Measure {
  readonly by: 'mL' | 'g';
  /** mL or g of one unit. */
  readonly each: number;
  readonly rest: string;
}

// Metric spoons, and twenty drops to the millilitre: common practice, no source.
const UNITS: readonly (readonly [RegExp, Measure['by'], number])[] = [
  [/^(?:µl|μl|ul)/i, 'mL', 0.001],
  [/^(?:ml|millilit(?:re|er)s?)/i, 'mL', 1],
  [/^cl/i, 'mL', 10],
  [/^dl/i, 'mL', 100],
  [/^(?:lit(?:re|er)s?|l)/i, 'mL', 1000],
  [/^(?:tsp|teaspoons?)/i, 'mL', 5],
  [/^(?:tbsp|tablespoons?)/i, 'mL', 15],
  [/^drops?/i, 'mL', 0.05],
  [/^mg/i, 'g', 0.001],
  [/^kg/i, 'g', 1000],
  [/^(?:grams?|g)/i, 'g', 1],
];

/** The measure of a unit as a dose has it; null for what is counted ('tablet') or done ('20 minutes of sun'). */
export function measureOf(unit: string): Measure | null {
  for (const [name, by, each] of UNITS) {
    const [found] = name.exec(unit) ?? [];
    if (found === undefined) continue;
    const rest = unit.slice(found.length);
    // 'glass' begins with g, and is none.
    if (/^[\p{L}\p{N}]/u.test(rest)) continue;
    return { by, each, rest: rest.replace(/^\./, '') };
  }
  return null;
}

/**
 * Most millilitres that an amount of something with alcohol can be; what is weighed is taken for as light as ethanol. Null
 * for a unit that says no volume.
 */
export function mostMillilitres(amount: number, unit: string): number | null {
  const measure = measureOf(unit);
  if (!measure) return null;
  const inMeasure = amount * measure.each;
  return measure.by === 'mL' ? inMeasure : inMeasure / ETHANOL_GRAMS_PER_ML;
}

/**
 * The millilitres a text begins with: '500 mL of plain pale lager', '1 litre', 'a litre of the beer'. Null where it begins
 * with none.
 */
export function millilitresIn(text: string): number | null {
  const [, number = '', unit = ''] = /^\s*(?:into\s+)?(an?\b|\d+(?:[.,]\d+)?)?\s*(.*)$/i.exec(text) ?? [];
  const measure = measureOf(unit);
  if (measure?.by !== 'mL') return null;
  const amount = /^an?$/i.test(number) || number === '' ? 1 : Number(number.replace(',', '.'));
  const whole = amount * measure.each;
  return whole > 0 ? whole : null;
}
