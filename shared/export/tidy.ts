import type { Answer } from '../contracts/ballot.ts';
import type { Part } from '../contracts/part.ts';
import { choiceOf } from '../kinds/kinds.ts';
import { isChoice } from '../contracts/part-fit.ts';
import { cupsIndex, lateOf, lateWord, sheetsOfTray } from '../rules/parts.ts';
import type { AnsweredTray, SessionInput } from '../analysis/analyse.ts';

/** One observation: what one person said of one cup (or of one tray) in answer to one question. */
export interface TidyRow {
  part: number;
  kind: Part['kind'];
  /** Label of the person, the same through the session. It is drawn anew and says nothing about seats. */
  assessor: string;
  /** How often the person had such a tray, from 1. */
  replicate: number;
  /** Place of the cup on its tray, left to right, from 1; null for what is said of a whole tray. */
  position: number | null;
  sample: string | null;
  arm: string | null;
  role: string | null;
  /** Attribute, word ('mousy', or 'mousy, after 60 s'), or what the test asks: 'odd', 'same as reference', 'preferred', 'rank', 'liking', 'degree of difference', 'confidence'. */
  question: string;
  /** Number or word; null where the person said 'I cannot say' or gave no answer. */
  value: string | number | null;
  unit: string;
  /** The place at which the person sat, from 1; left out where there was one. */
  site?: number;
}

export const TIDY_COLUMNS: readonly (keyof TidyRow)[] = [
  'part',
  'kind',
  'assessor',
  'replicate',
  'position',
  'sample',
  'arm',
  'role',
  'question',
  'value',
  'unit',
];

/** As much of a session's input as its answers in rows need. */
export type TidyInput = Pick<SessionInput, 'settings' | 'samples' | 'trays' | 'words'> & {
  session: Pick<SessionInput['session'], 'arms'>;
};

/**
 * All answers of a session as tidy rows, one observation each, unanswered sheets included as rows without a value.
 * Sorted by part, person, tray and place. Carries no seat, code or time, and no comments: a way of writing tells who wrote.
 */
export function tidyAnswers(input: TidyInput): TidyRow[] {
  const { parts } = input.settings;
  const trays = [...input.trays].sort(
    (a, b) => numberOf(a.assessor) - numberOf(b.assessor) || a.part - b.part || a.replicate - b.replicate,
  );
  return parts.flatMap((part, index) => {
    const base = cupsIndex(parts, index) + 1;
    return trays
      .filter((tray) => tray.part === base)
      .flatMap((tray) => rowsOfTray(input, tray, part, index + 1));
  });
}

const numberOf = (label: string): number => Number(label.replace(/\D/g, ''));

function rowsOfTray(input: TidyInput, tray: AnsweredTray, part: Part, number: number): TidyRow[] {
  const asked = sheetsOfTray(input.settings.parts, { part: tray.part, servings: tray.cups });
  return asked
    .filter((sheet) => sheet.part === number)
    .flatMap((sheet) => {
      const ballot = tray.ballots.find((one) => one.part === number && one.sheet === sheet.sheet);
      const about = (code: string | null) => {
        const cup = tray.cups.find((one) => one.code === code);
        const sample = input.samples.find(({ key, part: of }) => of === tray.part && key === cup?.sample);
        return {
          part: number,
          kind: part.kind,
          assessor: tray.assessor,
          replicate: tray.replicate,
          position: cup?.position ?? null,
          sample: sample?.name ?? null,
          arm: input.session.arms.find(({ id }) => id === sample?.armId)?.name ?? null,
          role: sample?.role ?? null,
          ...(tray.site !== undefined && { site: tray.site }),
        };
      };
      return ballot
        ? rowsOfAnswer(input, part, sheet, ballot.answer, about)
        : sheet.codes.map((code) => ({ ...about(code), question: 'no answer', value: null, unit: '' }));
    });
}

type About = Omit<TidyRow, 'question' | 'value' | 'unit'>;

