import type { Allergen } from '../contracts/trial.ts';

/** How an allergen is written for people (EU Regulation 1169/2011 Annex II groups; fruit added by us). */
export const ALLERGEN_WORDS: Readonly<Record<Allergen, string>> = {
  gluten: 'cereals with gluten',
  sulphites: 'sulphites',
  milk: 'milk, milk sugar',
  nuts: 'nuts',
  peanuts: 'peanuts',
  soya: 'soya',
  sesame: 'sesame',
  egg: 'egg',
  fish: 'fish',
  crustaceans: 'crustaceans',
  molluscs: 'molluscs',
  mustard: 'mustard',
  celery: 'celery',
  lupin: 'lupin',
  fruit: 'fruit',
};
