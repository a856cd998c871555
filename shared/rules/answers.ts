import type {
  Answer,
  BallotInput,
  ChoiceAnswer,
  DescriptionAnswer,
  RatingAnswer,
} from '../contracts/ballot.ts';
import type { ChoicePart, Part } from '../contracts/part.ts';
import { choiceOf, kindOf } from '../kinds/kinds.ts';
import { isChoice } from '../contracts/part-fit.ts';
import { lateOf, type Sheet } from './parts.ts';

export interface AnswerError {
  /** JSON pointer below `#/answer`, '' for the answer as a whole. */
  pointer: string;
  detail: string;
  /** The code named is on no cup that is asked about. */
  strangeCup?: true;
}

/** What keeps an answer from being an answer to this sheet; an empty list takes it in. */
export function answerErrors({
  part,
  sheet,
  answer,
  knowsWord,
  paper = false,
}: {
  part: Part;
  sheet: Sheet;
  answer: Answer;
  knowsWord: (id: string) => boolean;
  /** It came from paper, where nobody insists: how sure and how strong may be missing. */
  paper?: boolean;
}): AnswerError[] {
  const late = sheet.late ? lateOf(part) : null;
  const wanted = late ? 'late' : kindOf(part).answer;
  if (answer.kind !== wanted) return [{ pointer: '/kind', detail: `This sheet asks for a ${wanted}.` }];
  switch (answer.kind) {
    case 'choice':
      return isChoice(part) ? troublesOfChoice(part, sheet, answer, { knowsWord, paper }) : [];
    case 'ranking': {
      const strange = answer.order.findIndex((code) => !sheet.codes.includes(code));
      if (strange >= 0) return [strangeCup(`/order/${strange}`, answer.order[strange] ?? '')];
      return answer.order.length === sheet.codes.length
        ? []
        : [{ pointer: '/order', detail: 'Give every cup its place.' }];
    }
    case 'rating':
      return part.kind === 'rating' ? troublesOfRating(part.scale, sheet, answer) : [];
    case 'description':
      return part.kind === 'description' ? troublesOfDescription(part, answer, { knowsWord, paper }) : [];
    case 'late':
      return answer.words.flatMap((id, at) =>
        late?.words.includes(id) ? [] : [{ pointer: `/words/${at}`, detail: `It is not asked for '${id}'.` }],
      );
    case 'control':
      return part.kind === 'control' && (answer.degree ?? 0) >= part.degrees.length
        ? [{ pointer: '/degree', detail: `The scale ends at ${part.degrees.length - 1}.` }]
        : [];
    case 'liking':
      return [];
  }
}

const strangeCup = (pointer: string, code: string): AnswerError => ({
  pointer,
  detail: `There is no cup ${code} to choose on this tray.`,
  strangeCup: true,
});

interface Leave {
  knowsWord: (id: string) => boolean;
  paper: boolean;
}

function troublesOfChoice(
  part: ChoicePart,
  sheet: Sheet,
  { chosen, confidence, descriptors }: ChoiceAnswer,
  { knowsWord, paper }: Leave,
): AnswerError[] {
  const { picks, asksWhy, places } = choiceOf(part);
  const { least, most } = picks(part);
  const errors = chosen.flatMap((code, at) =>
    sheet.codes.includes(code) ? [] : [strangeCup(`/chosen/${at}`, code)],
  );
  if (chosen.length < least || chosen.length > most) {
    const detail = most === 2 ? 'Choose two cups.' : 'Choose one cup.';
    errors.push({ pointer: '/chosen', detail });
  } else if (most === 2 && chosen.length === 1 && !places.some(({ cups }) => cups.length === 1)) {
    errors.push({ pointer: '/chosen', detail: 'Name both cups, or none for the same.' });
  }
  if (!asksWhy) {
    if (confidence !== null) errors.push({ pointer: '/confidence', detail: 'It is not asked for here.' });
  } else if (confidence === null && !paper) {
    errors.push({ pointer: '/confidence', detail: 'Say how sure you are.' });
  }
  descriptors.forEach((id, at) => {
    if (!knowsWord(id)) errors.push(unknownWord(`/descriptors/${at}`, id));
  });
  return errors;
}

