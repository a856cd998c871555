import type { Answer, BallotInput, DescriptionAnswer } from '../contracts/ballot.ts';
import type { Word } from '../contracts/seat.ts';
import { choiceOf, isChoiceKind } from '../kinds/kinds.ts';
import { indexSeatWords, placeFreeWord } from '../vocabulary/search.ts';
import { BLANK, CANNOT } from './field.ts';
import { marksOf, wordsMeant, type PaperForm, type PaperQuestion } from './form.ts';
import { CONFIDENCE_STEPS, SWALLOWING_STEPS } from './steps.ts';

/** What was typed from a ballot, by the ids of its places, each in the spelling in which it is kept. */
export type PaperValues = Readonly<Record<string, string>>;

/** One sheet as a ballot on paper answers it. */
export type PaperAnswer = Pick<BallotInput, 'trayId' | 'part' | 'sheet' | 'answer' | 'comment'> & {
  swallowing: NonNullable<BallotInput['swallowing']> | null;
};

/**
 * The answers of a ballot, sheet by sheet, in the form that tablets send; sheets on which nothing was marked are left out.
 *
 * @param words of the seat, to read written words by
 */
export function paperAnswers(form: PaperForm, values: PaperValues, words: readonly Word[]): PaperAnswer[] {
  const answered = form.questions.flatMap((question): PaperAnswer[] => {
    const said = answerOf(question, values, words);
    if (said === null) return [];
    const { tray, sheet } = question;
    const { part, sheet: number } = sheet;
    return [
      { trayId: tray.id, part, sheet: number, answer: said.answer, comment: said.comment, swallowing: null },
    ];
  });
  // It goes with the last sheet of the tray, as on a tablet.
  for (const [trayId, { id }] of form.ofTrays) {
    const last = answered.findLast((one) => one.trayId === trayId);
    const told = SWALLOWING_STEPS[Number(values[id]) - 1];
    if (last && told) last.swallowing = told.step;
  }
  return answered;
}

interface Said {
  answer: Answer;
  comment: string;
}

function answerOf(question: PaperQuestion, values: PaperValues, words: readonly Word[]): Said | null {
  const { part, sheet, fields } = question;
  const at = (name: string): string => {
    const field = fields.find(({ id }) => id.endsWith(`.${name}`));
    return field ? (values[field.id] ?? '') : '';
  };
  const comment = at('note');
  if (isChoiceKind(part)) return choiceSaid(question, at, words);
  switch (part.kind) {
    case 'ranking': {
      const places = at('order');
      if (isBlank(places)) return null;
      const ranks = places.split(' ').map(Number);
      const order = ranks.map((_, place) => sheet.codes[ranks.indexOf(place + 1)] ?? '');
      return { answer: { kind: 'ranking', order }, comment };
    }
    case 'rating': {
      const marks = marksOf(sheet).map((mark, index) => ({ ...mark, typed: at(`m${index + 1}`) }));
      if (marks.every(({ typed }) => isBlank(typed))) return null;
      return {
        answer: {
          kind: 'rating',
          marks: marks.map(({ typed, ...mark }) => ({ ...mark, value: numberOrNull(typed) })),
        },
        comment,
      };
    }
    case 'description':
      return sheet.late ? lateSaid(question, at('late')) : describedSaid(question, at, words);
    case 'control': {
      const degree = at('degree');
      return isBlank(degree)
        ? null
        : { answer: { kind: 'control', degree: numberOrNull(degree) }, comment: '' };
    }
    case 'liking': {
      const value = at('liking');
      return isBlank(value) ? null : { answer: { kind: 'liking', value: numberOrNull(value) }, comment: '' };
    }
  }
}

const isBlank = (typed: string): boolean => typed === '' || typed === BLANK;
const numberOrNull = (typed: string): number | null =>
  isBlank(typed) || typed === CANNOT ? null : Number(typed);
const listOf = (typed: string): string[] => (isBlank(typed) || typed === '0' ? [] : typed.split(', '));

/** Words as written: those the list has, and those it has not. */
function readWords(
  typed: string,
  words: readonly Word[],
  strength: boolean,
): { known: DescriptionAnswer['words']; own: string[] } {
  const index = indexSeatWords(words);
  const known = new Map<string, DescriptionAnswer['words'][number]>();
  const own: string[] = [];
  for (const one of listOf(typed)) {
    const [, text = one, strong] = strength ? (/^(.*?)(?: ([123]))?$/.exec(one) ?? []) : [one, one];
    const found = placeFreeWord(index, text);
    if (!found) own.push(text);
    else if (!known.has(found.id)) known.set(found.id, { id: found.id, intensity: strengthOf(strong) });
  }
  return { known: [...known.values()], own };
}

function strengthOf(typed: string | undefined): 1 | 2 | 3 | null {
  switch (typed) {
    case '1':
      return 1;
    case '2':
      return 2;
    case '3':
      return 3;
    default:
      return null;
  }
}

/** Codes of the cups that were named; null where the paper has nothing. */
function chosenOf({ part, sheet }: PaperQuestion, at: (name: string) => string): string[] | null {
  if (part.kind === 'same-different') {
    const said = at('said');
    if (isBlank(said)) return null;
    const named = choiceOf(part).places[Number(said) - 1]?.cups ?? [];
    return named.map((cup) => sheet.codes[cup] ?? '');
  }
  const cups = at('cups');
  if (isBlank(cups)) return null;
  return cups === '0' ? [] : cups.split(' ');
}

function choiceSaid(
  question: PaperQuestion,
  at: (name: string) => string,
  words: readonly Word[],
): Said | null {
  const chosen = chosenOf(question, at);
  if (chosen === null) return null;
  const { known, own } = readWords(at('why'), wordsMeant(question, words), false);
  return {
    answer: {
      kind: 'choice',
      chosen,
      confidence: CONFIDENCE_STEPS[Number(at('sure')) - 1]?.step ?? null,
      descriptors: known.map(({ id }) => id),
    },
    // What the list has no word for is kept as it was written.
    comment: [at('note'), ...own].filter((text) => text !== '').join('; '),
  };
}

function describedSaid(
  question: PaperQuestion,
  at: (name: string) => string,
  words: readonly Word[],
): Said | null {
  const { part } = question;
  const strength = part.kind === 'description' && part.intensity;
  const ticks = at('words');
  const typed = [at('written'), at('own')].filter((text) => !isBlank(text) && text !== '0');
  const ticked = isBlank(ticks) || ticks === '0' ? [] : ticks.split(' ');
  const { known, own } = readWords(typed.join(', '), wordsMeant(question, words), strength);
  const checked = ticked.flatMap((one): DescriptionAnswer['words'] => {
    const [number, strong] = one.split('.');
    const word = question.words[Number(number) - 1];
    return word ? [{ id: word.id, intensity: strengthOf(strong) }] : [];
  });
  const both = [...checked, ...known.filter(({ id }) => checked.every((one) => one.id !== id))];
  const none = both.length + own.length === 0;
  if (none && ticks !== '0' && at('written') !== '0') return null;
  return { answer: { kind: 'description', words: both, ownWords: own, none }, comment: '' };
}

function lateSaid(question: PaperQuestion, typed: string): Said | null {
  if (isBlank(typed)) return null;
  const ids =
    typed === '0' ? [] : typed.split(' ').map((number) => question.words[Number(number) - 1]?.id ?? '');
  return { answer: { kind: 'late', words: ids, none: ids.length === 0 }, comment: '' };
}
