// Small words that say how much or lead in, never what. 'not', 'no' and 'less' are not among them: they turn the sense.
const FILLERS = new Set(
  (
    'a an and any bit from hint in is it its like little more note notes of quite rather slight slightly ' +
    'smell smells some taste tastes the touch very'
  ).split(' '),
);

const LETTERS: readonly (readonly [RegExp, string])[] = [
  [/æ/g, 'ae'],
  [/œ/g, 'oe'],
  [/ø/g, 'o'],
  [/ß/g, 'ss'],
  [/[’'`´]/g, ''],
  // British and American spelling of what the trade names often.
  [/sulf/g, 'sulph'],
  [/yogurt/g, 'yoghurt'],
  [/\bmold/g, 'mould'],
  [/licorice/g, 'liquorice'],
  [/savory/g, 'savoury'],
  [/flavor/g, 'flavour'],
];

/** One word without its plural ending: 'drops' to 'drop', 'berries' to 'berry', 'grass' stays. */
function singular(token: string): string {
  if (token.length < 4 || /(?:ss|us|is)$/.test(token)) return token;
  if (/ies$/.test(token)) return `${token.slice(0, -3)}y`;
  if (/(?:sh|ch|x|ss|zz|o)es$/.test(token)) return token.slice(0, -2);
  return token.endsWith('s') ? token.slice(0, -1) : token;
}

/**
 * The words of a text as they are compared: lower case, without accents, apostrophes, plural endings and fillers.
 * A text of fillers only keeps them. Longer texts are read up to 80 characters.
 * Example: 'Smells like Pear-Drops' is ['pear', 'drop']
 */
export function normalTokens(text: string): string[] {
  return tellingTokens(text).map(singular);
}

/** As `normalTokens`, with plural endings: 'citurs' is no plural, so slips are looked for before they are cut off. */
export function tellingTokens(text: string): string[] {
  const lower = text.slice(0, 80).toLowerCase().normalize('NFD').replace(/\p{M}/gu, '');
  const plain = LETTERS.reduce((changed, [from, to]) => changed.replace(from, to), lower);
  const tokens = plain.split(/[^\p{L}\p{N}]+/u).filter((token) => token !== '');
  const telling = tokens.filter((token) => !FILLERS.has(token));
  return telling.length > 0 ? telling : tokens;
}

/** One text for all ways to write the same: the normal tokens in alphabetical order. '' for a text without letters or digits. */
export function normalKey(text: string): string {
  return normalTokens(text).sort().join(' ');
}