const unknownWord = (pointer: string, id: string): AnswerError => ({
  pointer,
  detail: `The vocabulary has no word '${id}'.`,
});

function troublesOfRating(
  scale: 'line' | 'nine-point',
  sheet: Sheet,
  { marks }: RatingAnswer,
): AnswerError[] {
  const errors: AnswerError[] = [];
  const seen = new Set<string>();
  marks.forEach(({ code, attributeId, value }, at) => {
    if (!sheet.codes.includes(code)) errors.push(strangeCup(`/marks/${at}/code`, code));
    if (!sheet.attributeIds.includes(attributeId)) {
      errors.push({ pointer: `/marks/${at}/attributeId`, detail: 'This sheet does not ask for it.' });
    }
    const key = `${code} ${attributeId}`;
    if (seen.has(key)) errors.push({ pointer: `/marks/${at}`, detail: 'This mark is given twice.' });
    seen.add(key);
    if (scale === 'nine-point' && value !== null && !(Number.isInteger(value) && value >= 1 && value <= 9)) {
      errors.push({ pointer: `/marks/${at}/value`, detail: 'A whole number from 1 to 9.' });
    }
  });
  if (errors.length === 0 && seen.size !== sheet.codes.length * sheet.attributeIds.length) {
    errors.push({
      pointer: '/marks',
      detail: 'Mark everything on this sheet, or say that you cannot tell.',
    });
  }
  return errors;
}

function troublesOfDescription(
  part: { words: string[] | null; intensity: boolean },
  { words }: DescriptionAnswer,
  { knowsWord, paper }: Leave,
): AnswerError[] {
  return words.flatMap(({ id, intensity }, at) => {
    if (!knowsWord(id) || (part.words !== null && !part.words.includes(id))) {
      return [unknownWord(`/words/${at}/id`, id)];
    }
    if (part.intensity === (intensity === null) && !(paper && intensity === null)) {
      const detail = part.intensity ? 'Say how strong it is.' : 'Strength is not asked for here.';
      return [{ pointer: `/words/${at}/intensity`, detail }];
    }
    return [];
  });
}

/** Is this the answer that is stored already? Order of words, marks and of a pair of cups says nothing. */
export function sameBallot(
  a: Pick<BallotInput, 'answer' | 'comment' | 'part' | 'sheet' | 'trayId'>,
  b: Pick<BallotInput, 'answer' | 'comment' | 'part' | 'sheet' | 'trayId'>,
): boolean {
  return (
    a.trayId === b.trayId &&
    a.part === b.part &&
    a.sheet === b.sheet &&
    a.comment === b.comment &&
    JSON.stringify(plain(a.answer)) === JSON.stringify(plain(b.answer))
  );
}

function plain(answer: Answer): unknown {
  switch (answer.kind) {
    case 'choice':
      return ['choice', [...answer.chosen].sort(), answer.confidence, [...answer.descriptors].sort()];
    case 'ranking':
      return ['ranking', answer.order];
    case 'rating':
      return [
        'rating',
        answer.marks
          .map(({ code, attributeId, value }) => [`${code} ${attributeId}`, value] as const)
          .sort(([x], [y]) => (x < y ? -1 : 1)),
      ];
    case 'description':
      return [
        'description',
        answer.words.map(({ id, intensity }) => `${id} ${intensity}`).sort(),
        [...answer.ownWords].sort(),
        answer.none,
      ];
    case 'late':
      return ['late', [...answer.words].sort(), answer.none];
    case 'control':
      return ['control', answer.degree];
    case 'liking':
      return ['liking', answer.value];
  }
}
