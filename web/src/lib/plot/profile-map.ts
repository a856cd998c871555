import { textWidth } from './sample-marks.ts';

export interface MapInput {
  samples: readonly { name: string; place: number; x: number; y: number }[];
  /** The most telling first: names that find no room are left out. */
  words: readonly { name: string; x: number; y: number }[];
  ellipses: readonly {
    place: number;
    centre: readonly [number, number];
    halfAxes: readonly [number, number];
    angle: number;
  }[];
  width: number;
}

interface Label {
  text: string;
  x: number;
  y: number;
  anchor: 'start' | 'middle' | 'end';
}

export interface MapLayout {
  width: number;
  height: number;
  /** Where both axes are 0. */
  origin: { x: number; y: number };
  samples: { place: number; x: number; y: number; label: Label | null }[];
  words: { x: number; y: number; label: Label | null }[];
  ellipses: { place: number; path: string }[];
}

interface Box {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

const EDGE = 22;
const HEIGHT = 17;
const SAMPLE_RADIUS = 8;
/** A map is no taller than this times its width. */
const TALLEST = 0.8;

/**
 * Samples and words on a plane with one scale for both axes, since distances on a map compare only so. Names are put beside
 * their points where they find room: samples first, then words as given; a word without room keeps its dot.
 */
export function mapLayout({ samples, words, ellipses, width }: MapInput): MapLayout {
  const outlines = ellipses.map((ellipse) => ({ place: ellipse.place, points: outline(ellipse) }));
  const all = [...samples, ...words, ...outlines.flatMap(({ points }) => points), { x: 0, y: 0 }];
  const [x0, x1] = [Math.min(...all.map(({ x }) => x)), Math.max(...all.map(({ x }) => x))];
  const [y0, y1] = [Math.min(...all.map(({ y }) => y)), Math.max(...all.map(({ y }) => y))];
  // Room for names at both sides.
  const side = width < 600 ? 34 : 120;
  const wide = width - 2 * side;
  const tallest = TALLEST * width - 2 * EDGE;
  const scale = Math.min(wide / Math.max(1e-9, x1 - x0), tallest / Math.max(1e-9, y1 - y0));
  const height = Math.max(220, (y1 - y0) * scale + 2 * EDGE + 20);
  const at = (point: { x: number; y: number }) => ({
    x: round(width / 2 + (point.x - (x0 + x1) / 2) * scale),
    y: round(height / 2 - (point.y - (y0 + y1) / 2) * scale),
  });
  const taken: Box[] = samples.map((sample) => around(at(sample), SAMPLE_RADIUS + 1));
  const frame: Box = { left: 2, right: width - 2, top: 2, bottom: height - 2 };
  const placedSamples = samples.map((sample) => {
    const point = at(sample);
    return {
      place: sample.place,
      ...point,
      label: labelFor(sample.name, point, SAMPLE_RADIUS + 4, taken, frame, BOLD),
    };
  });
  const placedWords = words.map((word) => {
    const point = at(word);
    return { ...point, label: labelFor(word.name, point, 6, taken, frame) };
  });
  return {
    width,
    height: round(height),
    origin: at({ x: 0, y: 0 }),
    samples: placedSamples,
    words: placedWords,
    ellipses: outlines.map(({ place, points }) => ({
      place,
      path: `M${points
        .map(at)
        .map(({ x, y }) => `${x} ${y}`)
        .join('L')}Z`,
    })),
  };
}

const CORNERS = 72;

function outline({ centre, halfAxes, angle }: MapInput['ellipses'][number]): { x: number; y: number }[] {
  return Array.from({ length: CORNERS }, (_corner, index) => {
    const turn = (2 * Math.PI * index) / CORNERS;
    const [u, v] = [halfAxes[0] * Math.cos(turn), halfAxes[1] * Math.sin(turn)];
    return {
      x: centre[0] + u * Math.cos(angle) - v * Math.sin(angle),
      y: centre[1] + u * Math.sin(angle) + v * Math.cos(angle),
    };
  });
}

/** Bold letters stand wider. */
const BOLD = 1.15;

function labelFor(
  text: string,
  point: { x: number; y: number },
  gap: number,
  taken: Box[],
  frame: Box,
  stretch = 1,
): Label | null {
  const beside: Label[] = [
    { text, x: point.x + gap, y: point.y + 5, anchor: 'start' },
    { text, x: point.x - gap, y: point.y + 5, anchor: 'end' },
    { text, x: point.x, y: point.y - gap, anchor: 'middle' },
    { text, x: point.x, y: point.y + gap + 12, anchor: 'middle' },
    { text, x: point.x + gap, y: point.y - gap, anchor: 'start' },
    { text, x: point.x - gap, y: point.y + gap + 10, anchor: 'end' },
  ];
  for (const label of beside) {
    const box = boxOf(label, stretch);
    if (!inside(box, frame) || taken.some((other) => meet(box, other))) continue;
    taken.push(box);
    return { ...label, x: round(label.x), y: round(label.y) };
  }
  return null;
}

function boxOf({ text, x, y, anchor }: Label, stretch: number): Box {
  const wide = textWidth(text) * stretch;
  const left = { start: x, middle: x - wide / 2, end: x - wide }[anchor];
  return { left, right: left + wide, top: y - HEIGHT + 4, bottom: y + 4 };
}

function around({ x, y }: { x: number; y: number }, r: number): Box {
  return { left: x - r, right: x + r, top: y - r, bottom: y + r };
}

function inside(box: Box, frame: Box): boolean {
  return (
    box.left >= frame.left && box.right <= frame.right && box.top >= frame.top && box.bottom <= frame.bottom
  );
}

function meet(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

export interface LineLayout {
  width: number;
  height: number;
  axisY: number;
  zero: number;
  samples: {
    place: number;
    x: number;
    name: string;
    nameX: number;
    nameY: number;
    anchor: 'start' | 'middle' | 'end';
  }[];
  words: { x: number; name: string; nameX: number; nameY: number; anchor: 'start' | 'middle' | 'end' }[];
}

/** One axis: samples and their names above the line, words below it, each name on the nearest free row. */
export function lineLayout({
  samples,
  words,
  width,
}: {
  samples: readonly { name: string; place: number; x: number }[];
  words: readonly { name: string; x: number }[];
  width: number;
}): LineLayout {
  const all = [...samples, ...words].map(({ x }) => x).concat(0);
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const scale = (width - 2 * EDGE - 8) / Math.max(1e-9, most - least);
  const at = (x: number): number => round(EDGE + 4 + (x - least) * scale);
  const above = inRows(
    samples.map(({ name, x }) => ({ name, x: at(x) })),
    width,
  );
  const below = inRows(
    words.map(({ name, x }) => ({ name, x: at(x) })),
    width,
  );
  const axisY = 22 + ROW * (1 + Math.max(-1, ...above.map(({ row }) => row)));
  const deepest = 1 + Math.max(-1, ...below.map(({ row }) => row));
  return {
    width,
    height: axisY + 30 + ROW * deepest,
    axisY,
    zero: at(0),
    samples: above.map(({ row, ...name }, index) => ({
      place: samples[index]?.place ?? 0,
      ...name,
      nameY: axisY - 16 - ROW * row,
    })),
    words: below.map(({ row, ...name }) => ({ ...name, nameY: axisY + 28 + ROW * row })),
  };
}

const ROW = 22;

function inRows(
  points: readonly { name: string; x: number }[],
  width: number,
): { x: number; name: string; nameX: number; anchor: 'start' | 'middle' | 'end'; row: number }[] {
  const rows: Box[][] = [];
  return points.map(({ name, x }) => {
    const wide = textWidth(name);
    const anchor = x - wide / 2 < 4 ? 'start' : x + wide / 2 > width - 4 ? 'end' : 'middle';
    const nameX =
      anchor === 'middle' ? x : anchor === 'start' ? Math.max(4, x - 6) : Math.min(width - 4, x + 6);
    const left = { start: nameX, middle: nameX - wide / 2, end: nameX - wide }[anchor];
    const box: Box = { left, right: left + wide + 8, top: 0, bottom: 1 };
    const free = rows.findIndex((row) => !row.some((other) => meet(box, other)));
    const row = free < 0 ? rows.push([]) - 1 : free;
    rows[row]?.push(box);
    return { x, name, nameX: round(nameX), anchor, row };
  });
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
