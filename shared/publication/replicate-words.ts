import type { ProtocolSession, ProtocolWord } from '../contracts/protocol.ts';
import type { Vocabulary, VocabularyChangeInput } from '../contracts/vocabulary.ts';
import { ownerOfName, resolveWord } from '../vocabulary/panel-vocabulary.ts';
import type { WordIds } from './replicate.ts';

/** What a panel's vocabulary needs before it can offer the words of a protocol. */
export interface WordsNeeded {
  /** Changes to make, in order. */
  changes: VocabularyChangeInput[];
  /** Words that the panel has under another id, by the id of the original. */
  ids: WordIds;
  /** Words that are told otherwise here, by name. */
  otherwise: string[];
}

/**
 * Words that the panel has not are added as the original had them; those it has, by id or by name, are taken as they stand.
 * A definition that differs is told, since the same word would be asked about something else.
 */
export function wordsNeeded({ parts }: ProtocolSession, vocabulary: Vocabulary): WordsNeeded {
  const offered = parts.flatMap((part) => (part.kind === 'description' ? (part.words ?? []) : []));
  const changes: VocabularyChangeInput[] = [];
  const ids = new Map<string, string>();
  const otherwise = new Set<string>();
  const families = new Map(vocabulary.families.map(({ id, name }) => [name, id]));
  for (const word of new Map(offered.map((one) => [one.id, one])).values()) {
    const known = sameName(word, vocabulary) ?? ownerOfName(vocabulary, word.word);
    if (known) {
      if (known.id !== word.id) ids.set(word.id, known.id);
      if (word.definition !== null && known.definition !== word.definition) otherwise.add(word.word);
      continue;
    }
    // Another word has this id here.
    const id = resolveWord(vocabulary, word.id) ? `${word.id}-again`.slice(0, 60) : word.id;
    if (id !== word.id) ids.set(word.id, id);
    const name = word.family === '' ? 'Of another panel' : word.family;
    let family = families.get(name);
    if (family === undefined) {
      family = freeFamily(vocabulary, families.size);
      families.set(name, family);
      changes.push({ kind: 'family-added', id: family, name });
    }
    changes.push({
      kind: 'word-added',
      id,
      word: word.word,
      family,
      usually: 'depends',
      definition: word.definition ?? 'As another panel had it, who did not tell how they defined it.',
    });
  }
  return { changes, ids, otherwise: [...otherwise] };
}

function sameName(
  { id, word }: ProtocolWord,
  vocabulary: Vocabulary,
): Vocabulary['words'][number] | undefined {
  const known = resolveWord(vocabulary, id);
  return known?.word.toLocaleLowerCase('en') === word.toLocaleLowerCase('en') ? known : undefined;
}

function freeFamily({ families }: Vocabulary, from: number): string {
  const taken = new Set(families.map(({ id }) => id));
  for (let at = from; ; at += 1) if (!taken.has(`brought-${at}`)) return `brought-${at}`;
}
