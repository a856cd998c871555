import type {
  Drink,
  FactSource,
  PerceivedAt,
  ThresholdKind,
  Vocabulary,
  VocabularyChange,
  VocabularyWord,
  WordFound,
  WordKind,
  WordReference,
  WordThreshold,
} from '@oddglass/shared/contracts/vocabulary.ts';
import { ALLERGEN_WORDS } from '@oddglass/shared/vocabulary/allergens.ts';
import { timesThreshold } from '@oddglass/shared/vocabulary/dose.ts';

export const KIND_WORDS: Readonly<Record<WordKind, string>> = {
  fault: 'usually a fault',
  depends: 'depends on the drink',
  expected: 'usually looked for',
};
export const PERCEIVED_WORDS: Readonly<Record<PerceivedAt, string>> = {
  eye: 'looking',
  nose: 'smelling',
  palate: 'in the mouth',
  finish: 'after swallowing',
  later: 'half a minute later and on',
};
export const DRINK_WORDS: Readonly<Record<Drink, string>> = {
  beer: 'beer',
  sour: 'mixed and sour fermentations',
  cider: 'cider',
  mead: 'mead',
  kombucha: 'kombucha',
  kvass: 'kvass',
  'alcohol-free': 'alcohol-free beer',
};
const THRESHOLD_WORDS: Readonly<Record<ThresholdKind, string>> = {
  detection: 'noticed',
  recognition: 'named',
  difference: 'more of it noticed',
  rejection: 'liked less with it',
};
const SOURCE_WORDS: Readonly<Record<FactSource['what'], string>> = {
  definition: 'definition',
  causes: 'causes',
  reference: 'reference cup',
  threshold: 'threshold',
};

/** Anchor of a word on the page. */
export const wordAnchor = (id: string): string => `word-${id}`;
/** Anchor of a family on the page. */
export const familyAnchor = (id: string): string => `family-${id}`;

/** A source, with what has to be said of it. */
export function sourceText({ source, fromMemory }: { source: string; fromMemory: boolean }): string {
  return fromMemory ? `${source} (named from memory, not looked at for this)` : source;
}

/** 'definition, causes: common practice, no source': statements of one source together. */
export function sourceLines(sources: readonly FactSource[]): string[] {
  const said = new Map<string, string[]>();
  for (const source of sources) {
    if (source.what === 'threshold') continue;
    const text = sourceText(source);
    said.set(text, [...(said.get(text) ?? []), SOURCE_WORDS[source.what]]);
  }
  return [...said].map(([text, whats]) => `${whats.join(', ')}: ${text}`);
}

const plain = (value: number): string =>
  new Intl.NumberFormat('en', { maximumSignificantDigits: 4 }).format(value);

const rangeOf = (low: number, high: number): string =>
  low === high ? plain(low) : `${plain(low)} to ${plain(high)}`;

/** 'noticed (detection): 30 to 50 µg/L of dimethyl sulfide, in pale lager (beer)'. */
export function thresholdText({ kind, compound, low, high, unit, medium, matrix }: WordThreshold): string {
  const told = matrix.split(/[ ,]+/).includes(medium) ? matrix : `${matrix} (${medium})`;
  return `${THRESHOLD_WORDS[kind]} (${kind}): ${rangeOf(low, high)}\u00a0${unit} of ${compound}, in ${told}`;
}

const round = (value: number): number => Number(value.toPrecision(2));

/** 'Adds about 500 mg/L of acetic acid, 2.9 times its detection threshold in pale lager.'; '' where nothing pure is added. */
export function addsText(word: Pick<VocabularyWord, 'reference' | 'thresholds'>): string {
  const adds = word.reference?.adds;
  if (!adds) return '';
  const times = timesThreshold(word);
  const amount = `Adds about ${rangeOf(round(adds.low), round(adds.high))}\u00a0mg/L of ${adds.compound}`;
  if (!times) return `${amount}.`;
  const { low, high, threshold } = times;
  return `${amount}, ${rangeOf(round(low), round(high))} times its ${threshold.kind} threshold in ${threshold.matrix}.`;
}

