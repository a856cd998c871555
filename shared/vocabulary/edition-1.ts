import type { VocabularyWord } from '../contracts/vocabulary.ts';

// The first edition of the built-in words. Sessions sealed with it are asked, and analysed, with exactly these: a word more
// would be one that nobody was offered, and would weaken every comparison of the others.

/** Its words, in its order. Nothing is ever taken out of a later edition, so that each of them is still there. */
export const WORDS_OF_EDITION_1: readonly string[] = (
  'green-apple ripe-apple cider-like pear quince stone-fruit plum cherry berry strawberry raspberry blackcurrant ' +
  'vinous dried-fruit banana bubblegum citrus lemon lemongrass orange grapefruit pineapple mango passion-fruit ' +
  'melon coconut floral rose elderflower violet lavender perfume geranium-leaf honey beeswax propolis pollen grainy ' +
  'bread toast cracker-crust malty wort nutty caramel toffee treacle chocolate coffee roast burnt stale-sweet ' +
  'grassy hay herbal rosemary-thyme mint eucalyptus resin cannabis tea tobacco cucumber bell-pepper currant-leaf ' +
  'catty clove pepper cinnamon ginger liquorice coriander-seed bitter-almond vanilla oak cedar smoke bacon ' +
  'rye-caraway sweet sweetener sour lactic tart-fruit-acid bitter harsh-bitter yeast-bite salty savoury mineral dry ' +
  'astringent full-body thin-body creamy slick ropy lively flat prickly warming burning cooling chalky barnyard ' +
  'stable-urine sweaty mousy funk cellar yeasty sourdough kombucha butter yoghurt sour-milk milk-sweet aged-cheese ' +
  'rancid-butter goat waxy-fat soapy rancid-oil sulphur rotten-egg struck-match cooked-corn cooked-vegetable ' +
  'parsnip potato onion garlic burnt-rubber lightstruck autolysis drains paper sherry bruised-apple vinegar ' +
  'soy-sauce leather old-hop kerosene-age ester-faded solvent fusel glue paint rum-spirit raw-honey-spirit ' +
  'medicinal chlorine detergent metallic blood-iron musty earthy mushroom plastic diesel dusty iodine-sea fishy'
).split(' ');

/** What tablets show of a word, and answers are sorted by. */
export type Wording = Pick<VocabularyWord, 'word' | 'family' | 'definition'>;

/** What of that was otherwise in the first edition. */
export const WORDING_OF_EDITION_1: Readonly<Record<string, Partial<Wording>>> = {
  leather: { family: 'air-age' },
  'ester-faded': { family: 'air-age' },
  bitter: {
    definition:
      'Bitterness at the back of the tongue, slow to come and slow to go. Needs a swallow to judge.',
  },
  metallic: { definition: 'Coins, blood, tin can: in the mouth rather than the nose.' },
  mousy: {
    definition:
      'Comes 10 seconds to minutes after the swallow and stays: mouse cage, stale cracker, popcorn. Not in the nose at the drink’s own pH; about three people in ten do not notice it.',
  },
};
