import { z } from 'zod';
import { allergen, text } from './common.ts';

/** Name of a word or family that stays the same when its wording changes: lower case with hyphens. */
export const wordId = z
  .string()
  .max(60, 'Keep this to 60 characters.')
  .regex(/^[a-z0-9]+(?:-[a-z0-9]+)*$/, 'Use lower-case letters, digits and single hyphens.');

/** Is it usually a fault, does that depend on the drink and the strength, or is it looked for? */
export const wordKind = z.enum(['fault', 'depends', 'expected']);
export type WordKind = z.infer<typeof wordKind>;
/** When it shows: looking, smelling, in the mouth, after swallowing, or half a minute later and on. */
export const perceivedAt = z.enum(['eye', 'nose', 'palate', 'finish', 'later']);
export type PerceivedAt = z.infer<typeof perceivedAt>;
/** `sour` stands for mixed and sour fermentations of grain, `alcohol-free` for beer without alcohol or with little. */
export const drink = z.enum(['beer', 'sour', 'cider', 'mead', 'kombucha', 'kvass', 'alcohol-free']);
export type Drink = z.infer<typeof drink>;

/** Where a statement comes from: a named publication or standard, or 'common practice, no source'. */
export const factSource = z.object({
  what: z.enum(['definition', 'causes', 'reference', 'threshold']),
  source: text(300),
  /** The publication is named from memory and was not looked at for this entry. */
  fromMemory: z.boolean(),
});
export type FactSource = z.infer<typeof factSource>;

/**
 * What a threshold is of (ISO 5492, from memory): detection, somebody notices that something is there; recognition, somebody
 * can say what; difference, somebody notices more of it in a drink that holds some; rejection, somebody prefers the drink
 * without it.
 */
export const thresholdKind = z.enum(['detection', 'recognition', 'difference', 'rejection']);
export type ThresholdKind = z.infer<typeof thresholdKind>;
/** What it was dissolved in; `model` is water with ethanol and perhaps acid, in place of a drink. */
export const thresholdMedium = z.enum(['beer', 'wine', 'water', 'model']);
export type ThresholdMedium = z.infer<typeof thresholdMedium>;

/** A published threshold: always a range, since people and drinks differ widely. */
export const wordThreshold = z
  .object({
    kind: thresholdKind,
    compound: text(80),
    low: z.number().positive(),
    high: z.number().positive(),
    unit: z.enum(['g/L', 'mg/L', 'µg/L', 'ng/L']),
    medium: thresholdMedium,
    /** The medium in words: 'pale lager'. */
    matrix: text(80),
    source: text(300),
    fromMemory: z.boolean(),
  })
  .refine(({ low, high }) => low <= high, { path: ['high'], message: 'The range ends below its start.' });
export type WordThreshold = z.infer<typeof wordThreshold>;

/** The plain drink a cup is made with, for some kinds of drink, and what it holds by itself. */
export const referenceBase = z.object({
  drinks: z.array(drink).min(1),
  liquid: text(80),
  allergens: z.array(allergen),
});
export type ReferenceBase = z.infer<typeof referenceBase>;

/** A cup that shows the word, made from food or food-grade flavouring. */
export const wordReference = z.object({
  how: text(500),
  dose: z.object({
    amount: z.number().positive(),
    unit: text(30),
    /** What the amount goes into. */
    per: text(120),
  }),
  caution: text(500),
  /** Allergens of what is added; those of the drink it goes into stand with `bases`. */
  allergens: z.array(allergen),
  /** The plain drinks it goes into; none for what is only smelled, or where a panel says all in its own words. */
  bases: z.array(referenceBase).optional(),
  /** Alcohol of what is added, at most, % by volume; 0: none. Null or left out: nobody told. */
  abv: z.number().min(0, 'Not below 0.').max(96, 'At most 96 %.').nullable().optional(),
  /** What a measured pure compound comes to in the cup, mg/L. */
  adds: z.object({ compound: text(80), low: z.number().positive(), high: z.number().positive() }).optional(),
});
export type WordReference = z.infer<typeof wordReference>;

