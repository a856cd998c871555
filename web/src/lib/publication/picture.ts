import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { isDifferenceKind } from '@oddglass/shared/kinds/kinds.ts';
import { stripOf } from '#lib/result/choice/strip-of.ts';

/** Pixels of the picture that stands beside a shared link. */
export const PICTURE = { width: 1200, height: 630 } as const;

export interface Circle {
  x: number;
  y: number;
  radius: number;
  /** Filled, or only a line around. */
  filled: boolean;
}

/** A line straight down, at what guessing gives or what is needed. */
export interface Post {
  x: number;
  top: number;
  bottom: number;
  strong: boolean;
}

export interface Picture {
  circles: Circle[];
  posts: Post[];
  words: string;
}

/**
 * The picture of a publication: one dot per answer of its first choice test, with the lines of guessing and of what is needed; else the
 * mark. It carries no letters, since title and finding stand beside it wherever it is shown.
 */
export function pictureOf({ sessions, demo }: Publication): Picture {
  const first = sessions
    .flatMap(({ parts }) => parts)
    .find((part) => isDifferenceKind(part) && part.test.answers > 0);
  if (!first || !isDifferenceKind(first)) return markPicture();
  const strip = stripOf(first);
  const columns = Math.min(strip.answers, Math.max(12, Math.ceil(Math.sqrt(strip.answers * 4))));
  const rows = Math.ceil(strip.answers / columns);
  const step = Math.min(1040 / columns, 430 / rows, 110);
  const left = (PICTURE.width - step * columns) / 2;
  const top = (PICTURE.height - step * rows) / 2;
  const circles = Array.from({ length: strip.answers }, (_, at): Circle => ({
    x: left + step * ((at % columns) + 0.5),
    y: top + step * (Math.floor(at / columns) + 0.5),
    radius: step * 0.34,
    filled: at < strip.counted,
  }));
  // Lines are drawn where all dots stand in one row; in several rows they would have to be steps.
  const post = (after: number, strong: boolean): Post => ({
    x: left + step * after,
    top: top - (strong ? 0 : 46),
    bottom: top + step + (strong ? 46 : 0),
    strong,
  });
  const posts =
    rows > 1
      ? []
      : [post(strip.expected, false), ...(strip.critical === null ? [] : [post(strip.critical, true)])];
  return { circles, posts, words: `${demo ? 'Invented demo data. ' : ''}${strip.alternative}` };
}

function markPicture(): Picture {
  const circles = [0, 1, 2].map((at): Circle => ({
    x: PICTURE.width / 2 + (at - 1) * 260,
    y: PICTURE.height / 2,
    radius: 100,
    filled: at === 1,
  }));
  return {
    circles,
    posts: [],
    words: 'Three circles in a row, the middle one filled: the mark of Oddglass.',
  };
}

/** The picture in words. */
export function pictureWords(publication: Publication): string {
  return pictureOf(publication).words;
}

type Colour = readonly [number, number, number];
const PAPER: Colour = [0xf8, 0xf4, 0xec];
const INK: Colour = [0x1d, 0x19, 0x16];
const ACCENT: Colour = [0x6a, 0x1f, 0x45];

/** Pixels of the picture, three bytes each (red, green, blue), row by row from the top, edges smoothed. */
export function pixelsOf({ circles, posts }: Picture): Uint8Array {
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
  for (const { x, y, radius, filled } of circles) {
    const line = Math.max(2, radius / 16);
    for (let row = Math.floor(y - radius - 2); row <= y + radius + 2; row += 1) {
      for (let column = Math.floor(x - radius - 2); column <= x + radius + 2; column += 1) {
        const far = Math.hypot(column + 0.5 - x, row + 0.5 - y);
        const inside = radius - far + 0.5;
        if (filled) lay(column, row, ACCENT, inside);
        else lay(column, row, INK, Math.min(inside, far - (radius - line) + 0.5));
      }
    }
  }
  for (const { x, top, bottom, strong } of posts) {
    for (let row = Math.round(top); row < bottom; row += 1) {
      if (!strong && row % 16 >= 8) continue;
      for (let column = 0; column < (strong ? 4 : 3); column += 1)
        lay(Math.round(x) - 2 + column, row, INK, 1);
    }
  }
  return pixels;
}
