import { ISO_5492, TERMS_1979, type Citation } from './citations.ts';

const listed = (ids: string): ReadonlySet<string> => new Set(ids.trim().split(/\s+/));

// Words that name what a term of the published terminology of beer flavour names, or a part of it.
const OF_1979 = listed(`
  green-apple ripe-apple pear raspberry strawberry blackcurrant vinous
  banana citrus melon coconut
  floral rose perfume honey
  grainy malty wort nutty caramel treacle roast burnt
  grassy hay resin currant-leaf catty
  clove bitter-almond vanilla oak smoke
  sweet sour lactic bitter salty
  astringent full-body thin-body creamy lively flat warming chalky
  leather yeasty
  butter aged-cheese rancid-butter goat soapy rancid-oil waxy-fat
  sulphur rotten-egg struck-match cooked-corn cooked-tomato cooked-vegetable parsnip garlic onion burnt-rubber lightstruck autolysis
  paper vinegar
  solvent
  medicinal metallic musty earthy plastic diesel fishy
`);

// Terms that the standard on the words of sensory analysis defines for any food.
const OF_ISO_5492 = listed(`
  sweet sour bitter salty savoury astringent full-body long-finish
`);

/** The published terminologies in which the term of a word stands; none for most words. */
export function terminologyOf(id: string): readonly Citation[] {
  return [...(OF_1979.has(id) ? [TERMS_1979] : []), ...(OF_ISO_5492.has(id) ? [ISO_5492] : [])];
}

/** Every id named here, for a look whether there is such a word. */
export const NAMED_IN_TERMINOLOGY: readonly string[] = [...OF_1979, ...OF_ISO_5492];
