import {
  ballotInput,
  checkedWord,
  confidence,
  swallowing,
  type Answer,
  type BallotInput,
} from '@oddglass/shared/contracts/ballot.ts';
import { code, id } from '@oddglass/shared/contracts/common.ts';
import type { PartAtSeat } from '@oddglass/shared/contracts/seat.ts';
import { choiceOf, isChoiceKind, kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { z } from 'zod';
import type { Asked } from './sheets.ts';

export const COMMENT_LIMIT = 500;

/** starting: a later part on the same cups is announced. The rest as the host hears it. */
export const sheetStep = z.enum(['starting', 'tasting', 'choosing', 'answering', 'describing', 'reviewing']);
export type SheetStep = z.infer<typeof sheetStep>;

/** Null: nothing said yet. A value of null: 'I cannot say', said on purpose. */
const said = z.object({ value: z.number().nullable() }).nullable();

/** An answer being made: as in a ballot, except that everything may still be missing. */
export const draftAnswer = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('choice'),
    chosen: z.array(code).max(2),
    /** 'No preference', or 'the same', said on purpose. */
    none: z.boolean(),
    confidence: confidence.nullable(),
    descriptors: z.array(z.string()),
  }),
  z.object({ kind: z.literal('ranking'), order: z.array(code) }),
  /** Holds only what was marked; an untouched line is not in it. */
  z.object({
    kind: z.literal('rating'),
    marks: z.array(z.object({ code, attributeId: z.string(), value: z.number().nullable() })),
  }),
  z.object({
    kind: z.literal('description'),
    words: z.array(checkedWord),
    ownWords: z.array(z.string()),
    none: z.boolean(),
  }),
  z.object({ kind: z.literal('late'), words: z.array(z.string()), none: z.boolean() }),
  z.object({ kind: z.literal('control'), said }),
  z.object({ kind: z.literal('liking'), said }),
]);
export type DraftAnswer = z.infer<typeof draftAnswer>;
export type DraftOf<Kind extends DraftAnswer['kind']> = Extract<DraftAnswer, { kind: Kind }>;

/** The draft of one sheet: nothing in it is chosen until the assessor chooses. The ballot's id is made once. */
export const draft = z.object({
  ballotId: id,
  trayId: id,
  trayNumber: z.number().int(),
  part: z.number().int(),
  sheet: z.number().int(),
  step: sheetStep,
  /** Position of the cup in hand on the tray. */
  position: z.number().int().min(1).max(16),
  answer: draftAnswer,
  comment: z.string(),
  /** Asked with the last sheet of a tray. Drafts kept from before know nothing of it. */
  swallowing: swallowing.nullable().default(null),
  /** When the wait before a late question ends, by this device's clock, ms; null for every other sheet. */
  waitEnds: z.number().nullable().default(null),
});
export type Draft = z.infer<typeof draft>;

export function emptyAnswer({ part, sheet }: Pick<Asked, 'part' | 'sheet'>): DraftAnswer {
  if (sheet.late) return { kind: 'late', words: [], none: false };
  const { answer: kind } = kindOf(part);
  switch (kind) {
    case 'choice':
      return { kind, chosen: [], none: false, confidence: null, descriptors: [] };
    case 'ranking':
      return { kind, order: [] };
    case 'rating':
      return { kind, marks: [] };
    case 'description':
      return { kind, words: [], ownWords: [], none: false };
    case 'late':
      return { kind, words: [], none: false };
    case 'control':
    case 'liking':
      return { kind, said: null };
  }
}

/** What of a kept answer still belongs to this sheet: cups that are not on it are dropped. */
export function fitting(answer: DraftAnswer, asked: Asked): DraftAnswer {
  const { sheet } = asked;
  const empty = emptyAnswer(asked);
  if (answer.kind !== empty.kind) return empty;
  const on = (cup: string): boolean => sheet.codes.includes(cup);
  switch (answer.kind) {
    case 'choice':
      return { ...answer, chosen: answer.chosen.filter(on) };
    case 'ranking':
      return { ...answer, order: answer.order.filter(on) };
    case 'rating':
      return {
        ...answer,
        marks: answer.marks.filter((mark) => on(mark.code) && sheet.attributeIds.includes(mark.attributeId)),
      };
    case 'description':
    case 'late':
    case 'control':
    case 'liking':
      return answer;
  }
}

