import type { PartAtSeat, Word } from '../contracts/seat.ts';
import type { CupMark } from '../contracts/session.ts';
import { choiceOf, isChoiceKind, kindOf } from '../kinds/kinds.ts';
import { LIKING_WORDS } from '../kinds/liking-words.ts';
import type { PaperField } from './field.ts';
import { CONFIDENCE_STEPS, SWALLOWING_STEPS } from './steps.ts';

// A ballot on paper: what is asked of one seat, place by place, in the order in which it stands on the sheet. The print,
// the desk and the server make it anew of the same facts, so that a place has one name everywhere.

export interface PaperSheet {
  part: number;
  sheet: number;
  codes: readonly string[];
  attributeIds: readonly string[];
  late?: boolean | undefined;
}

export interface PaperTray {
  id: string;
  trayNumber: number;
  warmUp: boolean;
  servings: readonly { position: number; code: string; mark: CupMark | null }[];
  sheets: readonly PaperSheet[];
}

/** What a ballot is made of: the questions of the session, and the trays and words of one seat. */
export interface PaperFacts {
  parts: readonly PartAtSeat[];
  trays: readonly PaperTray[];
  /** In the seat's own order. */
  words: readonly Word[];
  /** Nothing is swallowed where the cups are smelled only. */
  smellOnly: boolean;
}

/** One sheet with its places. */
export interface PaperQuestion {
  tray: PaperTray;
  sheet: PaperSheet;
  part: PartAtSeat;
  /** 'Tray 1, 431': where it stands, for whoever enters it. */
  where: string;
  /** Words to cross, numbered from 1 in this order; empty where none are listed. */
  words: readonly Word[];
  fields: readonly PaperField[];
}

export interface PaperForm {
  questions: readonly PaperQuestion[];
  /** Asked once a tray, by the id of the tray; empty where it is not asked. */
  ofTrays: ReadonlyMap<string, PaperField>;
  /** Of the ballot as a whole: above the questions, and below. */
  head: readonly PaperField[];
  foot: readonly PaperField[];
}

/** More words than this are not listed on every ballot: they are written, with a list of all words on the table. */
export const MOST_LISTED = 48;
/** Words of one's own beside a list, words written instead of one, and words after a choice, at most. */
const OWN_WORDS = 6;
const WRITTEN_WORDS = 12;
const TOLD_APART = 12;

type Description = Extract<PartAtSeat, { kind: 'description' }>;

/** Words that a description offers at this seat, in its order. */
function offeredWords(part: Description, words: readonly Word[]): readonly Word[] {
  if (part.words === null) return words;
  const named = new Set(part.words);
  return words.filter(({ id }) => named.has(id));
}

/** Are the words of a description listed on its ballot? Else they are written. */
export function listsWords(part: { words: readonly string[] | null }): boolean {
  return part.words !== null && part.words.length <= MOST_LISTED;
}

/** The ballot of a seat. */
export function paperForm({ parts, trays, words, smellOnly }: PaperFacts): PaperForm {
  const inOrder = [...trays].sort((a, b) => a.trayNumber - b.trayNumber);
  const several = inOrder.length > 1;
  const questions = inOrder.flatMap((tray) =>
    [...tray.sheets]
      .sort((a, b) => a.part - b.part || a.sheet - b.sheet)
      .flatMap((sheet): PaperQuestion[] => {
        const part = parts[sheet.part - 1];
        if (!part) return [];
        const listed = listedWords(part, sheet, words);
        const id = `${tray.trayNumber}.${sheet.part}.${sheet.sheet}`;
        const fields = fieldsOf(id, { part, sheet, listed });
        const where = [
          ...(several ? [`tray ${tray.trayNumber}`] : []),
          ...(parts.length > 1 ? [`part ${sheet.part}`] : []),
          ...subjectOf(part, sheet),
        ].join(', ');
        return [
          { tray, sheet, part, where: where.charAt(0).toUpperCase() + where.slice(1), words: listed, fields },
        ];
      }),
  );
  return {
    questions,
    ofTrays: new Map(
      smellOnly
        ? []
        : inOrder.map((tray): [string, PaperField] => [
            tray.id,
            {
              id: `${tray.trayNumber}.swallowed`,
              label: several ? `On tray ${tray.trayNumber} I` : 'On this tray I',
              kind: 'steps',
              first: 1,
              steps: SWALLOWING_STEPS.map(({ word }) => word),
              cannot: false,
            },
          ]),
    ),
    head: [{ id: 'begun', label: 'Time begun', kind: 'time' }],
    foot: [
      { id: 'consent-rows', label: 'Single answers may be published', kind: 'crossed' },
      { id: 'consent-few', label: 'May be published where fewer than five answer', kind: 'crossed' },
      { id: 'digits', label: 'Six digits of the receipt', kind: 'digits' },
    ],
  };
}

/** Every place of a ballot in the order of the sheet, with the heading under which it stands there. */
export function placesOf(form: PaperForm): { heading: string; fields: readonly PaperField[] }[] {
  const trays = new Map(form.questions.map(({ tray }) => [tray.id, tray]));
  return [
    { heading: 'The sheet', fields: form.head },
    ...[...trays.values()].flatMap((tray) => {
      const swallowed = form.ofTrays.get(tray.id);
      return [
        ...form.questions
          .filter((question) => question.tray.id === tray.id)
          .map(({ where, part, fields }) => ({ heading: where || kindOf(part).names.button, fields })),
        ...(swallowed ? [{ heading: 'Swallowed or spat', fields: [swallowed] }] : []),
      ];
    }),
    { heading: 'Below the questions', fields: form.foot },
  ];
}

