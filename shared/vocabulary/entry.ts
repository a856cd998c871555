import {
  drink,
  type Drink,
  type FactSource,
  type PerceivedAt,
  type VocabularyWord,
  type WordFamily,
  type WordKind,
  type WordReference,
  type WordThreshold,
} from '../contracts/vocabulary.ts';
import type { Allergen } from '../contracts/trial.ts';
import { basesOf, type Base, type BaseStyle } from './bases.ts';
import { CUSTOM, type Citation } from './citations.ts';
import { milligramsPerLitre } from './dose.ts';
import { lateReasonOf } from './late-words.ts';
import { terminologyOf } from './terminology.ts';

/**
 * A word as the family files write it. What is left out is empty; a statement without a citation in `said` is
 * common practice without a source, and is marked so.
 */
export interface Entry {
  readonly id: string;
  readonly word: string;
  readonly kind: WordKind;
  readonly definition: string;
  /** Further families in which people look for it. */
  readonly alsoIn?: readonly string[];
  readonly confusedWith?: readonly string[];
  readonly causes?: readonly string[];
  readonly synonyms?: readonly string[];
  readonly similes?: readonly string[];
  readonly perceived: readonly PerceivedAt[];
  readonly compounds?: readonly string[];
  readonly reference?: Cup;
  readonly thresholds?: readonly WordThreshold[];
  readonly drinks: readonly Drink[];
  readonly said?: Partial<Record<'definition' | 'causes' | 'reference', Citation | readonly Citation[]>>;
}

export interface FamilyFile {
  readonly family: WordFamily;
  readonly entries: readonly Entry[];
}

/** Every kind of drink the vocabulary is for. */
export const ALL_DRINKS: readonly Drink[] = drink.options;
/** Drinks made of grain. */
export const GRAIN_DRINKS: readonly Drink[] = ['beer', 'sour', 'kvass', 'alcohol-free'];
/** Drinks strong enough for their alcohol to be felt. */
export const STRONG_DRINKS: readonly Drink[] = ['beer', 'sour', 'cider', 'mead'];

/** What a threshold was found in, in words: a drink, water, or a model of wine. */
const MEDIA: Readonly<Record<string, WordThreshold['medium']>> = {
  beer: 'beer',
  'pale lager': 'beer',
  'light lager': 'beer',
  'white wine': 'wine',
  'red wine': 'wine',
  wine: 'wine',
  water: 'water',
  'water with ethanol': 'model',
  'water with ethanol, as wine': 'model',
};

/** A threshold range with its source. Units: as given; `low` and `high` in that unit. Errors for a medium not known. */
export function threshold(
  compound: string,
  [low, high]: readonly [number, number],
  unit: WordThreshold['unit'],
  matrix: string,
  source: Citation,
  // A source that says no more than 'threshold' is taken to mean detection.
  kind: WordThreshold['kind'] = 'detection',
): WordThreshold {
  const medium = MEDIA[matrix];
  if (medium === undefined) throw new Error(`No medium is known for '${matrix}'.`);
  return {
    kind,
    compound,
    low,
    high,
    unit,
    medium,
    matrix,
    source: source.text,
    fromMemory: source.fromMemory,
  };
}

/** A cup as the family files write it: its drinks are those of its word. */
export interface Cup {
  readonly reference: WordReference;
  readonly style: BaseStyle | null;
}

/**
 * A reference cup: `amount` `unit` in a plain drink or in something else, how to make it, what to mind, which allergens the
 * addition brings; it holds no alcohol unless `withAlcohol` says so. `pure` says how many milligrams of a compound one unit of the amount holds, from and to.
 */
export function cup(
  how: string,
  [amount, unit, per]: readonly [number, string, Base | string],
  caution: string,
  allergens: readonly Allergen[] = [],
  pure?: { readonly compound: string; readonly milligramsPer: readonly [number, number] },
): Cup {
  const base = typeof per === 'string' ? { per, mL: null, style: null } : per;
  const dose = { amount, unit, per: base.per };
  const reference: WordReference = { how, dose, caution, allergens: [...allergens], abv: 0 };
  const { mL, style } = base;
  if (!pure || mL === null) return { reference, style };
  const [low, high] = pure.milligramsPer;
  const brings = (milligramsPer: number): number =>
    milligramsPerLitre({ amount, milligramsPer, drinkMl: mL });
  return {
    reference: { ...reference, adds: { compound: pure.compound, low: brings(low), high: brings(high) } },
    style,
  };
}

/**
 * The same cup, of which what is added holds alcohol: `abv` % by volume at most. Strengths of bought food: common practice,
 * no source.
 */
export function withAlcohol(abv: number, { reference, style }: Cup): Cup {
  return { reference: { ...reference, abv }, style };
}

/** The full word of an entry: what was left out filled in, each statement with its source. */
export function wordOf(entry: Entry, family: string): VocabularyWord {
  const sourcesOf = (what: 'definition' | 'causes' | 'reference'): FactSource[] => {
    const said = [entry.said?.[what] ?? []].flat();
    const terms = what === 'definition' ? terminologyOf(entry.id) : [];
    const all = [...said, ...terms];
    return (all.length > 0 ? all : [CUSTOM]).map(({ text, fromMemory }) => ({
      what,
      source: text,
      fromMemory,
    }));
  };
  const thresholds = [...(entry.thresholds ?? [])];
  const late = lateReasonOf(entry.id);
  const ofThresholds = new Map(thresholds.map(({ source, fromMemory }) => [source, fromMemory]));
  return {
    id: entry.id,
    word: entry.word,
    family,
    alsoIn: [...(entry.alsoIn ?? [])],
    kind: entry.kind,
    definition: entry.definition,
    confusedWith: [...(entry.confusedWith ?? [])],
    causes: [...(entry.causes ?? [])],
    synonyms: [...(entry.synonyms ?? [])],
    similes: [...(entry.similes ?? [])],
    perceived: [...entry.perceived],
    ...(late && { late: { ...late } }),
    compounds: [...(entry.compounds ?? [])],
    reference: entry.reference ? referenceOf(entry.reference, entry.drinks) : null,
    ownReferences: [],
    thresholds,
    drinks: [...entry.drinks],
    sources: [
      ...sourcesOf('definition'),
      ...(entry.causes?.length ? sourcesOf('causes') : []),
      ...(entry.reference ? sourcesOf('reference') : []),
      ...[...ofThresholds].map(([source, fromMemory]): FactSource => ({
        what: 'threshold',
        source,
        fromMemory,
      })),
    ],
  };
}

function referenceOf({ reference, style }: Cup, drinks: readonly Drink[]): WordReference {
  return style === null ? reference : { ...reference, bases: basesOf(style, drinks) };
}
