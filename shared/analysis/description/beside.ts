import type { DescriptionResult } from '../../contracts/result-description.ts';
import { descriptorOverlap } from '../../stats/agreement/descriptor-overlap.ts';
import { penaltyLift, type LiftEstimate } from '../../stats/descriptor/penalty-lift.ts';
import { benjaminiHochberg } from '../../stats/multiplicity.ts';
import { frequentWords } from './map.ts';
import { choicesOf, type DescriptionTable } from './table.ts';
import { LEVEL, type WordsAsked } from './words.ts';
import { inWords, percent } from '../../ground/phrases.ts';

/** A mark of liking (1 to 9) that one person gave to one cup. */
export interface LikingMark {
  assessor: string;
  /** The tray it stood on, and its code there. */
  replicate: number;
  code: string;
  value: number;
}

/**
 * Spellings that differ in case, width, blanks or punctuation at the ends are one word.
 * Example: 'Wet  Wool.' and 'wet wool' both give 'wet wool'.
 */
export function plainWord(typed: string): string {
  return typed
    .normalize('NFKC')
    .toLocaleLowerCase('en')
    .replace(/[\s\p{Z}]+/gu, ' ')
    .replace(/^[\p{P}\p{Z}]+|[\p{P}\p{Z}]+$/gu, '');
}

/** Words of the assessors' own over all cups, alike ones together, the most frequent first. */
export function ownWordsOf({ samples, assessors, cups }: DescriptionTable): DescriptionResult['ownWords'] {
  const found = new Map<
    string,
    { spellings: Map<string, number>; people: Set<string>; perSample: number[] }
  >();
  cups.forEach((row, person) =>
    row.forEach((own, place) => {
      for (const { answer } of own) {
        // Typed twice on one cup is said once.
        const typed = new Map(answer.ownWords.map((text) => [plainWord(text) || text.trim(), text.trim()]));
        for (const [plain, text] of typed) {
          const entry = found.get(plain) ?? {
            spellings: new Map<string, number>(),
            people: new Set<string>(),
            perSample: samples.map(() => 0),
          };
          entry.spellings.set(text, (entry.spellings.get(text) ?? 0) + 1);
          entry.people.add(assessors[person] ?? '');
          entry.perSample[place] = (entry.perSample[place] ?? 0) + 1;
          found.set(plain, entry);
        }
      }
    }),
  );
  return [...found]
    .sort(([one, a], [other, b]) => b.people.size - a.people.size || (one < other ? -1 : 1))
    .map(([, { spellings, people, perSample }]) => ({
      spellings: [...spellings].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1)).map(([text]) => text),
      assessors: people.size,
      perSample,
    }));
}

/** How alike people described two cups of one sample without knowing. Their first two cups of it count. */
export function describedTwice({
  samples,
  assessors,
  cups,
}: DescriptionTable): DescriptionResult['duplicates'] {
  return samples.flatMap(({ key, name }, place) => {
    let both = 0;
    let onlyOne = 0;
    const overlaps: number[] = [];
    let people = 0;
    cups.forEach((row, person) => {
      const [first, second] = (row[place] ?? []).map(({ answer }) => answer.words.map(({ id }) => id));
      if (!first || !second) return;
      people += 1;
      const again = second.filter((id) => first.includes(id)).length;
      both += again;
      onlyOne += first.length + second.length - 2 * again;
      const { overlap } = descriptorOverlap({
        choices: [
          { assessor: `${assessors[person]} first`, sample: key, descriptors: first },
          { assessor: `${assessors[person]} second`, sample: key, descriptors: second },
        ],
      });
      if (overlap !== null) overlaps.push(overlap);
    });
    if (people === 0) return [];
    const overlap =
      overlaps.length === 0 ? null : overlaps.reduce((sum, value) => sum + value, 0) / overlaps.length;
    return [{ sample: key, name, people, both, onlyOne, overlap }];
  });
}

/** How liking goes with the words checked often enough to say it; null without marks on the cups described. */
export function likingOf(
  asked: WordsAsked,
  marks: readonly LikingMark[] | undefined,
): DescriptionResult['liking'] {
  if (!marks || marks.length === 0) return null;
  const { table, alpha } = asked;
  const keyOf = (assessor: string, { replicate, code }: Pick<LikingMark, 'replicate' | 'code'>): string =>
    JSON.stringify([assessor, replicate, code]);
  const given = new Map(marks.map((mark) => [keyOf(mark.assessor, mark), mark.value]));
  const liking = table.cups.map((row, person) =>
    row.map((own) => {
      // The very cup whose words count, or a mark would meet words that were not said of it.
      const cup = own[0];
      return cup ? (given.get(keyOf(table.assessors[person] ?? '', cup)) ?? null) : null;
    }),
  );
  const assessors = liking.filter((row) => row.some((value) => value !== null)).length;
  if (assessors === 0) return null;
  const figures = frequentWords(asked).map(({ id, word }) => {
    const { chosen, notChosen, meanChosen, meanNotChosen, lift, within } = penaltyLift({
      liking,
      chosen: choicesOf(table, id),
      level: LEVEL,
    });
    return { id, word, chosen, notChosen, meanChosen, meanNotChosen, lift: bare(lift), within: bare(within) };
  });
  const { adjusted, tests } = benjaminiHochberg({
    p: figures.map(({ within }) => within.p),
    planned: figures.length,
  });
  const rows = figures
    .map((figure, index) => ({ ...figure, pAdjusted: adjusted[index] ?? null }))
    .sort((a, b) => (a.within.estimate ?? 0) - (b.within.estimate ?? 0) || (a.word < b.word ? -1 : 1));
  const shown = rows.filter(({ pAdjusted }) => pAdjusted !== null && pAdjusted <= alpha).length;
  const which =
    shown === 0
      ? 'no word was shown to go with liking'
      : `${inWords(shown)} ${shown === 1 ? 'word goes' : 'words go'} with liking at alpha ${alpha}`;
  return {
    tests,
    assessors,
    rows,
    reading:
      `Of ${tests} words checked often enough, ${which} (adjusted p, within assessors, ${percent(LEVEL)} intervals). ` +
      'Exploratory: a word may stand for the sample it came with, and need not be the cause.',
  };
}

function bare({ estimate, lower, upper, p }: LiftEstimate): {
  estimate: number | null;
  lower: number | null;
  upper: number | null;
  p: number | null;
} {
  return { estimate, lower, upper, p };
}
