import type { LateReason, VocabularyWord } from '../contracts/vocabulary.ts';
import {
  CUSTOM,
  EPKE_2009,
  CLIFF_1993,
  GUINARD_BEER_1986,
  GUINARD_WINE_1986,
  PARKER_2012,
  SNOWDON_2006,
  type Citation,
} from './citations.ts';

const late = (why: string, { text, fromMemory }: Citation): LateReason => ({
  why,
  source: text,
  fromMemory,
});

const BITTER = late('Lasts longer with every sip.', GUINARD_BEER_1986);
const DRYING = late('Lasts longer with every sip, and comes up slowly.', GUINARD_WINE_1986);
const METAL = late('Is there as an aftertaste, in mouth and nose.', EPKE_2009);

/** Words of the built-in vocabulary that linger or come late, by id, each with what is known of it. */
const LATE_WORDS: Readonly<Record<string, LateReason>> = {
  mousy: late(
    'Hidden at the pH of the drink: it comes when saliva has raised it, and stays for minutes.',
    SNOWDON_2006,
  ),
  bitter: BITTER,
  'harsh-bitter': BITTER,
  astringent: DRYING,
  'hard-tannin': DRYING,
  smoke: late('Phenols bound to sugar are set free in the mouth, and come after the swallow.', PARKER_2012),
  medicinal: late('Phenols cling to the throat and come back with the breath.', CUSTOM),
  metallic: METAL,
  'blood-iron': METAL,
  burning: late(
    'The burn of spice comes up and goes down slowly; that of alcohol and acid is said to.',
    CLIFF_1993,
  ),
  warming: late('Spreads from throat to chest after the swallow.', CUSTOM),
  sweetener: late('Sweetness that stays after the drink is gone, with something bitter.', CUSTOM),
  'long-finish': late('Says itself how long it lasts.', CUSTOM),
};

/** Why a built-in word is worth a late question; undefined where it is not. */
export const lateReasonOf = (id: string): LateReason | undefined => LATE_WORDS[id];

/**
 * Why a word is worth a late question: as the built-in words say, or since the panel says of its own word that it shows half
 * a minute later and on. Null where nothing speaks for it.
 */
export function whyLate(word: Pick<VocabularyWord, 'late' | 'perceived'>): LateReason | null {
  if (word.late) return word.late;
  return word.perceived.includes('later')
    ? late('The panel says that it shows half a minute later and on.', CUSTOM)
    : null;
}
