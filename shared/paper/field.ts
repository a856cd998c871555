// What is typed from one place of a ballot: how it is typed, and how it is read. Everything typed is kept as it counts
// here, in one spelling, so that two entries of the same sheet can be held against each other.

/** Typed where the paper has nothing. */
export const BLANK = '.';
/** Typed where 'I cannot say' is crossed. */
export const CANNOT = '-';

interface Common {
  /** Unique on a ballot: 'tray.part.sheet.name', or a name of the ballot as a whole. */
  id: string;
  /** What stands on the paper beside it. */
  label: string;
}

export type PaperField = Common &
  (
    | { kind: 'cups'; codes: readonly string[]; least: number; most: number }
    | { kind: 'steps'; first: number; steps: readonly string[]; cannot: boolean }
    | { kind: 'line' }
    | { kind: 'order'; codes: readonly string[] }
    | { kind: 'ticks'; words: readonly { id: string; word: string }[]; strength: boolean }
    | { kind: 'written'; most: number; strength: boolean; none: boolean }
    | { kind: 'crossed' }
    | { kind: 'time' }
    | { kind: 'digits' }
    | { kind: 'note' }
  );

export type FieldRead = { text: string } | { trouble: string };

/** May it be left empty? Then the paper has nothing there, which is nothing unusual. */
export const mayBeEmpty = ({ kind }: PaperField): boolean =>
  kind === 'note' || kind === 'digits' || kind === 'time' || kind === 'crossed' || kind === 'written';

const NOTE_LIMIT = 500;
const WORD_LIMIT = 40;

/** How the field is typed, in one sentence. */
export function howTyped(field: PaperField): string {
  switch (field.kind) {
    case 'cups': {
      const which = field.most > 1 ? 'both codes that are crossed' : 'the code that is crossed';
      return `Type ${which}, or count from the left: ${places(field)}.${
        field.least === 0 ? ' 0 for no preference.' : ''
      }`;
    }
    case 'steps':
      return `Type the number that is crossed, ${field.first} to ${field.first + field.steps.length - 1}.${
        field.cannot ? ' A hyphen where ‘cannot say’ is crossed.' : ''
      }`;
    case 'line':
      return 'In mm from the left end: 0 to 100. A hyphen where ‘cannot say’ is crossed.';
    case 'order':
      return `Type the places from the left cup to the right: ${field.codes.map((_, at) => at + 1).join(' ')} if they stand in order.`;
    case 'ticks':
      return field.strength
        ? 'Type number and strength of every word that is crossed: 3.2 is word 3, clear. 0 where ‘none of these’ is crossed.'
        : 'Type the numbers of the words that are crossed. 0 where ‘none of these’ is crossed.';
    case 'written':
      return `Type the words that are written, with commas between them${
        field.strength ? '; a number after a word is its strength: clove 2' : ''
      }.${field.none ? ' 0 where ‘none’ is crossed.' : ''}`;
    case 'crossed':
      return '1 where it is crossed.';
    case 'time':
      return 'As written: 19:40.';
    case 'digits':
      return 'The six digits the person wrote.';
    case 'note':
      return 'As written.';
  }
}

const places = ({ codes }: { codes: readonly string[] }): string =>
  codes.map((code, at) => `${at + 1} is ${code}`).join(', ');

/**
 * Reads what was typed; `text` is the one spelling in which it is kept.
 *
 * @example
 * readField({ id: 'a', label: '', kind: 'line' }, ' 063 ') // { text: '63' }
 */
export function readField(field: PaperField, typed: string): FieldRead {
  const plain = typed.normalize().trim().replaceAll(/\s+/g, ' ');
  if (plain === '' || plain === BLANK) {
    if (mayBeEmpty(field)) return { text: '' };
    return plain === BLANK
      ? { text: BLANK }
      : { trouble: 'Type what stands there, or a full stop where nothing does.' };
  }
  switch (field.kind) {
    case 'cups':
      return readCups(field, plain);
    case 'steps': {
      if (field.cannot && plain === CANNOT) return { text: CANNOT };
      const last = field.first + field.steps.length - 1;
      const step = /^\d{1,2}$/.test(plain) ? Number(plain) : Number.NaN;
      return step >= field.first && step <= last
        ? { text: String(step) }
        : { trouble: `A number from ${field.first} to ${last}${orCannot(field.cannot)}.` };
    }
    case 'line':
      return readLine(plain);
    case 'order':
      return readOrder(field, plain);
    case 'ticks':
      return readTicks(field, plain);
    case 'written':
      return readWritten(field, plain);
    case 'crossed':
      return /^[01]$/.test(plain)
        ? { text: plain === '1' ? '1' : '' }
        : { trouble: '1 where it is crossed, else leave it empty.' };
    case 'time': {
      const [, hours, minutes] = /^(\d{1,2})[:.h ]?(\d{2})$/.exec(plain) ?? [];
      return Number(hours) < 24 && Number(minutes) < 60
        ? { text: `${String(hours).padStart(2, '0')}:${minutes}` }
        : { trouble: 'Hours and minutes, such as 19:40.' };
    }
    case 'digits': {
      const digits = plain.replaceAll(/\D/g, '');
      return digits.length === 6 ? { text: digits } : { trouble: 'Six digits, or leave it empty.' };
    }
    case 'note':
      return plain.length <= NOTE_LIMIT
        ? { text: plain }
        : { trouble: `Keep this to ${NOTE_LIMIT} characters.` };
  }
}

