import { CUSTOM, HUMIA_2019, IGLESIAS_2014, PIRES_2014, STANDARDS_1982 } from '../citations.ts';
import { into } from '../bases.ts';
import { ALL_DRINKS, cup, STRONG_DRINKS, threshold, type FamilyFile, withAlcohol } from '../entry.ts';

/** The paint shelf and the still. */
export const SOLVENT_SPIRIT: FamilyFile = {
  family: { id: 'solvent-spirit', name: 'Solvent and spirit' },
  entries: [
    {
      id: 'solvent',
      word: 'solvent, nail varnish',
      kind: 'fault',
      definition:
        'Nail varnish, its remover or glue: sweet, sharp, volatile. A faint trace is part of some wild sours.',
      confusedWith: ['vinegar', 'banana', 'fusel', 'glue'],
      causes: [
        'hot fermentation, strong wort or too little yeast',
        'wild yeasts at the start',
        'vinegar bacteria: acid and ethanol joined',
        'much air after fermentation',
      ],
      synonyms: ['solvent', 'solventy', 'nail polish', 'ethyl acetate note', 'acetone'],
      similes: ['nail varnish', 'nail varnish remover', 'nail polish remover', 'felt pen'],
      perceived: ['nose', 'palate', 'finish'],
      compounds: ['ethyl acetate'],
      reference: withAlcohol(
        40,
        cup(
          'Mix 1 mL of ethyl acetate sold as a food flavouring with 19 mL of plain vodka (40 %); stir in of that.',
          [1, 'mL of the dilution (1 in 20)', into(500)],
          'Food-grade only, never remover from a shop; flammable, open the window. Adds about 0.3 g of ethanol; no kitchen stand-in is known to us.',
          [],
          // A twentieth of a millilitre of the ester, 0.902 g/mL at 20 °C.
          { compound: 'ethyl acetate', milligramsPer: [45.1, 45.1] },
        ),
      ),
      // The table puts 5 to 10 beside it without saying in what.
      thresholds: [threshold('ethyl acetate', [25, 50], 'mg/L', 'beer', HUMIA_2019)],
      drinks: ALL_DRINKS,
      said: { causes: [PIRES_2014, CUSTOM], reference: STANDARDS_1982 },
    },
    {
      id: 'fusel',
      word: 'fusel',
      kind: 'fault',
      definition: 'Raw spirit: rough, hot, a little like paint thinner or overripe fruit.',
      confusedWith: ['solvent', 'warming', 'burning'],
      causes: [
        'hot fermentation',
        'too much or far too little nitrogen for the yeast',
        'strong wort or must',
      ],
      synonyms: ['fusel alcohol', 'higher alcohols', 'fusel oil', 'rough alcohol'],
      similes: ['moonshine', 'cheap spirit', 'paint thinner'],
      perceived: ['nose', 'palate', 'finish'],
      compounds: ['isoamyl alcohol', 'isobutanol', '1-propanol'],
      thresholds: [
        threshold('amyl alcohols', [50, 70], 'mg/L', 'beer', HUMIA_2019),
        threshold('isobutanol', [100, 175], 'mg/L', 'beer', HUMIA_2019),
      ],
      drinks: STRONG_DRINKS,
      said: { causes: PIRES_2014 },
    },
    {
      id: 'glue',
      word: 'glue',
      kind: 'fault',
      definition: 'Contact glue or model cement.',
      confusedWith: ['solvent', 'plastic', 'bitter-almond'],
      causes: ['wild yeasts with much air', 'vinegar bacteria', 'fresh sealant or coating'],
      synonyms: ['model glue', 'adhesive', 'glue-like'],
      similes: ['contact cement', 'glue stick', 'model aeroplane kit'],
      perceived: ['nose'],
      compounds: ['ethyl acetate'],
      drinks: ALL_DRINKS,
    },
    {
      id: 'paint',
      word: 'oil paint',
      kind: 'fault',
      definition: 'Oil paint and linseed varnish: fatty and sharp.',
      confusedWith: ['rancid-oil', 'solvent', 'green-apple'],
      causes: ['oxidised fats', 'fresh paint or varnish near the vessel'],
      synonyms: ['paint', 'varnish', 'turpentine'],
      similes: ['freshly painted room', 'artist studio'],
      perceived: ['nose'],
      drinks: ALL_DRINKS,
    },
    {
      id: 'rum-spirit',
      word: 'cask spirit',
      kind: 'depends',
      definition: 'Rum, whisky or brandy: spirit with wood and sweetness.',
      confusedWith: ['warming', 'oak', 'vanilla', 'fusel'],
      causes: ['spirit casks', 'spirit added'],
      synonyms: ['rum', 'whisky', 'bourbon', 'brandy', 'barrel spirit'],
      similes: ['rum and raisin', 'liqueur chocolates'],
      perceived: ['nose', 'palate', 'finish'],
      reference: withAlcohol(
        40,
        cup(
          'Stir plain dark rum or bourbon (40 %) into the drink.',
          [10, 'mL', into(490, 'dark beer')],
          'Adds about 3.2 g of ethanol to the half litre: count it.',
        ),
      ),
      drinks: STRONG_DRINKS,
    },
    {
      id: 'raw-honey-spirit',
      word: 'young mead heat',
      kind: 'depends',
      definition: 'Hot, raw and waxy edge of a strong mead or cider that has not rested yet.',
      confusedWith: ['fusel', 'burning', 'beeswax'],
      causes: ['young age', 'fermented warm without staged nutrient'],
      synonyms: ['young mead', 'rocket fuel', 'green mead'],
      similes: ['mouthwash'],
      perceived: ['palate', 'finish'],
      drinks: ['mead', 'cider'],
      said: { causes: [IGLESIAS_2014, CUSTOM] },
    },
  ],
};
