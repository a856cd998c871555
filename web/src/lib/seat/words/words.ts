import type { Word } from '@oddglass/shared/contracts/seat.ts';
import type { DraftOf } from '#lib/seat/tray/draft.ts';

/** Words chosen after a choice, at most; words checked for one cup, at most; words of one's own, at most. */
export const CHOICE_WORDS = 12;
export const CHECKED_WORDS = 60;
export const OWN_WORDS = 6;
export const OWN_WORD_LENGTH = 40;

/** Words by family; families and words keep the order given to this seat. */
export function byFamily(words: readonly Word[]): { family: string; words: Word[] }[] {
  const families = new Map<string, Word[]>();
  for (const word of words) families.set(word.family, [...(families.get(word.family) ?? []), word]);
  return [...families].map(([family, members]) => ({ family, words: members }));
}

/** Words this part offers, in the order of the seat; all of them when it names none. */
export function offered(words: readonly Word[], ids: readonly string[] | null): Word[] {
  if (ids === null) return [...words];
  const named = new Set(ids);
  return words.filter(({ id }) => named.has(id));
}

/** Chooses a word or takes it back; one beyond the limit is not taken. */
export function toggleWord(chosen: readonly string[], word: string): string[] {
  if (chosen.includes(word)) return chosen.filter((other) => other !== word);
  return chosen.length < CHOICE_WORDS ? [...chosen, word] : [...chosen];
}

type Description = DraftOf<'description'>;

/** Checks a word for the cup in hand, or takes it back. Checking any word takes 'none' back. */
export function toggleChecked(answer: Description, id: string): Description {
  if (answer.words.some((word) => word.id === id)) {
    return { ...answer, words: answer.words.filter((word) => word.id !== id) };
  }
  if (answer.words.length >= CHECKED_WORDS) return answer;
  return { ...answer, none: false, words: [...answer.words, { id, intensity: null }] };
}

/** Says that a word is there at the late question, or takes it back. Any word takes 'none' back. */
export function toggleLate(answer: DraftOf<'late'>, id: string): DraftOf<'late'> {
  return answer.words.includes(id)
    ? { ...answer, words: answer.words.filter((word) => word !== id) }
    : { ...answer, none: false, words: [...answer.words, id] };
}

export type Intensity = 1 | 2 | 3;
export const INTENSITIES: readonly { value: Intensity; word: string }[] = [
  { value: 1, word: 'faint' },
  { value: 2, word: 'clear' },
  { value: 3, word: 'strong' },
];

/** Says how strong a checked word is. */
export function setIntensity(answer: Description, id: string, intensity: Intensity): Description {
  return {
    ...answer,
    words: answer.words.map((word) => (word.id === id ? { ...word, intensity } : word)),
  };
}

/** A word of one's own: once, not too long, six at most. */
export function addOwnWord(answer: Description, typed: string): Description {
  const word = typed.trim().normalize().replace(/\s+/g, ' ').slice(0, OWN_WORD_LENGTH).trim();
  const there = answer.ownWords.some((other) => same(other, word));
  if (word === '' || there || answer.ownWords.length >= OWN_WORDS) return answer;
  return { ...answer, none: false, ownWords: [...answer.ownWords, word] };
}

export function removeOwnWord(answer: Description, word: string): Description {
  return { ...answer, ownWords: answer.ownWords.filter((other) => other !== word) };
}

const same = (a: string, b: string): boolean => a.toLocaleLowerCase('en') === b.toLocaleLowerCase('en');
