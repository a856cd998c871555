const NUMBER_WORDS = [
  'none',
  'one',
  'two',
  'three',
  'four',
  'five',
  'six',
  'seven',
  'eight',
  'nine',
  'ten',
  'eleven',
  'twelve',
];

/** Small whole numbers as words, larger ones as digits. */
export function inWords(count: number): string {
  return NUMBER_WORDS[count] ?? String(count);
}

/** How many there are: 'no', 'one', 'twelve', '1,300'. */
export function howMany(count: number): string {
  return count === 0 ? 'no' : (NUMBER_WORDS[count] ?? count.toLocaleString('en'));
}

/** 'one person', 'nine people'. */
export function people(count: number): string {
  return `${inWords(count)} ${count === 1 ? 'person' : 'people'}`;
}

/** First letter raised, for the start of a sentence. */
export function capital(sentence: string): string {
  return sentence.charAt(0).toUpperCase() + sentence.slice(1);
}

/** A sentence as it stands within another. */
export function uncapital(sentence: string): string {
  return sentence.charAt(0).toLowerCase() + sentence.slice(1);
}

// Levels that are chosen: a p just above one must not be read as one that reached it. Common practice, no source.
const LEVELS = [0.01, 0.02, 0.05, 0.1, 0.2];

/**
 * Decimals in which p is told: three, and as many more as keep a p just above a usual level from reading as that level:
 * 0.0503 beside alpha 0.05. At most eight.
 */
export function pDecimals(p: number): number {
  let digits = 3;
  // Halves up, as the page rounds.
  while (
    digits < 8 &&
    LEVELS.some((level) => p > level && Math.round(p * 10 ** digits) / 10 ** digits <= level)
  )
    digits += 1;
  return digits;
}

/** A p value for reading: three decimals, never 0.000 (methods of reporting: exact p, no stars). */
export function pInWords(p: number): string {
  if (p < 0.001) return '< 0.001';
  if (p > 0.999 && p < 1) return '> 0.999';
  const digits = pDecimals(p);
  // Halves up, as the page rounds; toFixed alone follows the binary digits (0.0065 would be 0.006).
  return (Math.round(p * 10 ** digits) / 10 ** digits).toFixed(digits);
}

/** Upper ends of the bands in which p is told of small panels: usual levels, and what lies between. Our own; no source. */
const BANDS = [0.001, 0.01, 0.05, 0.1, 0.2, 0.5, 1] as const;

/** Upper end of the band that p lies in: 0.039 is told as at most 0.05. The usual levels of alpha are ends. p from 0 to 1. */
export const bandOf = (p: number): number => BANDS.find((end) => p <= end) ?? 1;

/** A band by its upper end, in words: 'at most 0.05', 'above 0.5'. */
export const bandInWords = (end: number): string => (end >= 1 ? 'above 0.5' : `at most ${end}`);

/** `p = 0.004`, `p < 0.001`; of a band, by its upper end: `p at most 0.05`. */
export function pEquals(p: number, bands = false): string {
  if (bands) return `p ${bandInWords(p)}`;
  const value = pInWords(p);
  return /^[<>]/.test(value) ? `p ${value}` : `p = ${value}`;
}

/** An upper bound of a share: what percent would call 'more than 99 %' is 100 %, which is true of a bound. */
export function upTo(share: number): string {
  return share >= 0.995 ? '100 %' : percent(share);
}

/** A share as whole per cent, without claiming 0 % or 100 % that was not reached. */
export function percent(share: number): string {
  if (share > 0 && share < 0.005) return 'less than 1 %';
  if (share < 1 && share > 0.995) return 'more than 99 %';
  return `${Math.round(share * 100)} %`;
}

/** How often chance alone does it: '4 times in 1,000'. */
export function timesIn(p: number): string {
  if (p < 0.0005) return 'less than once in 1,000 times';
  const [count, of] = p < 0.0995 ? [Math.round(p * 1000), '1,000'] : [Math.round(p * 100), '100'];
  if (count === 1) return `once in ${of} times`;
  return `${count} times in ${of}`;
}

/** 'a', 'a and b', 'a, b and c'. */
export function listed(items: readonly (string | number)[]): string {
  if (items.length < 2) return items.join('');
  return `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
}

/** Plain number with at most `digits` decimals, no trailing zeros. */
export function plain(value: number, digits = 1): string {
  return String(Number(value.toFixed(digits)));
}