function rowsOfAnswer(
  input: TidyInput,
  part: Part,
  sheet: { codes: readonly string[] },
  answer: Answer,
  about: (code: string | null) => About,
): TidyRow[] {
  const row = (code: string | null, question: string, value: TidyRow['value'], unit = ''): TidyRow => ({
    ...about(code),
    question,
    value,
    unit,
  });
  const words = new Map(input.words);
  const wordOf = (id: string): string => words.get(id)?.word ?? id;
  switch (answer.kind) {
    case 'choice': {
      if (!isChoice(part)) throw new RangeError(`a ${part.kind} is not answered by a choice`);
      const question = choiceOf(part).chosenAs;
      return [
        ...sheet.codes.map((code) => row(code, question, answer.chosen.includes(code) ? 1 : 0, '0 or 1')),
        ...(answer.confidence === null ? [] : [row(null, 'confidence', answer.confidence)]),
        ...answer.descriptors.map((id) => row(null, 'told apart by', wordOf(id))),
      ];
    }
    case 'ranking':
      return answer.order.map((code, at) => row(code, 'rank', at + 1, 'rank, 1 is least'));
    case 'rating': {
      const scale = part.kind === 'rating' && part.scale === 'nine-point' ? '1 to 9' : '0 to 100';
      const names = new Map(part.kind === 'rating' ? part.attributes.map(({ id, name }) => [id, name]) : []);
      return answer.marks.map(({ code, attributeId, value }) =>
        row(code, names.get(attributeId) ?? attributeId, value, scale),
      );
    }
    case 'description': {
      const code = sheet.codes[0] ?? null;
      if (answer.none) return [row(code, 'none of these', 1, '0 or 1')];
      return [
        ...answer.words.map(({ id, intensity }) =>
          intensity === null
            ? row(code, wordOf(id), 1, '0 or 1')
            : row(code, wordOf(id), intensity, '1 faint, 2 clear, 3 strong'),
        ),
        ...answer.ownWords.map((word) => row(code, 'own word', word)),
      ];
    }
    case 'late': {
      const code = sheet.codes[0] ?? null;
      const late = lateOf(part);
      if (late === null) throw new RangeError(`a ${part.kind} without a late question is not answered late`);
      const said = answer.none ? ['none of these'] : answer.words.map(wordOf);
      return said.map((word) => row(code, lateWord(word, late), 1, '0 or 1'));
    }
    case 'control':
      return [row(sheet.codes[0] ?? null, 'degree of difference', answer.degree, 'step from 0')];
    case 'liking':
      return [row(sheet.codes[0] ?? null, 'liking', answer.value, '1 to 9')];
  }
}

/** One number of a result document, under the path that leads to it. */
export interface FigureRow {
  part: number | null;
  kind: string;
  /** Path below the part, for instance `attributes.2.means.0.estimate`. */
  figure: string;
  value: string | number | boolean | null;
}

const NOT_FIGURES = new Set(['methods', 'caveats', 'plan', 'kind', 'part']);

/** Every number of a result document as a row; texts that name what a number belongs to stand beside it. */
export function figureRows(result: {
  parts: readonly { part: number; kind: string }[];
  agreement: unknown;
}): FigureRow[] {
  const rows: FigureRow[] = [];
  const walk = (part: number | null, kind: string, path: string, value: unknown): void => {
    if (Array.isArray(value)) {
      value.forEach((item, at) => walk(part, kind, `${path}.${at + 1}`, item));
    } else if (typeof value === 'object' && value !== null) {
      for (const [key, item] of Object.entries(value)) {
        if (path === '' && NOT_FIGURES.has(key)) continue;
        walk(part, kind, path === '' ? key : `${path}.${key}`, item);
      }
    } else if (value !== undefined) {
      rows.push({ part, kind, figure: path, value: value as FigureRow['value'] });
    }
  };
  for (const one of result.parts) walk(one.part, one.kind, '', one);
  if (result.agreement !== null) walk(null, 'agreement', '', result.agreement);
  return rows;
}
