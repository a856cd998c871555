import { z } from 'zod';
import { pullInput, type PullWhen, type TrialPulls } from '../contracts/pull.ts';
import { confirmation, readingInput, type ReadingInput, type ReadingValues } from '../contracts/reading.ts';
import { readingValues } from '../fermentation/reading-values.ts';
import { typedNumber } from '../fermentation/typed-number.ts';
import { csvDay, csvMoment } from './csv-moment.ts';
import { csvTable, type CsvRow, type CsvTable } from './csv-table.ts';
import { momentOf } from './due.ts';
import { lastValues } from './last-reading.ts';
import { questionsOf, type Question } from './plausible.ts';
import { typedOf } from './row-typed.ts';

export type ImportedReading = Omit<ReadingInput, 'id' | 'replaces'>;

/** A pull as a row of the file tells it. */
export interface ImportedPull {
  name: string;
  when: PullWhen;
  mlPerArm: number | null;
  note: string;
}

export type ImportRow = { line: number } & (
  | {
      kind: 'add' | 'there';
      pull: ImportedPull;
      /** The pull that is there already; null: it is made. */
      pullId: string | null;
      arm: { id: string; name: string };
      reading: ImportedReading;
      values: ReadingValues;
      questions: Question[];
    }
  | { kind: 'refused'; why: string }
);

export interface ImportPreview extends Pick<CsvTable, 'delimiter' | 'unknown' | 'wrong'> {
  rows: ImportRow[];
}

export interface ImportInput {
  csv: string;
  trial: TrialPulls;
  now: string;
  /** Times without a zone are read in this one, minutes east of UTC. */
  minutesEast: number;
}

const A_READING = readingInput;
const NOBODYS_ID = '00000000-0000-4000-8000-000000000000';

/**
 * What each row of a file becomes, before anything is written: a reading that is added, one that is there already, or a line
 * that is refused and why. Pulls are found by name and made where there are none; a row without a time takes its pull's.
 * A row that differs from a reading that is there is refused: it is corrected there, by hand. The questions of
 * `questionsOf` stand at their rows.
 * Example: `previewImport({ csv: 'arm;ph', trial: { pitchedAt: null, arms: [], pulls: [] }, now: '2031-03-04T18:00:00Z', minutesEast: 0 }).rows.length` is 0
 */
export function previewImport({ csv, trial, now, minutesEast }: ImportInput): ImportPreview {
  const { rows, ...table } = csvTable(csv);
  const seen = new Map<string, { line: number; body: string }>();
  const made = new Map<string, ImportedPull>();
  const preview = rows.map((row): ImportRow => {
    const refused = (why: string): ImportRow => ({ line: row.line, kind: 'refused', why });
    if (row.broken !== null) return refused(row.broken);
    const read = readRow(row, { trial, minutesEast, made });
    if ('why' in read) return refused(read.why);
    const place = `${read.pull.name.toLocaleLowerCase('en')}\n${read.arm.id}`;
    const body = sameBody(read.reading);
    const earlier = seen.get(place);
    if (earlier !== undefined && earlier.body !== body)
      return refused(`Line ${earlier.line} has a reading of this arm at this pull already.`);
    seen.set(place, { line: row.line, body });
    const rowsThere = trial.pulls
      .filter(({ id }) => id === read.pullId)
      .flatMap(({ readings }) => readings.filter(({ arm }) => arm === read.arm.id));
    if (earlier !== undefined || rowsThere.some((one) => sameBody(one) === body))
      return { line: row.line, kind: 'there', ...read, questions: [] };
    if (rowsThere.length > 0)
      return refused(
        `There is a reading of ${read.arm.name} at ${read.pull.name} that says something else. Correct it there.`,
      );
    if (read.pullId === null) made.set(read.pull.name.toLocaleLowerCase('en'), read.pull);
    return { line: row.line, kind: 'add', ...read, questions: [] };
  });
  return { ...table, rows: asked(preview, trial, now) };
}

/** The same with their questions: what is there and what the file adds follow one another in time. */
function asked(rows: ImportRow[], trial: TrialPulls, now: string): ImportRow[] {
  const added = rows.flatMap((row) =>
    row.kind === 'add'
      ? [{ ...row.values, arm: row.arm.id, current: true, takenAt: row.reading.takenAt }]
      : [],
  );
  const all = [...trial.pulls.flatMap(({ readings }) => readings), ...added];
  return rows.map((row) => {
    if (row.kind !== 'add') return row;
    const { takenAt, typed } = row.reading;
    const questions = questionsOf(typed, {
      before: lastValues(all, row.arm.id, takenAt),
      leftMl: trial.arms.find(({ id }) => id === row.arm.id)?.volumeMl ?? null,
      takenAt,
      now,
      decimal: '.',
    });
    return { ...row, questions: openOnes(questions, row.reading) };
  });
}

const openOnes = (questions: Question[], { confirmed }: ImportedReading): Question[] =>
  questions.filter(({ question }) => !confirmed.some((one) => one.question === question));

type Read = Omit<Extract<ImportRow, { kind: 'add' | 'there' }>, 'line' | 'kind' | 'questions'>;

