/** Ends of the line, as they are stored: 0 at the low end, 100 at the high end. */
export const LINE_MAX = 100;

/** Where a finger or pointer is on a line from `left`, `width` px long; beyond an end is that end. */
export function markAt(x: number, left: number, width: number): number {
  if (width <= 0) return 0;
  return Math.min(LINE_MAX, Math.max(0, Math.round(((x - left) / width) * LINE_MAX)));
}

const MIDDLE = LINE_MAX / 2;
const STEP = 1;
const PAGE = 10;

/**
 * The mark after a key press; null when the key is none of the line's. A line without a mark has no place to step from:
 * its first arrow or page key puts the mark in the middle. Digits put it at tenths of the line.
 */
export function markAfterKey(key: string, mark: number | null): number | null {
  if (/^[0-9]$/.test(key)) return Number(key) * PAGE;
  switch (key) {
    case 'Home':
      return 0;
    case 'End':
      return LINE_MAX;
    case 'ArrowRight':
    case 'ArrowUp':
      return stepped(mark, STEP);
    case 'ArrowLeft':
    case 'ArrowDown':
      return stepped(mark, -STEP);
    case 'PageUp':
      return stepped(mark, PAGE);
    case 'PageDown':
      return stepped(mark, -PAGE);
    default:
      return null;
  }
}

const stepped = (mark: number | null, by: number): number =>
  mark === null ? MIDDLE : Math.min(LINE_MAX, Math.max(0, mark + by));

/** What a listener hears of a line: never a number that was not marked. */
export function lineWords(value: number | null | undefined): string {
  if (value === undefined) return 'not marked yet';
  return value === null ? 'I cannot say' : `${value} of ${LINE_MAX}`;
}
