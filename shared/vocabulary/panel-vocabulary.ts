import type {
  Vocabulary,
  VocabularyChange,
  VocabularyChangeInput,
  VocabularyWord,
} from '../contracts/vocabulary.ts';
import { vocabularyChange } from '../contracts/vocabulary.ts';
import { normalKey } from './normal-form.ts';

export type RefusalReason =
  | 'malformed'
  | 'unknown-word'
  | 'unknown-family'
  | 'id-taken'
  | 'name-taken'
  | 'merged-away'
  | 'merged-into-itself'
  | 'merge-circle';

/** A change that the vocabulary cannot take: which change (0 is the first), which field of it, and why. */
export class VocabularyRefusal extends Error {
  readonly reason: RefusalReason;
  readonly change: number;
  readonly field: string;
  readonly value: string;

  constructor(reason: RefusalReason, at: { change: number; field: string; value: string }, message: string) {
    super(message);
    this.name = 'VocabularyRefusal';
    this.reason = reason;
    this.change = at.change;
    this.field = at.field;
    this.value = at.value;
  }
}

/** Who in the vocabulary says something already: the word whose word, synonym or simile this is; undefined when free. */
export function ownerOfName(vocabulary: Pick<Vocabulary, 'words'>, text: string): VocabularyWord | undefined {
  const key = normalKey(text);
  return vocabulary.words.find((word) => keysOf(word).has(key));
}

const keys = new WeakMap<VocabularyWord, Set<string>>();

/** Normal keys of all names of a word, kept: words are never changed in place. */
function keysOf(word: VocabularyWord): Set<string> {
  const known = keys.get(word);
  if (known) return known;
  const made = new Set([word.word, ...word.synonyms, ...word.similes].map(normalKey));
  keys.set(word, made);
  return made;
}

/** The word an id stands for, merges followed; undefined when the vocabulary never had it. */
export function resolveWord(vocabulary: Vocabulary, id: string): VocabularyWord | undefined {
  const live = liveId(vocabulary, id);
  return vocabulary.words.find((word) => word.id === live);
}

function liveId({ merged }: Vocabulary, id: string): string {
  let live = id;
  // Each word is merged away once at most, so the way is never longer than the list.
  for (let step = 0; step <= merged.length; step += 1) {
    const into = merged.find(({ from }) => from === live)?.into;
    if (into === undefined) return live;
    live = into;
  }
  return live;
}

/**
 * A vocabulary with a panel's changes on top, in their order; the base stays as it is. Its version is the base's
 * with the count of changes ('built-in-1+7'), so that the first n changes always make the same version.
 * Errors: VocabularyRefusal for the first change that does not fit; nothing of the list is then applied.
 */
export function extendVocabulary(base: Vocabulary, additions: readonly VocabularyChangeInput[]): Vocabulary {
  const extended = additions.reduce<Vocabulary>((vocabulary, addition, at) => {
    const read = vocabularyChange.safeParse(addition);
    if (!read.success) {
      const issue = read.error.issues[0];
      const field = issue?.path.join('.') || 'kind';
      throw new VocabularyRefusal(
        'malformed',
        { change: at, field, value: '' },
        issue?.message ?? 'Malformed.',
      );
    }
    return applied(vocabulary, read.data, at);
  }, base);
  const changes = base.changes + additions.length;
  const [root = base.version] = base.version.split('+');
  return { ...extended, changes, version: changes === 0 ? root : `${root}+${changes}` };
}

function applied(vocabulary: Vocabulary, change: VocabularyChange, at: number): Vocabulary {
  switch (change.kind) {
    case 'family-added':
      return familyAdded(vocabulary, change, at);
    case 'word-added':
      return wordAdded(vocabulary, change, at);
    case 'synonym-added':
      mustBeFree(vocabulary, change.synonym, { change: at, field: 'synonym' });
      return withWord(vocabulary, live(vocabulary, change.id, { change: at, field: 'id' }), (word) => ({
        ...word,
        synonyms: [...word.synonyms, change.synonym],
      }));
    case 'simile-added':
      mustBeFree(vocabulary, change.simile, { change: at, field: 'simile' });
      return withWord(vocabulary, live(vocabulary, change.id, { change: at, field: 'id' }), (word) => ({
        ...word,
        similes: [...word.similes, change.simile],
      }));
    case 'reference-added':
      return withWord(vocabulary, live(vocabulary, change.id, { change: at, field: 'id' }), (word) => ({
        ...word,
        ownReferences: [...word.ownReferences, change.reference],
      }));
    case 'words-merged':
      return wordsMerged(vocabulary, change, at);
  }
}

interface Place {
  change: number;
  field: string;
}

type ChangeOf<Kind extends VocabularyChange['kind']> = Extract<VocabularyChange, { kind: Kind }>;

