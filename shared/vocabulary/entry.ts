import type {
  Drink,
  FactSource,
  PerceivedAt,
  VocabularyWord,
  WordFamily,
  WordKind,
  WordReference,
  WordThreshold,
} from '../contracts/vocabulary.ts';
import type { Allergen } from '../contracts/trial.ts';
import { CUSTOM, type Citation } from './citations.ts';

/**
 * A word as the family files write it. What is left out is empty; a statement without a citation in `said` is
 * common practice without a source, and is marked so.
 */
export interface Entry {
  readonly id: string;
  readonly word: string;
  readonly kind: WordKind;
  readonly definition: string;
  readonly confusedWith?: readonly string[];
  readonly causes?: readonly string[];
  readonly synonyms?: readonly string[];
  readonly similes?: readonly string[];
  readonly perceived: readonly PerceivedAt[];
  readonly compounds?: readonly string[];
  readonly reference?: WordReference;
  readonly thresholds?: readonly WordThreshold[];
  readonly drinks: readonly Drink[];
  readonly said?: Partial<Record<'definition' | 'causes' | 'reference', Citation | readonly Citation[]>>;
}

export interface FamilyFile {
  readonly family: WordFamily;
  readonly entries: readonly Entry[];
}

/** Every kind of drink the vocabulary is for. */
export const ALL_DRINKS: readonly Drink[] = ['beer', 'sour', 'cider', 'mead'];
/** Drinks made of grain. */
export const GRAIN_DRINKS: readonly Drink[] = ['beer', 'sour'];

/** A threshold range with its source. Units: as given; `low` and `high` in that unit. */
export function threshold(
  compound: string,
  low: number,
  high: number,
  unit: WordThreshold['unit'],
  matrix: string,
  source: Citation,
): WordThreshold {
  return { compound, low, high, unit, matrix, source: source.text, fromMemory: source.fromMemory };
}

/** A reference cup: `amount` `unit` in `per`, how to make it, what to mind, which allergens it brings. */
export function cup(
  how: string,
  [amount, unit, per]: readonly [number, string, string],
  caution: string,
  allergens: readonly Allergen[] = [],
): WordReference {
  return { how, dose: { amount, unit, per }, caution, allergens: [...allergens] };
}

/** The full word of an entry: what was left out filled in, each statement with its source. */
export function wordOf(entry: Entry, family: string): VocabularyWord {
  const sourcesOf = (what: 'definition' | 'causes' | 'reference'): FactSource[] =>
    [entry.said?.[what] ?? CUSTOM].flat().map(({ text, fromMemory }) => ({ what, source: text, fromMemory }));
  const thresholds = [...(entry.thresholds ?? [])];
  const ofThresholds = new Map(thresholds.map(({ source, fromMemory }) => [source, fromMemory]));
  return {
    id: entry.id,
    word: entry.word,
    family,
    kind: entry.kind,
    definition: entry.definition,
    confusedWith: [...(entry.confusedWith ?? [])],
    causes: [...(entry.causes ?? [])],
    synonyms: [...(entry.synonyms ?? [])],
    similes: [...(entry.similes ?? [])],
    perceived: [...entry.perceived],
    compounds: [...(entry.compounds ?? [])],
    reference: entry.reference ?? null,
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
