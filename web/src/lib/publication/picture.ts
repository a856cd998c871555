import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { LETTER, letterDots } from './picture-letters.ts';
import { pictureRows, type PictureRow } from './picture-rows.ts';

/** Pixels of the picture that stands beside a shared link. */
export const PICTURE = { width: 1200, height: 630 } as const;

export interface Circle {
  x: number;
  y: number;
  radius: number;
  /** Filled, or only a line around. */
  filled: boolean;
  /** Left out: filled ones in the accent, rings in ink. */
  tone?: 'ink' | 'accent';
}

/** A line straight down, at what guessing gives or what is needed. */
export interface Post {
  x: number;
  top: number;
  bottom: number;
  strong: boolean;
}

/** A line across, on which samples stand. */
export interface Rail {
  y: number;
  left: number;
  right: number;
}

/** A line of text, drawn in dots of `dot` pixels. */
export interface Lettering {
  text: string;
  x: number;
  y: number;
  dot: number;
}

export interface Picture {
  circles: Circle[];
  posts: Post[];
  rails: Rail[];
  letters: Lettering[];
  words: string;
}

const MARGIN = 60;
const WIDE = PICTURE.width - 2 * MARGIN;
/** So many findings have room for a drawing each; what follows is counted in words. */
const MAX_ROWS = 5;

/**
 * The picture of a publication: each finding of each session with its dots, or its samples on lines, and under it in words what
 * guessing gives and what is needed.
 */
export function pictureOf(publication: Publication): Picture {
  const rows = pictureRows(publication);
  const shown = rows.length > MAX_ROWS ? rows.slice(0, MAX_ROWS - 1) : rows;
  const left = rows.length - shown.length;
  const heading = publication.demo ? 'Invented demo data' : '';
  const top = heading === '' ? 30 : 70;
  const foot = left > 0 ? 60 : 20;
  const room = (PICTURE.height - top - foot) / Math.max(1, shown.length);
  const drawn = shown.map((row, at) => drawRow(row, top + room * at, room));
  const more = `and ${left} more findings, on the page`;
  const invented = publication.demo ? 'Invented demo data. ' : '';
  return {
    circles: drawn.flatMap(({ circles }) => circles),
    posts: drawn.flatMap(({ posts }) => posts),
    rails: drawn.flatMap(({ rails }) => rails),
    letters: [
      ...(heading === '' ? [] : [lettering(heading, MARGIN, 28, 3)]),
      ...drawn.flatMap(({ letters }) => letters),
      ...(left > 0 ? [lettering(more, MARGIN, PICTURE.height - 50, 3)] : []),
    ],
    words: `${invented}${shown.map(({ alternative }) => alternative).join(' ')}${left > 0 ? ` ${more}.` : ''}`,
  };
}

/** The picture in words. */
export function pictureWords(publication: Publication): string {
  return pictureOf(publication).words;
}

type Drawn = Omit<Picture, 'words'>;

function drawRow(row: PictureRow, top: number, room: number): Drawn {
  const dot = room > 240 ? 4 : 3;
  const texts = wrapped(
    row.words,
    Math.floor(WIDE / (LETTER.columns * dot)),
    room > 110 || !row.dots ? 3 : 1,
  );
  const line = LETTER.rows * dot + dot * 2;
  const letters = texts.map((text, at) =>
    lettering(text, MARGIN, top + room - line * (texts.length - at) - dot * 2, dot),
  );
  const height = room - line * texts.length - dot * 4;
  if (row.dots) return { ...drawDots(row.dots, top, height), rails: [], letters };
  const names = legend(row.samples, dot);
  const below = names.lines * line;
  const drawn = drawLines(row.lines, top, height - below);
  const from = top + height - below + dot * 2;
  return {
    circles: [
      ...drawn.circles,
      ...names.marks.map(({ x, y, place }) => markAt(place, x, from + y * line + dot * 3.5, dot * 3.5)),
    ],
    rails: drawn.rails,
    posts: [],
    letters: [
      ...drawn.letters,
      ...letters,
      ...names.marks.map(({ x, y, name }) => lettering(name, x + dot * 7, from + y * line, dot)),
    ],
  };
}

/** Names beside their marks, on as many lines as they need, two at most. */
function legend(
  samples: readonly string[],
  dot: number,
): { lines: number; marks: { name: string; place: number; x: number; y: number }[] } {
  const marks: { name: string; place: number; x: number; y: number }[] = [];
  let [x, y] = [MARGIN + dot * 4, 0];
  for (const [place, whole] of samples.entries()) {
    const name = fitted(whole, 34);
    const wide = (name.length * LETTER.columns + 20) * dot;
    if (x > MARGIN + dot * 4 && x + wide > PICTURE.width - MARGIN) [x, y] = [MARGIN + dot * 4, y + 1];
    if (y > 1) break;
    marks.push({ name, place, x, y });
    x += wide;
  }
  return { lines: samples.length === 0 ? 0 : Math.min(2, y + 1), marks };
}

/** How a sample is marked, by its place. */
const markAt = (place: number, x: number, y: number, radius: number): Circle => ({
  x,
  y,
  radius: place < 4 ? radius : radius * 0.6,
  filled: place % 2 === 0,
  tone: place % 4 === 0 || place % 4 === 3 ? 'accent' : 'ink',
});