function familyAdded(
  vocabulary: Vocabulary,
  { id, name }: ChangeOf<'family-added'>,
  change: number,
): Vocabulary {
  if (vocabulary.families.some((family) => family.id === id)) {
    throw new VocabularyRefusal(
      'id-taken',
      { change, field: 'id', value: id },
      'There is a family with this id.',
    );
  }
  if (vocabulary.families.some((family) => normalKey(family.name) === normalKey(name))) {
    const place = { change, field: 'name', value: name };
    throw new VocabularyRefusal('name-taken', place, 'There is a family of this name.');
  }
  return { ...vocabulary, families: [...vocabulary.families, { id, name }] };
}

function wordAdded(vocabulary: Vocabulary, added: ChangeOf<'word-added'>, change: number): Vocabulary {
  const { id, family } = added;
  const known = [...vocabulary.words.map((word) => word.id), ...vocabulary.merged.map(({ from }) => from)];
  if (known.includes(id)) {
    throw new VocabularyRefusal(
      'id-taken',
      { change, field: 'id', value: id },
      'There is a word with this id.',
    );
  }
  if (!vocabulary.families.some((one) => one.id === family)) {
    const place = { change, field: 'family', value: family };
    throw new VocabularyRefusal('unknown-family', place, 'There is no such family.');
  }
  mustBeFree(vocabulary, added.word, { change, field: 'word' });
  const word: VocabularyWord = {
    id,
    word: added.word,
    family,
    alsoIn: [],
    kind: added.usually,
    definition: added.definition,
    confusedWith: [],
    causes: [],
    synonyms: [],
    similes: [],
    perceived: added.perceived,
    compounds: [],
    reference: null,
    ownReferences: [],
    thresholds: [],
    drinks: added.drinks,
    sources: [{ what: 'definition', source: 'this panel', fromMemory: false }],
  };
  // One name after the other, so that a list that names one thing twice is refused at its second place.
  const names = [
    ...added.synonyms.map((name, at) => ({ list: 'synonyms' as const, name, field: `synonyms.${at}` })),
    ...added.similes.map((name, at) => ({ list: 'similes' as const, name, field: `similes.${at}` })),
  ];
  return names.reduce<Vocabulary>(
    (grown, { list, name, field }) => {
      mustBeFree(grown, name, { change, field });
      return withWord(grown, id, (one) => ({ ...one, [list]: [...one[list], name] }));
    },
    { ...vocabulary, words: [...vocabulary.words, word] },
  );
}

function wordsMerged(
  vocabulary: Vocabulary,
  { from, into }: ChangeOf<'words-merged'>,
  change: number,
): Vocabulary {
  if (from === into) {
    const place = { change, field: 'into', value: into };
    throw new VocabularyRefusal('merged-into-itself', place, 'A word cannot be merged into itself.');
  }
  if (liveId(vocabulary, into) === from) {
    const place = { change, field: 'into', value: into };
    throw new VocabularyRefusal('merge-circle', place, 'That word was merged into this one before.');
  }
  live(vocabulary, from, { change, field: 'from' });
  live(vocabulary, into, { change, field: 'into' });
  const gone = vocabulary.words.find(({ id }) => id === from);
  if (!gone) return vocabulary;
  // Answers given with the old word stay readable, and who types its names finds the word that took it in.
  const words = vocabulary.words
    .filter(({ id }) => id !== from)
    .map((word) => {
      const confused = word.confusedWith
        .map((id) => (id === from ? into : id))
        .filter((id) => id !== word.id);
      const confusedWith = [...new Set(confused)];
      if (word.id !== into) return { ...word, confusedWith };
      return {
        ...word,
        confusedWith,
        synonyms: [...word.synonyms, gone.word, ...gone.synonyms],
        similes: [...word.similes, ...gone.similes],
        compounds: [...new Set([...word.compounds, ...gone.compounds])],
        ownReferences: [...word.ownReferences, ...gone.ownReferences],
      };
    });
  return { ...vocabulary, words, merged: [...vocabulary.merged, { from, into }] };
}

function withWord(
  vocabulary: Vocabulary,
  id: string,
  changed: (word: VocabularyWord) => VocabularyWord,
): Vocabulary {
  return { ...vocabulary, words: vocabulary.words.map((word) => (word.id === id ? changed(word) : word)) };
}

/** The id, if the word is there and was not merged away. */
function live(vocabulary: Vocabulary, id: string, place: Place): string {
  if (vocabulary.words.some((word) => word.id === id)) return id;
  if (vocabulary.merged.some(({ from }) => from === id)) {
    const into = resolveWord(vocabulary, id)?.word ?? '';
    throw new VocabularyRefusal(
      'merged-away',
      { ...place, value: id },
      `This word was merged into '${into}'.`,
    );
  }
  throw new VocabularyRefusal('unknown-word', { ...place, value: id }, 'There is no such word.');
}

function mustBeFree(vocabulary: Vocabulary, name: string, place: Place): void {
  if (normalKey(name) === '') {
    throw new VocabularyRefusal('malformed', { ...place, value: name }, 'Use letters or digits.');
  }
  const owner = ownerOfName(vocabulary, name);
  if (owner) {
    throw new VocabularyRefusal(
      'name-taken',
      { ...place, value: name },
      `'${owner.word}' has this name already.`,
    );
  }
}
