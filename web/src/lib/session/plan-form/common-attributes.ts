/** An attribute that is often rated in fermented drinks, with the ends of its scale. */
export interface CommonAttribute {
  /** Id of the word in the vocabulary, so that results of one word belong together; of our own for the overall ones. */
  id: string;
  name: string;
  low: string;
  high: string;
}

const amount = (id: string, name: string): CommonAttribute => ({
  id,
  name,
  low: 'none',
  high: 'very strong',
});

/** Attributes that are no single word of the vocabulary, but a range of it. */
export const OVERALL_ATTRIBUTES: readonly CommonAttribute[] = [
  { id: 'aroma-strength', name: 'Aroma strength', low: 'none', high: 'very strong' },
  { id: 'fruitiness', name: 'Fruitiness', low: 'none', high: 'very strong' },
  { id: 'body', name: 'Body', low: 'thin', high: 'full' },
  { id: 'finish', name: 'Length of finish', low: 'short', high: 'long' },
];

/** Which attributes are rated most is common practice, no source. */
export const COMMON_ATTRIBUTES: readonly CommonAttribute[] = [
  amount('sour', 'Sourness'),
  amount('sweet', 'Sweetness'),
  amount('bitter', 'Bitterness'),
  amount('salty', 'Saltiness'),
  { id: 'astringent', name: 'Astringency', low: 'none', high: 'very drying' },
  { id: 'lively', name: 'Carbonation', low: 'flat', high: 'very lively' },
  amount('warming', 'Alcohol warmth'),
  ...OVERALL_ATTRIBUTES,
  amount('banana', 'Banana'),
  amount('clove', 'Clove'),
  amount('bread', 'Bread'),
  amount('barnyard', 'Barnyard'),
  amount('vinegar', 'Vinegar'),
  amount('butter', 'Butter'),
  amount('cooked-corn', 'Cooked corn'),
  amount('rotten-egg', 'Rotten egg'),
  amount('paper', 'Wet paper'),
];

/** Attributes a rating starts with. */
export const FIRST_ATTRIBUTES: readonly CommonAttribute[] = COMMON_ATTRIBUTES.slice(0, 3);

/** 'The most …', 'from least to most …': what a comparison on one attribute is usually about. */
export const COMPARED: readonly string[] = [
  'sour',
  'sweet',
  'bitter',
  'astringent',
  'full-bodied',
  'fruity',
  'spicy',
  'buttery',
  'sulphury',
  'stale',
];

/** A scale of degrees in words, from no difference up: common practice, no source. */
export const USUAL_DEGREES: readonly string[] = [
  'no difference',
  'very slight',
  'slight',
  'moderate',
  'large',
  'very large',
];