function drawDots(
  { answers, counted, expected, critical }: NonNullable<PictureRow['dots']>,
  top: number,
  height: number,
): Pick<Drawn, 'circles' | 'posts'> {
  const reach = Math.min(30, height * 0.16);
  const inner = height - 2 * reach;
  // As many columns as give the largest dots.
  const columns = Array.from({ length: answers }, (_, at) => at + 1).reduce((best, one) =>
    stepOf(one, answers, inner) > stepOf(best, answers, inner) ? one : best,
  );
  const rows = Math.ceil(answers / columns);
  const step = stepOf(columns, answers, inner);
  const left = (PICTURE.width - step * columns) / 2;
  const first = top + reach + (inner - step * rows) / 2;
  const circles = Array.from({ length: answers }, (_, at): Circle => ({
    x: left + step * ((at % columns) + 0.5),
    y: first + step * (Math.floor(at / columns) + 0.5),
    radius: step * 0.36,
    filled: at < counted,
  }));
  // Dots in several rows are counted from the left, row by row: the line stands in the row in which its number is reached.
  const post = (after: number, strong: boolean): Post => {
    const row = Math.min(rows - 1, Math.max(0, Math.ceil(after / columns) - 1));
    return {
      x: left + step * (after - row * columns),
      top: first + step * row - (strong ? 0 : reach),
      bottom: first + step * (row + 1) + (strong ? reach : 0),
      strong,
    };
  };
  return { circles, posts: [post(expected, false), ...(critical === null ? [] : [post(critical, true)])] };
}

const stepOf = (columns: number, answers: number, height: number): number =>
  Math.min(WIDE / columns, height / Math.ceil(answers / columns), 96);

const LABELS = 300;

function drawLines(lines: PictureRow['lines'], top: number, height: number): Omit<Drawn, 'posts'> {
  const step = height / Math.max(1, lines.length);
  const radius = Math.min(18, step * 0.3);
  const [left, right] = [MARGIN + LABELS + radius, PICTURE.width - MARGIN - radius];
  const dot = 3;
  return {
    rails: lines.map((_, at) => ({ y: top + step * (at + 0.5), left, right })),
    circles: lines.flatMap(({ points }, at) =>
      points.map(({ place, at: share }) =>
        markAt(place, left + (right - left) * share, top + step * (at + 0.5), radius),
      ),
    ),
    letters: lines.map(({ name }, at) =>
      lettering(
        fitted(name, Math.floor(LABELS / (LETTER.columns * dot))),
        MARGIN,
        top + step * (at + 0.5) - (LETTER.rows * dot) / 2,
        dot,
      ),
    ),
  };
}

const lettering = (text: string, x: number, y: number, dot: number): Lettering => ({ text, x, y, dot });

/** A name with as many letters as fit; what is cut says so. */
const fitted = (text: string, most: number): string =>
  text.length <= most ? text : `${text.slice(0, most - 2).trimEnd()}..`;

/** A text on lines of so many letters; more lines than there is room for end in dots. */
function wrapped(text: string, most: number, lines: number): string[] {
  const found: string[] = [];
  for (const word of text.split(/\s+/)) {
    const last = found.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= most)
      found[found.length - 1] = `${last} ${word}`;
    else found.push(fitted(word, most));
  }
  if (found.length <= lines) return found;
  return [...found.slice(0, lines - 1), fitted(`${found.slice(lines - 1).join(' ')} `, most)];
}

type Colour = readonly [number, number, number];
const PAPER: Colour = [0xf8, 0xf4, 0xec];
const INK: Colour = [0x1d, 0x19, 0x16];
const ACCENT: Colour = [0x6a, 0x1f, 0x45];
const HAIR: Colour = [0xb8, 0xac, 0x9a];

/** Pixels of the picture, three bytes each (red, green, blue), row by row from the top, edges smoothed. */
export function pixelsOf({ circles, posts, rails, letters }: Omit<Picture, 'words'>): Uint8Array {
  const { width, height } = PICTURE;
  const pixels = new Uint8Array(width * height * 3);
  for (let at = 0; at < pixels.length; at += 3) pixels.set(PAPER, at);
  const lay = (x: number, y: number, colour: Colour, cover: number): void => {
    if (x < 0 || y < 0 || x >= width || y >= height || cover <= 0) return;
    const at = (y * width + x) * 3;
    colour.forEach((value, channel) => {
      const below = pixels[at + channel] ?? 0;
      pixels[at + channel] = Math.round(below + (value - below) * Math.min(1, cover));
    });
  };
  const block = (x: number, y: number, across: number, down: number, colour: Colour): void => {
    for (let row = Math.round(y); row < Math.round(y + down); row += 1)
      for (let column = Math.round(x); column < Math.round(x + across); column += 1)
        lay(column, row, colour, 1);
  };
  for (const { y, left, right } of rails) block(left, y - 1, right - left, 2, HAIR);
  for (const circle of circles) layCircle(circle, lay);
  for (const { x, top, bottom, strong } of posts) {
    for (let y = Math.round(top); y < bottom; y += strong ? bottom - top : 16)
      block(x - 2, y, strong ? 4 : 3, strong ? bottom - top : Math.min(8, bottom - y), INK);
  }
  for (const { text, x, y, dot } of letters)
    for (const { column, row } of letterDots(text)) block(x + column * dot, y + row * dot, dot, dot, INK);
  return pixels;
}

function layCircle(
  { x, y, radius, filled, tone }: Circle,
  lay: (x: number, y: number, colour: Colour, cover: number) => void,
): void {
  const line = Math.max(2, radius / 10);
  const colour = (tone ?? (filled ? 'accent' : 'ink')) === 'accent' ? ACCENT : INK;
  for (let row = Math.floor(y - radius - 2); row <= y + radius + 2; row += 1) {
    for (let column = Math.floor(x - radius - 2); column <= x + radius + 2; column += 1) {
      const far = Math.hypot(column + 0.5 - x, row + 0.5 - y);
      const inside = radius - far + 0.5;
      lay(column, row, colour, filled ? inside : Math.min(inside, far - (radius - line) + 0.5));
    }
  }
}
