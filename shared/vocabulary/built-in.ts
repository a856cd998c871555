import type { Vocabulary } from '../contracts/vocabulary.ts';
import { wordOf, type FamilyFile } from './entry.ts';
import { APPEARANCE } from './families/appearance.ts';
import { AIR_AGE } from './families/air-age.ts';
import { CITRUS_TROPICAL } from './families/citrus-tropical.ts';
import { DAIRY_FAT } from './families/dairy-fat.ts';
import { FLOWER_HONEY } from './families/flower-honey.ts';
import { GRAIN_SUGAR } from './families/grain-sugar.ts';
import { HERB_GREEN } from './families/herb-green.ts';
import { MOUTH_FEEL } from './families/mouth-feel.ts';
import { ORCHARD_BERRY } from './families/orchard-berry.ts';
import { SOLVENT_SPIRIT } from './families/solvent-spirit.ts';
import { SPICE_WOOD_SMOKE } from './families/spice-wood-smoke.ts';
import { SULPHUR } from './families/sulphur.ts';
import { TAINT } from './families/taint.ts';
import { TASTE } from './families/taste.ts';
import { WHOLE } from './families/whole.ts';
import { WILD_CULTURE } from './families/wild-culture.ts';

/** From what is mostly looked for to what mostly is not; the tongue and the touch in between. */
const FAMILIES: readonly FamilyFile[] = [
  ORCHARD_BERRY,
  CITRUS_TROPICAL,
  FLOWER_HONEY,
  GRAIN_SUGAR,
  HERB_GREEN,
  SPICE_WOOD_SMOKE,
  TASTE,
  MOUTH_FEEL,
  WILD_CULTURE,
  DAIRY_FAT,
  SULPHUR,
  AIR_AGE,
  SOLVENT_SPIRIT,
  TAINT,
  APPEARANCE,
  WHOLE,
];

/**
 * The words every panel starts from, for beer, mixed and sour fermentations, cider, mead, kombucha and kvass. Families,
 * order and wording are our own. A change of words, of families or of what a word means is a new edition
 * (`editions.ts`); figures, causes and cups are mended in place.
 */
export const BUILT_IN: Vocabulary = {
  version: 'built-in-2',
  changes: 0,
  families: FAMILIES.map(({ family }) => ({ ...family })),
  words: FAMILIES.flatMap(({ family, entries }) => entries.map((entry) => wordOf(entry, family.id))),
  merged: [],
};
