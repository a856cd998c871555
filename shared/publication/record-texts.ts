import type { ArmMaking, BaseMaking } from '../contracts/making.ts';
import { unseenIn } from '../contracts/name.ts';
import type { FairTestInput } from '../fermentation/fair-test/check.ts';
import { COMPARED_FIELDS } from '../fermentation/fair-test/fields.ts';
import { scanComment } from './comments.ts';

/** What the trial has of its making and its readings, as far as a publication may draw on it. */
export interface TrialRecord {
  /** What all arms share, in the words of who made the trial. */
  base: string;
  making: BaseMaking;
  /** Moment; null: nobody noted it. */
  pitchedAt: string | null;
  abv: ReadonlyMap<string, number | null>;
  /** Arms in their order, with how each was made, its signs, and the answers to what the check finds. */
  fairTest: FairTestInput;
  /** Standing readings; corrected ones are not among them. */
  readings: readonly RecordReading[];
}

export interface RecordReading {
  armId: string;
  /** Moment. */
  takenAt: string;
  planned: boolean;
  ph: number | null;
  gravity: number | null;
  temperatureC: number | null;
  looks: string;
  smell: string;
  added: string;
  note: string;
}

/** A free text of the record: it goes along only where the host passed it, word for word. */
export interface RecordText {
  text: string;
  /** Where it stands, once each: 'culture of Warm'. */
  where: string[];
  /** A recipe or a note in somebody's voice, not the name of a thing. */
  note: boolean;
}

type WordField = 'vessel' | 'culture' | 'lot' | 'additions';
const WORD_FIELDS: readonly WordField[] = ['vessel', 'culture', 'lot', 'additions'];
const NOTES = ['looks', 'smell', 'added', 'note'] as const;
const NOTE_WORDS = { looks: 'looks', smell: 'smell', added: 'added', note: 'note' } as const;
const DAY_MS = 86_400_000;
const LEFT_OUT = 'left out by the host';

const additionText = ({ what, amount }: ArmMaking['additions'][number]): string =>
  [amount, what].filter(Boolean).join(' ');

/** The words of one field of an arm; none where it is empty. */
function wordsOf(making: ArmMaking, field: WordField): string[] {
  const words = field === 'additions' ? making.additions.map(additionText) : [making[field]];
  return words.filter((word) => word !== '');
}

/**
 * Every free text of the record, each once, in the order of a page; what is empty is left out.
 * @param names of the arms, by id: only these arms are looked at.
 */
export function recordTexts(record: TrialRecord, names: ReadonlyMap<string, string>): RecordText[] {
  const texts = new Map<string, RecordText>();
  const add = (text: string, where: string, note: boolean): void => {
    if (text === '') return;
    const known = texts.get(text);
    if (!known) texts.set(text, { text, where: [where], note });
    else {
      known.note ||= note;
      if (!known.where.includes(where)) known.where.push(where);
    }
  };
  add(record.base, 'shared base', false);
  for (const { id, making } of record.fairTest.arms) {
    const name = names.get(id);
    if (name === undefined) continue;
    for (const field of WORD_FIELDS)
      for (const word of wordsOf(making, field)) add(word, `${field} of ${name}`, false);
  }
  add(record.making.recipe, 'recipe notes', true);
  for (const reading of record.readings) {
    const name = names.get(reading.armId);
    if (name === undefined) continue;
    for (const kind of NOTES) add(reading[kind], `${NOTE_WORDS[kind]}, readings of ${name}`, true);
  }
  return [...texts.values()];
}

/** What a host should look at before a text goes along, in sentences; empty where nothing was found. Never throws. */
export function flagsOf(text: string, names: readonly string[]): string[] {
  // Lines are broken in notes; nothing else may be hidden in them.
  const unseen = unseenIn(text.replaceAll(/[\n\r\t]/g, ' '));
  return [
    ...(unseen === undefined ? [] : ['It has a character that cannot be seen.']),
    ...scanComment(text, names).map(({ why, found }) => `${why} ‘${found}’`),
  ];
}