/** The choice of a choice sheet, without the words after it. */
export function isChosen(answer: DraftOf<'choice'>, part: PartAtSeat): boolean {
  if (!isChoiceKind(part)) return false;
  const { picks, asksWhy } = choiceOf(part);
  const { least, most } = picks(part);
  const named = answer.chosen.length === most || (answer.none && least === 0);
  return named && (!asksWhy || answer.confidence !== null);
}

/** Marks a rating sheet still lacks: one for each cup and attribute of it. */
export function missingMarks(
  answer: DraftOf<'rating'>,
  sheet: Asked['sheet'],
): { code: string; attributeId: string }[] {
  return sheet.codes.flatMap((cup) =>
    sheet.attributeIds
      .filter(
        (attributeId) => !answer.marks.some((mark) => mark.code === cup && mark.attributeId === attributeId),
      )
      .map((attributeId) => ({ code: cup, attributeId })),
  );
}

/** Is the answer whole, as far as this step asks for it? Words come after the choice. */
export function isAnswered(answer: DraftAnswer, { sheet, part }: Asked): boolean {
  switch (answer.kind) {
    case 'choice':
      return isChosen(answer, part);
    case 'ranking':
      return answer.order.length === sheet.codes.length;
    case 'rating':
      return missingMarks(answer, sheet).length === 0;
    case 'description':
      return (
        (answer.none || answer.words.length + answer.ownWords.length > 0) &&
        wordsWithoutStrength(answer, part).length === 0
      );
    case 'late':
      return answer.none || answer.words.length > 0;
    case 'control':
    case 'liking':
      return answer.said !== null;
  }
}

/** Checked words whose strength is asked and not said yet. */
export function wordsWithoutStrength(answer: DraftOf<'description'>, part: PartAtSeat): string[] {
  if (part.kind !== 'description' || !part.intensity) return [];
  return answer.words.filter(({ intensity }) => intensity === null).map(({ id: word }) => word);
}

/** Has the assessor put anything into it? */
export function isTouched({ answer, comment }: Draft): boolean {
  if (comment.trim() !== '') return true;
  switch (answer.kind) {
    case 'choice':
      return answer.chosen.length > 0 || answer.none;
    case 'ranking':
      return answer.order.length > 0;
    case 'rating':
      return answer.marks.length > 0;
    case 'description':
      return answer.none || answer.words.length + answer.ownWords.length > 0;
    case 'late':
      return answer.none || answer.words.length > 0;
    case 'control':
    case 'liking':
      return answer.said !== null;
  }
}

/** Length as the server counts it: trimmed and composed. */
export const commentLength = (comment: string): number => comment.trim().normalize().length;

function answerOf(answer: DraftAnswer, { sheet, part }: Asked): Answer | null {
  switch (answer.kind) {
    case 'choice': {
      const { chosen, confidence: sure, descriptors } = answer;
      const { asksWhy } = isChoiceKind(part) ? choiceOf(part) : { asksWhy: false };
      return {
        kind: 'choice',
        chosen,
        confidence: asksWhy ? sure : null,
        descriptors: asksWhy ? descriptors : [],
      };
    }
    case 'rating':
      // In the order of the sheet, whatever was marked first.
      return {
        kind: 'rating',
        marks: sheet.codes.flatMap((cup) =>
          sheet.attributeIds.flatMap((attributeId) =>
            answer.marks.filter((mark) => mark.code === cup && mark.attributeId === attributeId),
          ),
        ),
      };
    case 'control':
      return answer.said && { kind: 'control', degree: answer.said.value };
    case 'liking':
      return answer.said && { kind: 'liking', value: answer.said.value };
    case 'ranking':
    case 'description':
    case 'late':
      return answer;
  }
}

const looseBallot = (current: Draft, asked: Asked) => ({
  id: current.ballotId,
  trayId: current.trayId,
  part: current.part,
  sheet: current.sheet,
  answer: answerOf(current.answer, asked),
  comment: current.comment,
  ...(current.swallowing && { swallowing: current.swallowing }),
});

/** Could this draft be sent as it is? */
export function isSendable(current: Draft, asked: Asked): boolean {
  return isAnswered(current.answer, asked) && ballotInput.safeParse(looseBallot(current, asked)).success;
}

/** The ballot of a finished draft, in the form the server will store. Throws when something is missing. */
export function toBallot(current: Draft, asked: Asked): BallotInput {
  if (!isAnswered(current.answer, asked)) throw new Error('Something of this sheet has no answer yet.');
  return ballotInput.parse(looseBallot(current, asked));
}
