import type { Answer, DescriptionAnswer } from '../../contracts/ballot.ts';
import type { DescriptionPart } from '../../contracts/part.ts';
import { comparedSamples, type ComparedSamples } from '../common/compared-samples.ts';
import type { PartInput } from '../common/served.ts';

/** One cup that somebody described. */
export interface DescribedCup {
  /** The tray it stood on, and its code there. */
  replicate: number;
  code: string;
  answer: DescriptionAnswer;
}

export interface DescriptionTable extends ComparedSamples {
  /** People with an answer for a sample that is compared, in a fixed order. */
  assessors: string[];
  /** Per person and sample, the cups of it they answered, in the order served. */
  cups: DescribedCup[][][];
  comments: { place: number; text: string }[];
}

/**
 * The answers of a description, person by sample. A sample that somebody had twice (hidden duplicate, repeated tray) stands
 * with both cups in the order served; figures per person take the first that was answered, because two cups would give a
 * sample two chances to be given a word. Errors: RangeError for an answer of another kind or a code without a cup.
 */
export function descriptionTable(input: PartInput<DescriptionPart>): DescriptionTable {
  return tableOf(input, (answer) => {
    if (answer.kind === 'description') return answer;
    if (answer.kind === 'late') return null;
    throw new RangeError(`a description is answered, not ${answer.kind}`);
  });
}

/** The answers to the late question, in the same form: words that are there then, without strength or words of one's own. */
export function lateTable(input: PartInput<DescriptionPart>): DescriptionTable {
  return tableOf(input, (answer) =>
    answer.kind === 'late'
      ? {
          kind: 'description',
          words: answer.words.map((id) => ({ id, intensity: null })),
          ownWords: [],
          none: answer.none,
        }
      : null,
  );
}

function tableOf(
  { samples, trays }: PartInput<DescriptionPart>,
  read: (answer: Answer) => DescriptionAnswer | null,
): DescriptionTable {
  const compared = comparedSamples(samples, trays);
  const rows = new Map<string, DescribedCup[][]>();
  const comments: DescriptionTable['comments'] = [];
  const inOrder = trays.toSorted(
    (a, b) => (a.assessor < b.assessor ? -1 : Number(a.assessor > b.assessor)) || a.replicate - b.replicate,
  );
  for (const { assessor, replicate, cups, sheets } of inOrder) {
    const asked = sheets.flatMap(({ codes, answer: given, comment }) => {
      const answer = given && read(given);
      if (!answer) return [];
      const cup = cups.find(({ code }) => code === codes[0]);
      if (!cup) throw new RangeError('a sheet asks about a cup that is not on its tray');
      return [{ cup, answer, comment }];
    });
    for (const { cup, answer, comment } of asked.sort((a, b) => a.cup.position - b.cup.position)) {
      const place = compared.placeOf(cup.sample);
      if (place === null) continue;
      const row = rows.get(assessor) ?? compared.samples.map(() => []);
      rows.set(assessor, row);
      row[place]?.push({ replicate, code: cup.code, answer });
      if (comment !== '') comments.push({ place, text: comment });
    }
  }
  return {
    ...compared,
    assessors: [...rows.keys()],
    cups: [...rows.values()],
    // By wording, so that the order of rows tells nothing about seats.
    comments: comments.sort((a, b) => a.place - b.place || (a.text < b.text ? -1 : 1)),
  };
}

/** The answer that counts for a person and sample: of the first cup; undefined when there is none. */
export function firstAnswer(cups: readonly DescribedCup[] | undefined): DescriptionAnswer | undefined {
  return cups?.[0]?.answer;
}

/** 1 where a person's first cup of a sample was given the word, 0 where not, null where there is no answer. */
export function choicesOf({ cups }: DescriptionTable, word: string): (0 | 1 | null)[][] {
  return cups.map((row) =>
    row.map((own) => {
      const answer = firstAnswer(own);
      if (!answer) return null;
      return answer.words.some(({ id }) => id === word) ? 1 : 0;
    }),
  );
}
