import type { Word } from '../contracts/seat.ts';

type ShortWord = Pick<Word, 'id' | 'word' | 'family'>;

/**
 * Words offered after a choice, for beer and other fermented drinks. Everyday names, families of our own;
 * that these are the things tasters of fermented drinks name is common practice, no source.
 */
export const DESCRIPTORS: readonly ShortWord[] = [
  { id: 'banana', word: 'banana, pear drops', family: 'fruit and flowers' },
  { id: 'green-apple', word: 'green apple', family: 'fruit and flowers' },
  { id: 'citrus', word: 'citrus', family: 'fruit and flowers' },
  { id: 'stone-fruit', word: 'peach, apricot', family: 'fruit and flowers' },
  { id: 'berry', word: 'berries', family: 'fruit and flowers' },
  { id: 'dried-fruit', word: 'raisin, fig', family: 'fruit and flowers' },
  { id: 'floral', word: 'flowers, honey', family: 'fruit and flowers' },
  { id: 'bread', word: 'bread, dough', family: 'grain' },
  { id: 'toast', word: 'toast, biscuit', family: 'grain' },
  { id: 'caramel', word: 'caramel', family: 'grain' },
  { id: 'grainy', word: 'raw grain, husk', family: 'grain' },
  { id: 'clove', word: 'clove, spice', family: 'spice and herb' },
  { id: 'pepper', word: 'pepper', family: 'spice and herb' },
  { id: 'grassy', word: 'cut grass, herbs', family: 'spice and herb' },
  { id: 'resin', word: 'resin, pine', family: 'spice and herb' },
  { id: 'sweet', word: 'sweeter', family: 'taste and mouth' },
  { id: 'sour', word: 'more sour', family: 'taste and mouth' },
  { id: 'bitter', word: 'more bitter', family: 'taste and mouth' },
  { id: 'dry', word: 'drier, astringent', family: 'taste and mouth' },
  { id: 'full-body', word: 'fuller body', family: 'taste and mouth' },
  { id: 'thin-body', word: 'thinner body', family: 'taste and mouth' },
  { id: 'warming', word: 'warming, alcohol', family: 'taste and mouth' },
  { id: 'lively', word: 'livelier, more gas', family: 'taste and mouth' },
  { id: 'butter', word: 'butter, butterscotch', family: 'often a fault' },
  { id: 'cooked-corn', word: 'cooked corn, cabbage', family: 'often a fault' },
  { id: 'sulphur', word: 'struck match, egg', family: 'often a fault' },
  { id: 'vinegar', word: 'vinegar', family: 'often a fault' },
  { id: 'solvent', word: 'solvent, nail varnish', family: 'often a fault' },
  { id: 'paper', word: 'wet paper, stale', family: 'often a fault' },
  { id: 'barnyard', word: 'barn, leather', family: 'often a fault' },
  { id: 'medicinal', word: 'plaster, smoke', family: 'often a fault' },
  { id: 'mousy', word: 'mousy, late cracker', family: 'often a fault' },
];

const byId = new Map(DESCRIPTORS.map((descriptor) => [descriptor.id, descriptor]));

/** The descriptor with this id; undefined when the vocabulary has none. */
export function descriptor(id: string): ShortWord | undefined {
  return byId.get(id);
}
