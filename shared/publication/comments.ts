/** name: one of the names handed in. The others are what can be written anywhere. */
export type CommentFlagKind = 'name' | 'mail' | 'phone' | 'handle' | 'address' | 'code' | 'person';

export interface CommentFlag {
  kind: CommentFlagKind;
  /** The very words, for the host to look at. */
  found: string;
  /** A sentence for the host. */
  why: string;
}

const WHY: Readonly<Record<CommentFlagKind, string>> = {
  name: 'This is the name of somebody of the panel.',
  mail: 'This looks like a mail address.',
  phone: 'This looks like a telephone number.',
  handle: 'This looks like somebody’s handle.',
  address: 'This looks like an address on the web.',
  code: 'A code, seat or place leads through an opened tray to who sat there.',
  person: 'This tells something of a person rather than of a cup.',
};

const PATTERNS: readonly [CommentFlagKind, RegExp][] = [
  ['mail', /[^\s@]+\s?(?:@|\(at\)|\[at\])\s?[\p{L}\p{N}-]+(?:\.[\p{L}\p{N}-]+)+/giu],
  [
    'address',
    /(?:https?:\/\/|www\.)\S+|\b[\p{L}\p{N}-]+\.(?:com|org|net|io|eu|de|uk|fr|app|dev|info|social)\b\S*/giu,
  ],
  // Seven digits or more, however they are grouped.
  ['phone', /(?<![\p{L}\p{N}])\+?\(?\d(?:[\s()./-]*\d){6,14}(?![\p{L}\p{N}])/gu],
  ['handle', /(?<![\p{L}\p{N}.])@[\p{L}\p{N}_][\p{L}\p{N}_.-]+/gu],
  [
    'code',
    /\b(?:seat|table|place|tray)\s*(?:no\.?|number|#)?\s*\d+\b|(?<![\d.,])[1-9]\d{2}(?![\d]|[.,]\d|\s*(?:ml|g|mg|%))/giu,
  ],
  [
    'person',
    /\b(?:my|our|his|her)\s+(?:wife|husband|partner|boyfriend|girlfriend|mother|father|mum|mom|dad|son|daughter|brother|sister|boss|neighbou?r|doctor|job|work|company|employer|church|house|home|street|village|birthday)\b/giu,
  ],
  [
    'person',
    /\b(?:i|i['’]m|i\s+am|he\s+is|she\s+is)\s+(?:(?:have|had|am|a|an|the|still|now|currently)\s+)*(?:pregnant|allergic|diabetic|vegan|vegetarian|asthmatic|anosmic|ill|sick|(?:a\s+)?(?:brewer|teacher|nurse|doctor|smoker|sommelier|baker|farmer|student|chemist))\b/giu,
  ],
  ['person', /\b(?:[Mm]rs?|[Mm]s|[Mm]iss|[Dd]r|[Pp]rof|[Hh]err|[Ff]rau)\.?\s+\p{Lu}\p{L}+/gu],
  [
    'person',
    /\b(?:[Bb]rewed|[Mm]ade|[Ww]ritten|[Ss]igned|[Gg]reetings|[Cc]heers|[Ll]ove|[Rr]egards)\s*(?:by|from|,)\s+\p{Lu}\p{L}+/gu,
  ],
  // A name that owns a drink or a place; without a list of names a capital letter is all there is to go by.
  [
    'person',
    /\b\p{Lu}\p{L}+['’]s\s+(?:wine|beer|mead|cider|kitchen|cellar|garden|batch|recipe|brew|barrel)\b/gu,
  ],
];

/**
 * What in a line could tell who wrote it, or whom it is about, for the host to look at before the line is passed. A help, no
 * proof: a line without flags may still be in a voice that others know. Never throws.
 *
 * @param knownNames of the panel, the assessors and the host; each word of a name counts from three letters on.
 * Source: our own patterns; no source.
 */
export function scanComment(line: string, knownNames: readonly string[]): CommentFlag[] {
  const flags: CommentFlag[] = namesIn(line, knownNames);
  for (const [kind, pattern] of PATTERNS) {
    for (const [found] of line.matchAll(pattern)) flags.push({ kind, found: found.trim(), why: WHY[kind] });
  }
  return flags;
}

function namesIn(line: string, knownNames: readonly string[]): CommentFlag[] {
  const names = new Set(
    knownNames
      .flatMap((name) => name.split(/[\s,;]+/u))
      .filter((word) => [...word].length >= 3)
      .map(plain),
  );
  return [...line.matchAll(/[\p{L}\p{M}][\p{L}\p{M}\p{N}'’-]*/gu)].flatMap(([word]) => {
    // 'Anna', 'Anna's', 'Anna-Lena': any part of it may be the name.
    const parts = [word, word.replace(/['’]s?$/u, ''), ...word.split(/['’-]/u)];
    return parts.some((one) => names.has(plain(one)))
      ? [{ kind: 'name' as const, found: word, why: WHY.name }]
      : [];
  });
}

/** Without case and accents: 'Zoë' and 'zoe' are one name. */
function plain(word: string): string {
  return word.normalize('NFKD').replaceAll(/\p{M}/gu, '').toLocaleLowerCase('en');
}
