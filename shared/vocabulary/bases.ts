import type { Allergen } from '../contracts/common.ts';
import type { Drink, ReferenceBase } from '../contracts/vocabulary.ts';

/** How a plain drink has to be for a cup: 'the drink itself' is the one in hand. */
export type BaseStyle =
  | 'pale beer'
  | 'pale lager'
  | 'brown beer'
  | 'dark beer'
  | 'strong beer'
  | 'hopped pale beer'
  | 'the drink itself';

/** A measured volume of a plain drink that a reference is made with. */
export interface Base {
  /** How much of it, in words. */
  readonly per: string;
  /** Null where no concentration follows from it. */
  readonly mL: number | null;
  readonly style: BaseStyle;
}

/** `mL` of a plain drink of this style, where the word is for beer; other drinks have a base of their own. */
export const into = (mL: number, style: BaseStyle = 'pale beer'): Base => ({
  per: `${mL} mL of the drink`,
  mL,
  style,
});
/** A whole bottle of it. */
export const bottle = (style: BaseStyle): Base => ({ per: 'bottle of the drink', mL: null, style });

/**
 * What a plain drink brings by itself: barley or rye (gluten), and sulphites of bought cider and mead, which hold them
 * more often than not. Fruit is asked for by the trade. Common practice, no source.
 */
export const DRINK_ALLERGENS: Readonly<Record<Drink, readonly Allergen[]>> = {
  beer: ['gluten'],
  sour: ['gluten'],
  cider: ['sulphites', 'fruit'],
  mead: ['sulphites'],
  kombucha: [],
  kvass: ['gluten'],
  'alcohol-free': ['gluten'],
};

const OTHER_LIQUIDS: Readonly<Record<Exclude<Drink, 'beer' | 'sour'>, string>> = {
  cider: 'dry still cider',
  mead: 'plain dry mead',
  kombucha: 'plain pasteurised kombucha',
  kvass: 'plain kvass',
  'alcohol-free': 'plain alcohol-free beer',
};

function liquidOf(style: BaseStyle, drink: Drink): string {
  if (style === 'the drink itself') return style;
  return drink === 'beer' || drink === 'sour' ? `plain ${style}` : OTHER_LIQUIDS[drink];
}

/** The plain drinks a cup is made with, one for each kind of drink the word is for, each with its allergens. */
export function basesOf(style: BaseStyle, drinks: readonly Drink[]): ReferenceBase[] {
  const bases = new Map<string, ReferenceBase>();
  for (const drink of drinks) {
    const allergens = DRINK_ALLERGENS[drink];
    const liquid = liquidOf(style, drink);
    // 'The drink itself' holds what each kind of drink holds.
    const key = `${liquid} ${allergens.join()}`;
    const known = bases.get(key);
    bases.set(key, { drinks: [...(known?.drinks ?? []), drink], liquid, allergens: [...allergens] });
  }
  return [...bases.values()];
}