function listedWords(part: PartAtSeat, sheet: PaperSheet, words: readonly Word[]): readonly Word[] {
  if (part.kind !== 'description') return [];
  if (sheet.late) {
    const named = new Set(part.late?.words ?? []);
    return words.filter(({ id }) => named.has(id));
  }
  return listsWords(part) ? offeredWords(part, words) : [];
}

/** Words that a written word of this question may mean. */
export function wordsMeant({ part }: Pick<PaperQuestion, 'part'>, words: readonly Word[]): readonly Word[] {
  return part.kind === 'description' ? offeredWords(part, words) : words;
}

function subjectOf(part: PartAtSeat, sheet: PaperSheet): string[] {
  const by = kindOf(part).sheets(part);
  if (by === 'cup') return [`${sheet.codes[0] ?? ''}${sheet.late ? ', asked late' : ''}`];
  if (by === 'attribute' && 'attributes' in part) {
    return [part.attributes.find(({ id }) => id === sheet.attributeIds[0])?.name ?? ''];
  }
  return [];
}

interface Asked {
  part: PartAtSeat;
  sheet: PaperSheet;
  listed: readonly Word[];
}

function fieldsOf(id: string, { part, sheet, listed }: Asked): PaperField[] {
  const note: PaperField = { id: `${id}.note`, label: 'Note', kind: 'note' };
  if (isChoiceKind(part)) return [...choiceFields(id, part, sheet), note];
  switch (part.kind) {
    case 'ranking':
      return [
        {
          id: `${id}.order`,
          label: `Places, 1 for least ${part.attribute}`,
          kind: 'order',
          codes: sheet.codes,
        },
        note,
      ];
    case 'rating':
      return [...markFields(id, part, sheet), note];
    case 'description':
      return sheet.late
        ? [{ id: `${id}.late`, label: 'There now', kind: 'ticks', words: listed, strength: false }]
        : descriptionFields(id, part, listed);
    case 'control':
      return [
        {
          id: `${id}.degree`,
          label: 'How different from the control',
          kind: 'steps',
          first: 0,
          steps: part.degrees,
          cannot: true,
        },
      ];
    case 'liking':
      return [
        {
          id: `${id}.liking`,
          label: 'How well liked',
          kind: 'steps',
          first: 1,
          steps: LIKING_WORDS,
          cannot: true,
        },
      ];
  }
}

function choiceFields(
  id: string,
  part: Parameters<typeof choiceOf>[0] & PartAtSeat,
  { codes }: PaperSheet,
): PaperField[] {
  const facts = choiceOf(part);
  const { least, most } = facts.picks(part);
  const label = facts.words(part as Parameters<typeof facts.words>[0]).group;
  const cups: PaperField =
    part.kind === 'same-different'
      ? {
          id: `${id}.said`,
          label,
          kind: 'steps',
          first: 1,
          steps: facts.places.map(({ name }) => name),
          cannot: false,
        }
      : { id: `${id}.cups`, label, kind: 'cups', codes, least, most };
  if (!facts.asksWhy) return [cups];
  return [
    cups,
    {
      id: `${id}.sure`,
      label: 'How sure',
      kind: 'steps',
      first: 1,
      steps: CONFIDENCE_STEPS.map(({ word }) => word),
      cannot: false,
    },
    {
      id: `${id}.why`,
      label: 'What told it apart',
      kind: 'written',
      most: TOLD_APART,
      strength: false,
      none: false,
    },
  ];
}

/** The places of the marks of a sheet, cup by cup; `nth` mark is `${id}.m${nth}`. */
function markFields(
  id: string,
  part: Extract<PartAtSeat, { kind: 'rating' }>,
  sheet: PaperSheet,
): PaperField[] {
  return marksOf(sheet).map(({ code, attributeId }, at): PaperField => {
    const attribute = part.attributes.find((one) => one.id === attributeId);
    const name = attribute?.name ?? '';
    const label = part.by === 'sample' ? name : code;
    return part.scale === 'line'
      ? { id: `${id}.m${at + 1}`, label, kind: 'line' }
      : {
          id: `${id}.m${at + 1}`,
          label,
          kind: 'steps',
          first: 1,
          steps: Array.from({ length: 9 }, (_, step) => String(step + 1)),
          cannot: true,
        };
  });
}

/** Cups and attributes of a sheet of marks, in the order of its places. */
export const marksOf = ({ codes, attributeIds }: PaperSheet): { code: string; attributeId: string }[] =>
  codes.flatMap((code) => attributeIds.map((attributeId) => ({ code, attributeId })));

function descriptionFields(id: string, part: Description, listed: readonly Word[]): PaperField[] {
  if (!listsWords(part)) {
    return [
      {
        id: `${id}.written`,
        label: 'Words that fit',
        kind: 'written',
        most: WRITTEN_WORDS,
        strength: part.intensity,
        none: true,
      },
    ];
  }
  return [
    { id: `${id}.words`, label: 'Words that fit', kind: 'ticks', words: listed, strength: part.intensity },
    {
      id: `${id}.own`,
      label: 'Words of their own',
      kind: 'written',
      most: OWN_WORDS,
      strength: false,
      none: false,
    },
  ];
}