const manyTexts = (max: number) => z.array(text(max)).max(40, 'Forty are enough.');

/** Why a word is asked for once more when some time has passed since the last sip: it lingers, or comes only then. */
export const lateReason = z.object({ why: text(200), source: text(300), fromMemory: z.boolean() });
export type LateReason = z.infer<typeof lateReason>;

export const vocabularyWord = z.object({
  id: wordId,
  word: text(60),
  /** Id of its family. */
  family: wordId,
  /** Further families in which people look for it. */
  alsoIn: z.array(wordId),
  kind: wordKind,
  definition: text(400),
  confusedWith: z.array(wordId),
  causes: z.array(text(200)),
  synonyms: z.array(text(60)),
  /** Everyday things it recalls. */
  similes: z.array(text(60)),
  perceived: z.array(perceivedAt).min(1),
  /** Left out where nothing speaks for asking late. */
  late: lateReason.optional(),
  compounds: z.array(text(80)),
  reference: wordReference.nullable(),
  /** References the panel made up itself, oldest first. */
  ownReferences: z.array(wordReference),
  thresholds: z.array(wordThreshold),
  drinks: z.array(drink).min(1),
  sources: z.array(factSource),
});
export type VocabularyWord = z.infer<typeof vocabularyWord>;

export const wordFamily = z.object({ id: wordId, name: text(60) });
export type WordFamily = z.infer<typeof wordFamily>;

export const vocabulary = z.object({
  /** 'built-in-2'; with a panel's changes 'built-in-2+7'. */
  version: text(60),
  /** How many changes of the panel stand on the built-in words. */
  changes: z.number().int().min(0),
  families: z.array(wordFamily),
  words: z.array(vocabularyWord),
  /** Words merged away, and the word each went into at the time. */
  merged: z.array(z.object({ from: wordId, into: wordId })),
});
export type Vocabulary = z.infer<typeof vocabulary>;

/** One step of a panel on its vocabulary. Steps are kept in order and never edited. */
export const vocabularyChange = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('family-added'), id: wordId, name: text(60) }),
  z.object({
    kind: z.literal('word-added'),
    id: wordId,
    word: text(60),
    family: wordId,
    usually: wordKind,
    definition: text(400),
    synonyms: manyTexts(60).default([]),
    similes: manyTexts(60).default([]),
    perceived: z.array(perceivedAt).min(1).default(['nose', 'palate']),
    drinks: z.array(drink).min(1).default(drink.options),
  }),
  z.object({ kind: z.literal('synonym-added'), id: wordId, synonym: text(60) }),
  z.object({ kind: z.literal('simile-added'), id: wordId, simile: text(60) }),
  z.object({ kind: z.literal('words-merged'), from: wordId, into: wordId }),
  z.object({ kind: z.literal('reference-added'), id: wordId, reference: wordReference }),
]);
export type VocabularyChange = z.infer<typeof vocabularyChange>;
export type VocabularyChangeInput = z.input<typeof vocabularyChange>;

/** A word found while somebody types, with what of it matched. */
export const wordFound = z.object({
  id: wordId,
  word: z.string(),
  /** Name of its family. */
  family: z.string(),
  matched: z.object({ kind: z.enum(['word', 'synonym', 'simile', 'compound']), text: z.string() }),
});
export type WordFound = z.infer<typeof wordFound>;

/** A change asked for, on the version the host was looking at: somebody else's change in between is not run over. */
export const vocabularyChangeInput = z.object({
  onVersion: z.number().int().min(0),
  change: vocabularyChange,
});

/** The vocabulary of a panel, and words that assessors wrote and that it does not know yet. */
export const vocabularyView = z.object({
  panelId: z.uuid(),
  panelName: z.string(),
  demo: z.boolean(),
  /** May the viewer change it? */
  mayChange: z.boolean(),
  vocabulary,
  history: z.array(z.object({ version: z.number().int(), change: vocabularyChange, at: z.iso.datetime() })),
  unplaced: z.array(z.object({ word: z.string(), mentions: z.number().int() })),
});
export type VocabularyView = z.infer<typeof vocabularyView>;
