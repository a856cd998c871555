import { xoshiro } from '@oddglass/shared/ground/fast-random.ts';

// What the invented beers are like, in plain numbers, and how the invented palates differ. All marks, words and likings of the
// demo are drawn from it. It agrees with what fermentation temperature does to one wort with one yeast (common practice, no
// source): esters (banana, pear) rise with warmth; acetaldehyde (green apple) and sulphur stay longer in the cool; the warm one
// attenuates a little further, so that its body is no fuller; bitterness is that of the wort.

/** Mean on the line of 100 by attribute, for the arms from cool to warm. */
export const TRUE_LEVELS: Readonly<Record<string, readonly [number, number, number]>> = {
  fruit: [24, 41, 63],
  'green-apple': [37, 28, 17],
  bitterness: [44, 44, 44],
  body: [43, 42, 39],
};

/** Standard deviations on that line: between people, of one person between beers, and from cup to cup. */
export const TRUE_SPREAD = { people: 9, apart: 5, cups: 12 } as const;

/** Reads the ends of 'ripe fruit' the other way round; marks much more wildly than the others. */
export const TURNED_SEAT = 7;
export const WILD_SEAT = 9;

/** Chance that a word is checked for a cup, by arm. Words that are not here are checked once in fifty cups. */
export const TRUE_WORDS: Readonly<Record<string, readonly [number, number, number]>> = {
  banana: [0.12, 0.26, 0.48],
  pear: [0.08, 0.14, 0.22],
  'green-apple': [0.32, 0.22, 0.1],
  sulphur: [0.2, 0.1, 0.05],
  bread: [0.38, 0.36, 0.32],
  malty: [0.16, 0.16, 0.14],
  citrus: [0.16, 0.14, 0.12],
  dry: [0.18, 0.2, 0.24],
  'full-body': [0.14, 0.12, 0.1],
  floral: [0.08, 0.1, 0.1],
  honey: [0.08, 0.09, 0.1],
  clove: [0.05, 0.08, 0.12],
  bitter: [0.16, 0.16, 0.16],
  grassy: [0.06, 0.06, 0.05],
  yeasty: [0.1, 0.08, 0.1],
  warming: [0.02, 0.03, 0.05],
};
export const RARE_WORD = 0.02;

/** Mean liking from 1 to 9 by arm, and its spread: between people, of one person between beers, and from cup to cup. */
export const TRUE_LIKING: readonly [number, number, number] = [5.9, 6.2, 5.7];
export const LIKING_SPREAD = { people: 0.8, apart: 0.9, cups: 0.8 } as const;

/**
 * Specific gravity before the yeast, and when it has fallen, by arm: 1.0086 and 1.0078 are what is left where 3.6 and 3.7 %
 * by volume came of 1.036, a gravity point being about 0.131 % (common practice, no source).
 */
export const TRUE_GRAVITY = { original: 1.036, final: [1.0086, 1.0086, 1.0078] } as const;
/** Days until half of it has fermented, and until half of the fall of pH is done: pH falls first (common practice, no source). */
const HALF_DAYS = { gravity: [3.6, 2.4, 1.6], ph: [1.5, 1.0, 0.7] } as const;
/** pH of the wort, and where each arm comes to rest. */
export const TRUE_PH = { wort: 5.2, rest: [4.35, 4.3, 4.26] } as const;

/** Specific gravity of an arm on a day of the trial, with no scatter: a hydrometer is read to 0.001. */
export function trueGravity(arm: number, day: number): number {
  const final = TRUE_GRAVITY.final[arm] ?? TRUE_GRAVITY.final[0];
  const done = 1 - 1 / (1 + (day / (HALF_DAYS.gravity[arm] ?? 2)) ** 3);
  return TRUE_GRAVITY.original - (TRUE_GRAVITY.original - final) * done;
}

/** pH of an arm as a meter shows it that day: within some hundredths of what it is. */
export function truePh(arm: number, day: number): number {
  const rest = TRUE_PH.rest[arm] ?? TRUE_PH.rest[0];
  const done = 1 - 1 / (1 + (day / (HALF_DAYS.ph[arm] ?? 1)) ** 2);
  return TRUE_PH.wort - (TRUE_PH.wort - rest) * done + 0.015 * drawn(day, 80 + arm, 0).normal();
}

/** Words of their own that somebody typed, by seat: one cup each. */
export const OWN_WORDS: Readonly<Record<number, string>> = {
  2: 'wet straw',
  3: 'pear drops',
  5: 'dough',
  6: 'lemon peel',
  8: 'rhubarb',
  10: 'cracker crumbs',
  11: 'tinned fruit',
};

/** Numbers that look drawn and are always the same for the same three: uniform, and normal by Box and Muller. */
export function drawn(a: number, b: number, c: number): { uniform: () => number; normal: () => number } {
  const next = xoshiro([0x9e3779b9 ^ a, 0x243f6a88 ^ (b * 7919), 0xb7e15162 ^ (c * 104_729), 20_310_304]);
  // The first numbers still show what they came from.
  for (let i = 0; i < 32; i += 1) next();
  const uniform = (): number => (next() + 0.5) / 2 ** 32;
  const normal = (): number => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}
