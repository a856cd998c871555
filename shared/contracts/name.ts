import { text } from './common.ts';

// Controls, what formats without being seen (zero-width, direction, tags), private use, line and paragraph separators, and
// the letters and marks that show as nothing: https://www.unicode.org/reports/tr36/ and the property
// Default_Ignorable_Code_Point, but for variation selectors, which emoji need.
const UNSEEN = /[\p{Cc}\p{Cf}\p{Co}\p{Zl}\p{Zp}\u115f\u1160\u2800\u3164\uffa0]|[\u034f\u17b4\u17b5]/u;
const BREAK = /[\n\r\t\u2028\u2029]/;

/** Why a text cannot be a name that people tell apart by looking: it hides or turns letters; undefined when it can. */
export function unseenIn(value: string): string | undefined {
  if (BREAK.test(value)) return 'Keep this to one line.';
  return UNSEEN.test(value)
    ? 'There is a character in this that cannot be seen, or that turns letters round. Type it anew.'
    : undefined;
}

/**
 * One line that names something: as `text`, and nothing in it is hidden. For what is sent; what was named before is read as
 * it is.
 */
export const name = (max: number) =>
  text(max).superRefine((value, context) => {
    const message = unseenIn(value);
    if (message !== undefined) context.addIssue({ code: 'custom', message });
  });