/** 'plain pale beer (beer, alcohol-free beer): holds cereals with gluten', for each drink a cup can be made with. */
export function baseLines({ bases = [] }: Pick<WordReference, 'bases'>): string[] {
  return bases.map(({ drinks, liquid, allergens }) => {
    const held = allergens.map((name) => ALLERGEN_WORDS[name]).join(', ');
    const holds = held === '' ? 'holds what its label says' : `holds ${held}`;
    return `${liquid} (${drinks.map((drink) => DRINK_WORDS[drink]).join(', ')}): ${holds}`;
  });
}

/** '15 mL per 500 mL of plain pale lager'. */
export function doseText({ dose }: WordReference): string {
  return `${plain(dose.amount)}\u00a0${dose.unit} per ${dose.per}`;
}

/** Words of a family in the order of the vocabulary, and those of other families that people look for in it. */
export function wordsByFamily({
  families,
  words,
}: Vocabulary): { id: string; name: string; words: VocabularyWord[]; also: VocabularyWord[] }[] {
  const sorted = Map.groupBy(words, ({ family }) => family);
  return families.map(({ id, name }) => ({
    id,
    name,
    words: sorted.get(id) ?? [],
    also: words.filter(({ alsoIn }) => alsoIn.includes(id)),
  }));
}

/** Why a word was found, where it is not the word itself. */
export function foundBy({ matched }: WordFound): string {
  switch (matched.kind) {
    case 'word':
      return '';
    case 'synonym':
      return `also called “${matched.text}”`;
    case 'simile':
      return `recalls “${matched.text}”`;
    case 'compound':
      return `from ${matched.text}`;
  }
}

/** A change as its history tells it. `nameOf` gives the word of an id. */
export function changeText(change: VocabularyChange, nameOf: (id: string) => string): string {
  switch (change.kind) {
    case 'family-added':
      return `New family “${change.name}”`;
    case 'word-added':
      return `New word “${change.word}”`;
    case 'synonym-added':
      return `“${change.synonym}” means ${nameOf(change.id)}`;
    case 'simile-added':
      return `“${change.simile}” recalls ${nameOf(change.id)}`;
    case 'words-merged':
      return `${nameOf(change.from)} merged into ${nameOf(change.into)}`;
    case 'reference-added':
      return `Own reference for ${nameOf(change.id)}`;
  }
}

/** Word of an id at any time: words that were merged away keep the name they had. */
export function namesOf(
  vocabulary: Vocabulary,
  history: readonly { change: VocabularyChange }[],
): (id: string) => string {
  const names = new Map<string, string>();
  for (const { change } of history) if (change.kind === 'word-added') names.set(change.id, change.word);
  for (const { id, word } of vocabulary.words) names.set(id, word);
  return (id) => names.get(id) ?? id.replaceAll('-', ' ');
}

/** An id for a new word or family: 'Grüne Äpfel!' is 'grune-apfel'; a number after it where that is taken. */
export function freshId(text: string, taken: ReadonlySet<string>): string {
  const plainText = text
    .toLowerCase()
    .normalize('NFD')
    .replace(/\p{M}/gu, '')
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 50)
    .replace(/-+$/, '');
  // Ids start with a letter wherever answers hold them.
  const base = /^[a-z]/.test(plainText) ? plainText : ['word', plainText].filter(Boolean).join('-');
  let id = base;
  for (let next = 2; taken.has(id); next += 1) id = `${base}-${next}`;
  return id;
}

/** Ids that a new word may not have: those in use, and those merged away. */
export function takenIds({ words, merged, families }: Vocabulary): Set<string> {
  return new Set([
    ...words.map(({ id }) => id),
    ...merged.map(({ from }) => from),
    ...families.map(({ id }) => id),
  ]);
}

/** Lines or commas part what was typed into one field. */
export function listOf(text: string): string[] {
  return text
    .split(/[,\n]/)
    .map((item) => item.trim())
    .filter(Boolean);
}