interface Around {
  trial: TrialPulls;
  minutesEast: number;
  made: ReadonlyMap<string, ImportedPull>;
}

function readRow({ cells }: CsvRow, around: Around): Read | { why: string } {
  const { trial } = around;
  const wanted = (cells.arm ?? '').normalize();
  if (wanted === '') return { why: 'It names no arm.' };
  const arm =
    trial.arms.find(({ name }) => name === wanted) ??
    trial.arms.find(({ name }) => name.toLocaleLowerCase('en') === wanted.toLocaleLowerCase('en'));
  if (!arm) return { why: `There is no arm called ${wanted.slice(0, 60)} in this trial.` };
  const time = timeOf(cells, around);
  if ('why' in time) return time;
  const typed = typedOf(cells);
  if ('why' in typed) return typed;
  const said = confirmedOf(cells.confirmed ?? '');
  if (said === null) return { why: 'What stands under confirmed is not what this program wrote there.' };
  const reading = A_READING.safeParse({
    id: NOBODYS_ID,
    replaces: null,
    takenAt: time.takenAt,
    typed,
    added: cells.added ?? '',
    looks: cells.looks ?? '',
    smell: cells.smell ?? '',
    note: cells.note ?? '',
    confirmed: said,
  });
  if (!reading.success) return { why: wordsOf(reading.error) };
  const { values, noNumber } = readingValues(reading.data.typed);
  if (noNumber[0] !== undefined)
    return { why: `${reading.data.typed[noNumber[0]]?.text} under ${noNumber[0]} is no number.` };
  const { id: _id, replaces: _corrects, ...rest } = reading.data;
  return { pull: time.pull, pullId: time.pullId, arm: { id: arm.id, name: arm.name }, reading: rest, values };
}

type Time = { pull: ImportedPull; pullId: string | null; takenAt: string };

function timeOf(cells: CsvRow['cells'], { trial, minutesEast, made }: Around): Time | { why: string } {
  const cell = cells.taken_at ?? '';
  const written = cell === '' ? null : csvMoment(cell, minutesEast);
  if (cell !== '' && written === null)
    return { why: `${cell.slice(0, 40)} is no date that reads one way only. Write it as 2031-03-04 18:00.` };
  const planned = plannedOf(cells);
  if (planned === 'wrong')
    return { why: 'When it was planned is neither hours after pitching, such as 48 h, nor a date.' };
  const name = (cells.pull ?? '').normalize() || nameOf(planned, written);
  if (name === null) return { why: 'It names no pull and no time.' };
  const there = trial.pulls.find(
    (pull) => pull.cancelledAt === null && pull.name.toLocaleLowerCase('en') === name.toLocaleLowerCase('en'),
  );
  const known = there ?? made.get(name.toLocaleLowerCase('en'));
  const when = known?.when ?? planned;
  const takenAt = written ?? (when === null ? null : momentOf(when, trial.pitchedAt));
  if (takenAt === null)
    return { why: 'It says no time, and there is none to take from its pull. Add a column taken_at.' };
  if (known) return { pull: pick(known), pullId: there?.id ?? null, takenAt };
  const millilitres = cells.pull_ml ? typedNumber(cells.pull_ml) : null;
  const pull = pullInput.safeParse({
    id: NOBODYS_ID,
    name,
    when: when ?? { kind: 'unplanned', at: takenAt },
    mlPerArm: millilitres?.value ?? null,
    note: cells.pull_note ?? '',
  });
  return pull.success ? { pull: pick(pull.data), pullId: null, takenAt } : { why: wordsOf(pull.error) };
}

const pick = ({ name, when, mlPerArm, note }: ImportedPull): ImportedPull => ({ name, when, mlPerArm, note });

function nameOf(planned: PullWhen | null, written: string | null): string | null {
  if (planned?.kind === 'hours')
    return planned.hours % 24 === 0 && planned.hours > 0 ? `Day ${planned.hours / 24}` : `${planned.hours} h`;
  if (planned?.kind === 'day') return planned.on;
  return written?.slice(0, 10) ?? null;
}

function plannedOf({ planned = '', hours = '' }: CsvRow['cells']): PullWhen | null | 'wrong' {
  const after = /^(.+?)\s*h$/i.exec(planned)?.[1] ?? hours;
  if (after !== '') {
    const count = typedNumber(after)?.value;
    return count === undefined || count < 0 ? 'wrong' : { kind: 'hours', hours: count };
  }
  if (planned === '') return null;
  const on = csvDay(planned);
  return on === null ? 'wrong' : { kind: 'day', on };
}

function confirmedOf(cell: string): unknown {
  if (cell === '') return [];
  try {
    return z.array(confirmation).safeParse(JSON.parse(cell)).data ?? null;
  } catch {
    return null;
  }
}

/** What a reading says, without who wrote it and when. */
function sameBody({ takenAt, typed, added, looks, smell, note }: ImportedReading): string {
  return JSON.stringify([new Date(takenAt).toISOString(), typed, added, looks, smell, note]);
}

const wordsOf = (error: z.ZodError): string =>
  error.issues
    .map(({ message, path }) => (path.length > 0 ? `${path.at(-1)?.toString()}: ${message}` : message))
    .join(' ');
