/** counted: right, or for the arm that leads. apart: answers outside of the test, for example 'no preference'. */
export type DotKind = 'counted' | 'other' | 'apart';

/** One answer on the strip, in the units of the drawing. */
export interface Dot {
  x: number;
  y: number;
  kind: DotKind;
}

export interface DotStripLayout {
  width: number;
  height: number;
  radius: number;
  rows: number;
  top: number;
  bottom: number;
  left: number;
  dots: Dot[];
  /** Where guessing alone would lead; null without answers. */
  chance: { x: number; path: string } | null;
  /** The smallest count that is enough; null when no number is. */
  needed: { x: number; path: string } | null;
}

export interface DotStripInput {
  /** Answers in the test. */
  answers: number;
  counted: number;
  /** Further answers that stand apart, after the others. */
  apart?: number;
  /** Counted answers expected by guessing; need not be whole. */
  expected: number;
  critical: number | null;
  /** Width of the drawing: about 960 on a desk, 340 on a phone. */
  width: number;
}

const MARGIN = 14;
const LABELS = 44;
const OVERSHOOT = 14;
const WIDEST_PITCH = 72;

/**
 * Places one dot per answer: counted ones first, those apart last, columns filled top down and left to right, so that the
 * way to the right always counts answers, in one row or in many. Few answers stand in one row; many
 * wrap and shrink, down to 800 on a phone.
 */
export function dotStrip({
  answers,
  counted,
  apart = 0,
  expected,
  critical,
  width,
}: DotStripInput): DotStripLayout {
  const usable = width - 2 * MARGIN;
  const all = answers + apart;
  const rows = rowsFor(all, usable);
  const pitch = pitchFor(all, rows, usable);
  const top = LABELS;
  const bottom = top + rows * pitch;
  const left = MARGIN;
  const dots = Array.from({ length: all }, (_, index) => ({
    x: left + (Math.floor(index / rows) + 0.5) * pitch,
    y: top + ((index % rows) + 0.5) * pitch,
    kind: kindAt(index, counted, answers),
  }));
  const grid = { rows, pitch, top, bottom, left };
  return {
    width,
    height: bottom + LABELS + 30,
    radius: Math.max(2.5, pitch * 0.31),
    rows,
    top,
    bottom,
    left,
    dots,
    chance: answers > 0 ? straightLine(expected, grid) : null,
    needed: critical === null || critical > answers ? null : steppedLine(critical, grid),
  };
}

/** Dots of a list: as many in a row as a phone has room for, and no more than a few rows. */
const SMALL = { pitch: 12, inRow: 24, rows: 6, margin: 5 } as const;

export interface SmallDots {
  width: number;
  height: number;
  radius: number;
  /** A point for each answer, as paths of one: a list has many dots and should stay small. */
  counted: string;
  other: string;
  chance: string;
}

/** The strip without its words, to stand beside a sentence that tells them. Columns are filled as on the strip. */
export function smallDots({
  answers,
  counted,
  expected,
}: Pick<DotStripInput, 'answers' | 'counted' | 'expected'>): SmallDots {
  const rows = Math.min(SMALL.rows, Math.max(1, Math.ceil(answers / SMALL.inRow)));
  const columns = Math.max(1, Math.ceil(answers / rows));
  const pitch = Math.min(SMALL.pitch, (SMALL.pitch * SMALL.inRow) / columns);
  const [left, top] = [SMALL.margin, SMALL.margin];
  const bottom = top + rows * pitch;
  const points = (from: number, to: number): string =>
    Array.from({ length: Math.max(0, to - from) }, (_, at) => {
      const index = from + at;
      const x = left + (Math.floor(index / rows) + 0.5) * pitch;
      return `M${round(x)} ${round(top + ((index % rows) + 0.5) * pitch)}h0`;
    }).join('');
  const x = round(left + (expected / rows) * pitch);
  return {
    width: round(columns * pitch + 2 * SMALL.margin),
    height: round(bottom + SMALL.margin),
    radius: round(pitch * 0.36),
    counted: points(0, counted),
    other: points(counted, answers),
    chance: `M${x} 0V${round(bottom + SMALL.margin)}`,
  };
}

function kindAt(index: number, counted: number, answers: number): DotKind {
  if (index >= answers) return 'apart';
  return index < counted ? 'counted' : 'other';
}

/** A line of the legend: which dot, what it says, and where it stands from the left and from the first line. */
export interface LegendEntry {
  kind: DotKind;
  text: string;
  x: number;
  line: number;
}

const LETTER = 8;
const BESIDE_DOT = 20;
const BETWEEN = 24;

/** Sets legend entries side by side as far as they fit, and shortens one that would leave the drawing. */
export function legendOf(
  entries: readonly { kind: DotKind; text: string }[],
  width: number,
): { entries: LegendEntry[]; lines: number } {
  const usable = width - 2 * MARGIN;
  let [x, line] = [0, 0];
  const placed = entries.map(({ kind, text }) => {
    const most = Math.floor((usable - BESIDE_DOT) / LETTER);
    const shown = text.length > most ? `${text.slice(0, most - 1)}…` : text;
    const wide = BESIDE_DOT + shown.length * LETTER;
    if (x > 0 && x + wide > usable) [x, line] = [0, line + 1];
    const entry = { kind, text: shown, x: MARGIN + x, line };
    x += wide + BETWEEN;
    return entry;
  });
  return { entries: placed, lines: line + 1 };
}

/** Keeps a label inside the drawing by anchoring it at its near end. */
export function labelAnchor(x: number, width: number): 'start' | 'middle' | 'end' {
  if (x < width * 0.2) return 'start';
  return x > width * 0.8 ? 'end' : 'middle';
}

interface Grid {
  rows: number;
  pitch: number;
  top: number;
  bottom: number;
  left: number;
}

function pitchFor(answers: number, rows: number, usable: number): number {
  return Math.min(WIDEST_PITCH, usable / Math.max(1, Math.ceil(answers / rows)));
}

function rowsFor(answers: number, usable: number): number {
  const roomy = usable > 600 ? 36 : 24;
  const smallest = Math.max(
    usable > 600 ? 12 : 9,
    Math.min(roomy, 0.6 * Math.sqrt((usable * 220) / answers)),
  );
  let rows = 1;
  while (rows < answers && pitchFor(answers, rows, usable) < smallest) rows += 1;
  return rows;
}

// Counts need not be whole here, so the line stands where the count would, even inside a column.
function straightLine(count: number, { rows, pitch, top, bottom, left }: Grid): { x: number; path: string } {
  const x = left + (count / rows) * pitch;
  return { x, path: `M${round(x)} ${top - OVERSHOOT}V${round(bottom + OVERSHOOT)}` };
}

// Passes between the dot that is enough and the next one: down a column, with one step where needed.
function steppedLine(count: number, { rows, pitch, top, bottom, left }: Grid): { x: number; path: string } {
  const columns = Math.floor(count / rows);
  const rest = count % rows;
  const x = left + columns * pitch;
  if (rest === 0) return { x, path: `M${round(x)} ${top - OVERSHOOT}V${round(bottom + OVERSHOOT)}` };
  const far = round(x + pitch);
  const path = `M${far} ${top - OVERSHOOT}V${round(top + rest * pitch)}H${round(x)}V${round(bottom + OVERSHOOT)}`;
  return { x, path };
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
