import { decimals } from '#lib/text/numbers.ts';

export interface MatrixCell {
  x: number;
  y: number;
  /** Area grows with the size of the correlation. */
  radius: number;
  kind: 'with' | 'against' | 'none';
  text: string;
}

export interface MatrixLayout {
  width: number;
  height: number;
  columns: { x: number; y: number; text: string }[];
  /** A note stands below the name, or after it where the name stands above its row. */
  rows: { x: number; y: number; text: string; note: string; below: boolean }[];
  cells: MatrixCell[];
}

const CELL = 46;
const HEAD = 30;
const LABEL_LINE = 24;
const ROW = 54;
const GAP = 18;
const MAX_BESIDE = 24;
const LETTER = 8;
const BIGGEST = 15;
const SMALLEST = 2;

/**
 * Dots for correlations, one row per attribute and one column per assessor; assessors that do not fit beside each other
 * go on below. Names stand beside the rows where they are short and there is room, otherwise above them.
 */
export function correlationMatrix({
  rows,
  notes = [],
  columns,
  values,
  width,
}: {
  rows: readonly string[];
  /** What has to be said beside a row's name; '' or none for nothing. */
  notes?: readonly string[];
  columns: readonly string[];
  /** By row, then by column. */
  values: readonly (readonly (number | null)[])[];
  width: number;
}): MatrixLayout {
  const longest = Math.max(0, ...rows.map((name) => name.length));
  const beside = longest <= MAX_BESIDE && width > 600;
  const left = beside ? Math.max(longest, ...notes.map((note) => note.length)) * LETTER + 16 : 0;
  const across = Math.max(1, Math.floor((width - left) / CELL));
  const layout: MatrixLayout = { width, height: 0, columns: [], rows: [], cells: [] };
  let y = 0;
  for (let from = 0; from < columns.length; from += across) {
    const shown = columns.slice(from, from + across);
    const x = (at: number) => left + CELL * (at + 0.5);
    layout.columns.push(...shown.map((text, at) => ({ x: x(at), y: y + 16, text })));
    y += HEAD;
    rows.forEach((name, row) => {
      if (!beside) y += LABEL_LINE;
      layout.rows.push({
        x: 0,
        y: beside ? y + 22 : y - 8,
        text: name,
        note: notes[row] ?? '',
        below: beside,
      });
      shown.forEach((_label, at) => {
        layout.cells.push(cellOf(values[row]?.[from + at] ?? null, x(at), y + 17));
      });
      y += ROW;
    });
    y += GAP;
  }
  layout.height = Math.max(1, y - GAP);
  return layout;
}

function cellOf(value: number | null, x: number, y: number): MatrixCell {
  if (value === null) return { x, y, radius: SMALLEST, kind: 'none', text: '–' };
  return {
    x,
    y,
    radius: Math.max(SMALLEST, BIGGEST * Math.sqrt(Math.abs(value))),
    kind: value < 0 ? 'against' : 'with',
    text: decimals(value, 2),
  };
}
