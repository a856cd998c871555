/**
 * How samples are told apart on a plot: a shape each, a hue each, and their names beside. Six hues that colour-blind readers
 * can tell and that stand out from paper by 3 to 1; a second round of samples has the same shapes, hollow.
 */
const HUES = ['var(--arm-1)', 'var(--arm-2)', '#22694a', '#7d3f86', '#5f5300', '#1d1916'] as const;

type Shape = (x: number, y: number, r: number) => string;

const circle: Shape = (x, y, r) =>
  `M${f(x - r)} ${f(y)}a${f(r)} ${f(r)} 0 1 0 ${f(2 * r)} 0a${f(r)} ${f(r)} 0 1 0 ${f(-2 * r)} 0z`;
const square: Shape = (x, y, r) =>
  `M${f(x - 0.9 * r)} ${f(y - 0.9 * r)}h${f(1.8 * r)}v${f(1.8 * r)}h${f(-1.8 * r)}z`;
const up: Shape = (x, y, r) => `M${f(x)} ${f(y - 1.15 * r)}l${f(1.15 * r)} ${f(2 * r)}h${f(-2.3 * r)}z`;
const diamond: Shape = (x, y, r) =>
  `M${f(x)} ${f(y - 1.25 * r)}l${f(1.25 * r)} ${f(1.25 * r)}l${f(-1.25 * r)} ${f(1.25 * r)}l${f(-1.25 * r)} ${f(-1.25 * r)}z`;
const down: Shape = (x, y, r) => `M${f(x)} ${f(y + 1.15 * r)}l${f(1.15 * r)} ${f(-2 * r)}h${f(-2.3 * r)}z`;
const cross: Shape = (x, y, r) => {
  const [arm, half] = [f(0.8 * r), 0.4 * r];
  return `M${f(x - half)} ${f(y - half - 0.8 * r)}h${f(2 * half)}v${arm}h${arm}v${f(2 * half)}h-${arm}v${arm}h${f(-2 * half)}v-${arm}h-${arm}v${f(-2 * half)}h${arm}z`;
};
const SHAPES: readonly Shape[] = [circle, square, up, diamond, down, cross];

export interface SampleMark {
  path: string;
  fill: string;
  stroke: string;
}

/** The mark of the sample at a place (from 0) in the order of the result, drawn around a point. */
export function sampleMark(place: number, x: number, y: number, r: number): SampleMark {
  const hue = HUES[place % HUES.length] ?? 'var(--ink)';
  const shape = SHAPES[place % SHAPES.length] ?? circle;
  return { path: shape(x, y, r), fill: place < SHAPES.length ? hue : 'var(--paper)', stroke: hue };
}

export interface LegendEntry {
  place: number;
  name: string;
  x: number;
  y: number;
}

const LETTER = 7.6;
const ROW = 24;

/** About how wide a text of 15 px stands. Letters differ; a plot only needs to know what would not fit. */
export function textWidth(text: string): number {
  return text.length * LETTER;
}

/** A text cut to what fits into a width, with an ellipsis. */
export function fitted(text: string, width: number): string {
  const most = Math.max(3, Math.floor(width / LETTER));
  return text.length <= most ? text : `${text.slice(0, most - 1).trimEnd()}…`;
}

/** Marks with names side by side, wrapping at the width of the drawing. */
export function sampleLegend(
  names: readonly string[],
  width: number,
): { entries: LegendEntry[]; height: number } {
  let x = 8;
  let y = 16;
  const entries = names.map((name, place) => {
    const shown = fitted(name, width - 40);
    const wide = textWidth(shown) + 44;
    if (x > 8 && x + wide > width) {
      x = 8;
      y += ROW;
    }
    const entry = { place, name: shown, x, y };
    x += wide;
    return entry;
  });
  return { entries, height: names.length === 0 ? 0 : y + ROW / 2 };
}

function f(value: number): number {
  return Math.round(value * 100) / 100;
}
