// Letters of other scripts that stand for a Latin one to the eye, from memory of Unicode's confusables (UTS #39), without
// what only some typefaces draw alike.
const CYRILLIC = 'аa вb сc ԁd еe һh іi јj кk мm нh оo рp ԛq ѕs тt уy хx ԝw ӏl үy гr пn ьb';
const GREEK = 'αa βb εe ηn ιi κk νv οo ρp τt υu χx γy ζz μm';
// Digits and strokes that pass for letters, in small letters as names are compared.
const STROKES = '0o 1l |l';
const LIKE: ReadonlyMap<string, string> = new Map(
  [CYRILLIC, GREEK, STROKES].flatMap((pairs) =>
    pairs.split(' ').map((pair): [string, string] => [pair[0]!, pair[1]!]),
  ),
);

/**
 * What a name looks like: two names with the same look would be taken for one another. Compatibility forms (full width,
 * mathematical letters) are undone by NFKC, case is ignored, letters like Latin ones become these, a capital I is a small l.
 *
 * @param name in any normal form
 * @returns a text to compare, not to show
 */
export function lookOf(name: string): string {
  const plain = name
    .normalize('NFKC')
    .replace(/\p{White_Space}+/gu, ' ')
    .trim();
  // Either case may be drawn, and they are not always alike: an I looks like an l, an i does not.
  const folded = [...plain.replaceAll('I', 'l').toLowerCase().normalize('NFKC')];
  return folded.map((letter) => LIKE.get(letter) ?? letter).join('');
}

// Scripts that are written together (UTS #39, section 5.1: the augmented sets).
const TOGETHER: readonly (readonly string[])[] = [
  ['Han', 'Hiragana', 'Katakana'],
  ['Han', 'Hangul'],
  ['Han', 'Bopomofo'],
];
const SCRIPTS = [
  'Latin',
  'Cyrillic',
  'Greek',
  'Armenian',
  'Georgian',
  'Hebrew',
  'Arabic',
  'Devanagari',
  'Bengali',
  'Tamil',
  'Telugu',
  'Thai',
  'Ethiopic',
  'Cherokee',
  'Coptic',
  'Lisu',
  'Han',
  'Hiragana',
  'Katakana',
  'Hangul',
  'Bopomofo',
].map((script) => ({ script, pattern: new RegExp(`\\p{Script=${script}}`, 'u') }));

/** Are all letters of the name of one script, or of those that are written together? Digits, marks and signs go with any. */
export function isOneScript(name: string): boolean {
  const found = new Set<string>();
  for (const letter of name.match(/\p{L}/gu) ?? []) {
    if (/\p{Script=Common}/u.test(letter)) continue;
    found.add(SCRIPTS.find(({ pattern }) => pattern.test(letter))?.script ?? 'other');
  }
  if (found.size <= 1) return true;
  return TOGETHER.some((group) => [...found].every((script) => group.includes(script)));
}
