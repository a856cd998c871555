import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { Attribute } from '@oddglass/shared/contracts/part.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';

// Everything in this file is invented: the palates, their marks and their words.

export const DEMO_PROFILE = {
  daysAgo: 14,
  seats: 11,
  settings: {
    title: 'Pale table beer, day 28, in numbers and words',
    assessors: 12,
    spareSeats: 1,
    cupMl: 30,
    restSeconds: 60,
    masking: false,
    servingNote: 'Serve at 9 °C, in the same small glasses, water and dry bread between cups.',
  } satisfies Omit<SessionSettings, 'parts'>,
  /** Index of the arm that is poured twice. */
  duplicate: 2,
};

export const DEMO_ATTRIBUTES: Attribute[] = [
  { id: 'fruit', name: 'ripe fruit', low: 'none', high: 'very strong' },
  { id: 'bitterness', name: 'bitterness', low: 'none', high: 'very strong' },
  { id: 'body', name: 'body', low: 'thin', high: 'full' },
];

/** Where the invented beers lie on each scale, by arm. */
const LEVELS: readonly (readonly number[])[] = [
  [24, 47, 38],
  [39, 45, 41],
  [63, 46, 52],
];

/** Words that the invented palates find in each arm, the likelier first. */
const WORDS: readonly (readonly string[])[] = [
  ['bread', 'grassy', 'citrus', 'dry'],
  ['bread', 'green-apple', 'citrus'],
  ['banana', 'full-body', 'clove', 'warming'],
];

/** A number between 0 and 1 that looks drawn and is always the same for the same three numbers. */
function scatter(a: number, b: number, c: number): number {
  const wave = Math.sin(a * 12.9898 + b * 78.233 + c * 37.719) * 43758.5453;
  return wave - Math.floor(wave);
}

/** A mark on the line: the beer's level, the person's own height on the scale, and scatter from cup to cup. */
export function demoMark(arm: number, attribute: number, seat: number, position: number): number | null {
  if (seat === 5 && position === 2 && attribute === 2) return null;
  const level = LEVELS[arm]?.[attribute] ?? 50;
  const own = (scatter(seat, 0, attribute) - 0.5) * 22;
  const noise = (scatter(seat, position, attribute + 3) + scatter(position, seat, attribute + 7) - 1) * 16;
  return Math.min(100, Math.max(0, Math.round(level + own + noise)));
}

/** Words checked for a cup. */
export function demoWords(arm: number, seat: number, position: number): Answer {
  const words = (WORDS[arm] ?? [])
    .filter((_, rank) => scatter(seat, position, rank + 11) < 0.72 - rank * 0.16)
    .map((id) => ({ id, intensity: null }));
  return { kind: 'description', words, ownWords: [], none: words.length === 0 };
}