const orCannot = (cannot: boolean): string => (cannot ? `, or ${CANNOT} for ‘cannot say’` : '');

function readCups({ codes, least, most }: Extract<PaperField, { kind: 'cups' }>, plain: string): FieldRead {
  if (plain === '0') {
    return least === 0
      ? { text: '0' }
      : { trouble: 'Nobody may say none here: a full stop where nothing is crossed.' };
  }
  const named = plain.split(/[ ,;+]+/).map((one) => (/^\d$/.test(one) ? codes[Number(one) - 1] : one));
  const strange = named.find((code) => code === undefined || !codes.includes(code));
  if (strange !== undefined || named.includes(undefined)) {
    return { trouble: `No cup of that number: there are ${codes.join(', ')}.` };
  }
  const chosen = [...new Set(named as string[])];
  const wanted = most > 1 ? 'two cups' : 'one cup';
  return chosen.length === most
    ? { text: codes.filter((code) => chosen.includes(code)).join(' ') }
    : { trouble: `It takes ${wanted}. Where others are crossed nothing counts: type a full stop.` };
}

function readLine(plain: string): FieldRead {
  if (plain === CANNOT) return { text: CANNOT };
  const trouble = `Millimetres from the left end, 0 to 100${orCannot(true)}.`;
  if (!/^\d{1,3}([.,]\d)?$/.test(plain)) return { trouble };
  const mm = Number(plain.replace(',', '.'));
  return mm <= 100 ? { text: String(mm) } : { trouble };
}

function readOrder({ codes }: Extract<PaperField, { kind: 'order' }>, plain: string): FieldRead {
  const packed = /^\d+$/.test(plain) && plain.length === codes.length && codes.length < 10;
  const given = packed ? [...plain] : plain.split(/[ ,;]+/);
  const places = given.map((one) => (/^\d{1,2}$/.test(one) ? Number(one) : Number.NaN));
  const whole = codes.every((_, at) => places.includes(at + 1)) && places.length === codes.length;
  return whole
    ? { text: places.join(' ') }
    : {
        trouble: `Every place from 1 to ${codes.length} once, from the left cup to the right. Where the paper has a tie or a gap nothing counts: type a full stop.`,
      };
}

function readTicks({ words, strength }: Extract<PaperField, { kind: 'ticks' }>, plain: string): FieldRead {
  if (plain === '0') return { text: '0' };
  const read = new Map<number, string>();
  for (const one of plain.split(/[ ,;]+/)) {
    const [, number = '', strong] = /^(\d{1,3})(?:[.*/]([123]))?$/.exec(one) ?? [];
    const at = Number(number);
    if (number === '' || at < 1 || at > words.length) {
      return { trouble: `‘${one}’ is no word of this sheet: they are numbered 1 to ${words.length}.` };
    }
    if (!strength && strong !== undefined) {
      return { trouble: 'Strength is not asked here: the numbers of the words alone.' };
    }
    if (read.has(at)) return { trouble: `Word ${at} is there twice.` };
    read.set(at, strong === undefined ? String(at) : `${at}.${strong}`);
  }
  return {
    text: [...read]
      .sort(([a], [b]) => a - b)
      .map(([, text]) => text)
      .join(' '),
  };
}

function readWritten(
  { most, strength, none }: Extract<PaperField, { kind: 'written' }>,
  plain: string,
): FieldRead {
  if (plain === '0') {
    return none ? { text: '0' } : { trouble: 'Words, or leave it empty where none are written.' };
  }
  const words = plain
    .split(/[,;]/)
    .map((one) => one.trim())
    .filter((one) => one !== '');
  if (words.length > most) return { trouble: `At most ${most} words.` };
  const long = words.find((one) => one.length > WORD_LIMIT);
  if (long !== undefined)
    return { trouble: `‘${long.slice(0, 20)}…’ is too long: ${WORD_LIMIT} characters.` };
  if (!strength && words.some((one) => / [123]$/.test(one))) {
    return { trouble: 'Strength is not asked here: the words alone.' };
  }
  return { text: [...new Set(words)].join(', ') };
}

/** Do two entries say the same here? Of notes and written words the spelling in capitals and points says nothing. */
export function sameEntry(field: PaperField, a: string, b: string): boolean {
  if (field.kind !== 'note' && field.kind !== 'written') return a === b;
  return bare(a) === bare(b);
}

const bare = (text: string): string =>
  text
    .toLocaleLowerCase('en')
    .replaceAll(/[^\p{L}\p{N}]+/gu, ' ')
    .trim();