/** May it go along at all? Not with what cannot be seen, which could turn round what stands beside it. */
export const isPassable = (text: string): boolean =>
  unseenIn(text.replaceAll(/[\n\r\t]/g, ' ')) === undefined;

/** The moment of day 0: pitching, else the first that was noted with a date; null where nothing has one. */
export function dayZero({ pitchedAt, readings, fairTest }: TrialRecord): string | null {
  if (pitchedAt !== null) return pitchedAt;
  const noted = [
    ...readings.map(({ takenAt }) => takenAt),
    ...fairTest.arms.flatMap(({ making }) => making.additions.flatMap(({ on }) => on ?? [])),
  ];
  return noted.sort((a, b) => Date.parse(a) - Date.parse(b))[0] ?? null;
}

/** Whole days from one moment or day to another. */
export function daysBetween(zero: string, moment: string): number {
  // A day without a time counts as a day: from the day of zero, not from its hour.
  const start = moment.length === 10 ? zero.slice(0, 10) : zero;
  return Math.floor((Date.parse(moment) - Date.parse(start)) / DAY_MS);
}

/**
 * The fair-test check's input as readers may have it. Words the host did not pass stand as 'left out by the host', with a letter for
 * each where they differ, so that a difference stays one and no name gets out with it; dates of additions are days. An
 * answer that was given to a finding stays with it.
 * @param from the whole record, so that every part of a publication gives the same words the same letter.
 */
export function maskedFairTest(
  fairTest: FairTestInput,
  from: TrialRecord,
  passed: ReadonlySet<string>,
): FairTestInput {
  const mask = maskOf(from, passed);
  const arms = fairTest.arms.map((arm) => ({ ...arm, making: mask(arm.making) }));
  return {
    ...fairTest,
    arms,
    answers: fairTest.answers.map((answer) => {
      const field = COMPARED_FIELDS.find((one) => answer.finding.endsWith(` ${one.field}`));
      if (!field) return answer;
      const now = new Map(
        fairTest.arms.map(({ id, making }, at) => [
          `${id} ${field.told(making) ?? 'unknown'}`,
          `${id} ${field.told(arms[at]?.making ?? making) ?? 'unknown'}`,
        ]),
      );
      return { ...answer, grounds: answer.grounds.map((ground) => now.get(ground) ?? ground) };
    }),
  };
}

function maskOf(from: TrialRecord, passed: ReadonlySet<string>): (making: ArmMaking) => ArmMaking {
  const zero = dayZero(from);
  const may = (word: string): boolean => word === '' || (passed.has(word) && isPassable(word));
  const hidden = new Map(
    WORD_FIELDS.map((field) => {
      const all = from.fairTest.arms.flatMap(({ making }) => wordsOf(making, field));
      return [field, [...new Set(all.filter((word) => !may(word)).map(plain))]] as const;
    }),
  );
  const told = (field: WordField, word: string): string => {
    if (may(word)) return word;
    const list = hidden.get(field) ?? [];
    return list.length < 2 ? LEFT_OUT : `${LEFT_OUT} (${letter(list.indexOf(plain(word)))})`;
  };
  return (making) => ({
    ...making,
    vessel: told('vessel', making.vessel),
    culture: told('culture', making.culture),
    lot: told('lot', making.lot),
    bestBefore: null,
    additions: making.additions.map((one) => {
      const words = told('additions', additionText(one));
      const day = one.on === null || zero === null ? '' : ` on day ${daysBetween(zero, one.on)}`;
      return { what: `${words}${day}`.trim(), amount: '', on: null };
    }),
  });
}

/** As the check compares texts: without case. */
const plain = (word: string): string => word.toLocaleLowerCase('en');
/** a to z, and numbers where there are more. */
const letter = (at: number): string => (at < 26 ? String.fromCharCode(97 + at) : String(at + 1));

/** The notes of a reading that the host passed, each with what it was noted as. */
export function passedNotes(reading: RecordReading, passed: ReadonlySet<string>): string {
  return NOTES.filter(
    (kind) => reading[kind] !== '' && passed.has(reading[kind]) && isPassable(reading[kind]),
  )
    .map((kind) => `${NOTE_WORDS[kind]}: ${reading[kind]}`)
    .join('; ');
}
