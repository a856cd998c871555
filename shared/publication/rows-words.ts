import type { SessionInput } from '../analysis/analyse.ts';
import type { Answer } from '../contracts/ballot.ts';
import type { Part } from '../contracts/part.ts';
import { lateOf, lateWord } from '../rules/parts.ts';
import { MIN_GIVERS, type Protections } from './disclosure.ts';

/** Words of each part by how many people gave them. */
export interface GivenWords {
  /** Words of a part (from 1) that fewer than three people gave; those of a late question as `lateWord` names them. */
  rareIn(part: number): ReadonlySet<string>;
  /** Would 'another word' itself point to fewer than three people of the part? */
  hidesRareIn(part: number): boolean;
  /** Words rare in some part, each once. */
  rare: ReadonlySet<string>;
}

/** Counts the people behind every word of a session; words are taken as they are shown. */
export function givenWords(input: SessionInput, { rareWords }: Pick<Protections, 'rareWords'>): GivenWords {
  const names = new Map(input.words.map(([id, { word }]) => [id, word]));
  const wordsIn = (answer: Answer, part: Part | undefined): string[] => {
    const nameOf = (id: string): string => names.get(id) ?? id;
    if (answer.kind === 'choice') return answer.descriptors.map(nameOf);
    if (answer.kind === 'description') return answer.words.map(({ id }) => nameOf(id));
    const late = answer.kind === 'late' && part ? lateOf(part) : null;
    // Whoever said a word at first need not have said it late, so that it is another word there.
    return answer.kind === 'late' && late ? answer.words.map((id) => lateWord(nameOf(id), late)) : [];
  };
  const givers = new Map<number, Map<string, Set<string>>>();
  for (const { assessor, ballots } of input.trays) {
    for (const { part, answer } of ballots) {
      const words = givers.get(part) ?? new Map<string, Set<string>>();
      givers.set(part, words);
      for (const word of wordsIn(answer, input.settings.parts[part - 1])) {
        words.set(word, (words.get(word) ?? new Set()).add(assessor));
      }
    }
  }
  const rareOf = new Map<number, Set<string>>();
  const hides = new Set<number>();
  if (rareWords) {
    for (const [part, words] of givers) {
      const few = [...words].filter(([, people]) => people.size < MIN_GIVERS);
      rareOf.set(part, new Set(few.map(([word]) => word)));
      const behind = new Set(few.flatMap(([, people]) => [...people]));
      if (behind.size < MIN_GIVERS) hides.add(part);
    }
  }
  const none: ReadonlySet<string> = new Set();
  return {
    rareIn: (part) => rareOf.get(part) ?? none,
    hidesRareIn: (part) => hides.has(part),
    rare: new Set([...rareOf.values()].flatMap((words) => [...words])),
  };
}
