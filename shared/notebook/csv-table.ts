// The browser build, as export/csv.ts has it.
import { parse } from 'csv-parse/browser/esm/sync';
import { TYPED_COLUMNS, unguarded, WORKED_OUT_COLUMNS, type TypedColumn } from './readings-csv.ts';

/** A row of the file by its columns; cells that are not there are ''. */
export interface CsvRow {
  /** Line of the file on which the row begins, the header on line 1. */
  line: number;
  cells: Partial<Record<TypedColumn | 'hours', string>>;
  /** Why it cannot be read at all; null when it can. */
  broken: string | null;
}

export interface CsvTable {
  delimiter: ',' | ';' | '\t';
  rows: CsvRow[];
  /** Header names nobody knows, as they stand: their cells are left aside. */
  unknown: string[];
  /** Header names that say one thing twice. */
  twice: string[];
  /** What is wrong with the file as a whole; null when its rows can be read. */
  wrong: string | null;
}

// What people call the columns; the unit comes with some.
const ALSO: Readonly<Record<string, { column: TypedColumn | 'hours'; unit?: string }>> = {
  date: { column: 'taken_at' },
  time: { column: 'taken_at' },
  taken: { column: 'taken' },
  vessel: { column: 'arm' },
  fermenter: { column: 'arm' },
  sg: { column: 'gravity', unit: 'sg' },
  plato: { column: 'gravity', unit: 'plato' },
  brix: { column: 'gravity', unit: 'brix' },
  temp: { column: 'temperature' },
  comment: { column: 'note' },
  notes: { column: 'note' },
  hours: { column: 'hours' },
  hours_after_pitching: { column: 'hours' },
  aroma: { column: 'smell' },
  appearance: { column: 'looks' },
};

const plainName = (header: string): string =>
  header
    .trim()
    .toLowerCase()
    .replaceAll(/[°º()[\]]/g, '')
    .replaceAll(/[\s\-./]+/g, '_')
    .replaceAll(/^_+|_+$/g, '');

/**
 * A file of readings as a table: parted by semicolons, commas or tabs (whichever its header holds most of), with or without a
 * byte order mark, columns in any order, empty rows left out. Rows that cannot be read say why, by line.
 * Source: RFC 4180, read by csv-parse; the rest by common practice, no source.
 * Example: `csvTable('arm;ph\nA;4,2').rows.length` is 1
 */
export function csvTable(csv: string): CsvTable {
  const delimiter = delimiterOf(csv);
  const table: CsvTable = { delimiter, rows: [], unknown: [], twice: [], wrong: null };
  let found: { record: string[]; info: { lines: number } }[];
  try {
    found = parse(csv, {
      bom: true,
      delimiter,
      info: true,
      relax_column_count: true,
      skip_empty_lines: true,
    }) as unknown as typeof found;
  } catch (reason) {
    const { lines } = reason as { lines?: number };
    const where = lines === undefined ? '' : ` Look at line ${lines} and the lines before it.`;
    return {
      ...table,
      wrong: `The file cannot be read: a quotation mark is opened and never closed.${where}`,
    };
  }
  const [header, ...rest] = found;
  if (!header) return { ...table, wrong: 'The file is empty.' };
  const columns = header.record.map((name) => columnOf(name));
  table.unknown = header.record.filter((name, at) => name.trim() !== '' && columns[at] === undefined);
  const names = columns.flatMap((one) => (one && one !== 'worked-out' ? [one.column] : []));
  table.twice = [...new Set(names.filter((name, at) => names.indexOf(name) !== at))];
  if (!names.includes('arm')) table.wrong = 'There is no column called arm.';
  else if (table.twice.length > 0)
    table.wrong = `Two columns are meant for ${table.twice.join(' and for ')}. Take one away.`;
  if (table.wrong !== null) return table;
  let twofold = countOf(header.record, /\r\n/g);
  for (const { record, info } of rest) {
    // `lines` counts to the end of the record, and a line break of two signs within quotation marks twice.
    twofold += countOf(record, /\r\n/g);
    const line = info.lines - twofold - countOf(record, /\r\n|\n|\r/g);
    if (record.every((cell) => cell.trim() === '')) continue;
    table.rows.push(rowOf(line, record, columns));
  }
  return table;
}

const countOf = (record: readonly string[], sign: RegExp): number =>
  record.reduce((sum, cell) => sum + (cell.match(sign)?.length ?? 0), 0);

type Column = { column: TypedColumn | 'hours'; unit?: string } | 'worked-out' | undefined;

function columnOf(header: string): Column {
  const name = plainName(header);
  const typed = TYPED_COLUMNS.find((column) => column === name);
  if (typed) return { column: typed };
  if ((WORKED_OUT_COLUMNS as readonly string[]).includes(name)) return 'worked-out';
  return Object.hasOwn(ALSO, name) ? ALSO[name] : undefined;
}

function rowOf(line: number, record: readonly string[], columns: readonly Column[]): CsvRow {
  const cells: CsvRow['cells'] = {};
  record.forEach((cell, at) => {
    const known = columns[at];
    if (known === undefined || known === 'worked-out') return;
    cells[known.column] = unguarded(cell.trim());
    if (known.unit !== undefined && cell.trim() !== '') cells.gravity_unit = known.unit;
  });
  const over = record.slice(columns.length).some((cell) => cell.trim() !== '');
  return {
    line,
    cells,
    broken: over
      ? 'It has more cells than the header. A decimal comma in a file parted by commas needs quotation marks.'
      : null,
  };
}

function delimiterOf(csv: string): CsvTable['delimiter'] {
  const header = /^\ufeff?[\r\n]*([^\r\n]*)/.exec(csv)?.[1]?.replaceAll(/"[^"]*"/g, '') ?? '';
  const count = (sign: string): number => header.split(sign).length;
  return ([';', '\t', ','] as const).reduce((best, sign) => (count(sign) > count(best) ? sign : best), ',');
}
