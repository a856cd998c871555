import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { Attribute } from '@oddglass/shared/contracts/part.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { STARTER_LISTS } from '@oddglass/shared/vocabulary/starter-lists.ts';
import {
  drawn,
  LIKING_SPREAD,
  OWN_WORDS,
  RARE_WORD,
  TRUE_LEVELS,
  TRUE_LIKING,
  TRUE_SPREAD,
  TRUE_WORDS,
  TURNED_SEAT,
  WILD_SEAT,
} from './truth.ts';

// Everything in this file is invented: the palates, their marks and their words.

const evening = { cupMl: 30, restSeconds: 90, masking: false } as const;

export const DEMO_PROFILE = {
  daysAgo: 14,
  seats: 11,
  settings: {
    ...evening,
    title: 'Pale table beer, day 28, in numbers and words',
    assessors: 12,
    spareSeats: 1,
    servingNote: 'Serve at 9 °C, in the same small glasses, water and dry bread between cups.',
  } satisfies Omit<SessionSettings, 'parts'>,
  /** Index of the arm that is poured twice. */
  duplicate: 2,
};

/** What the trial asks besides: is warmer acceptable? Other people, who drink it and describe nothing. */
export const DEMO_LIKING = {
  daysAgo: 13,
  seats: 14,
  settings: {
    ...evening,
    title: 'Pale table beer, day 29, how well liked',
    assessors: 14,
    spareSeats: 2,
    servingNote: 'Serve at 9 °C, in the same small glasses, with nothing to eat beside them.',
  } satisfies Omit<SessionSettings, 'parts'>,
};

export const DEMO_ATTRIBUTES: Attribute[] = [
  { id: 'fruit', name: 'ripe fruit', low: 'none', high: 'very strong' },
  { id: 'green-apple', name: 'green apple', low: 'none', high: 'very strong' },
  { id: 'bitterness', name: 'bitterness', low: 'none', high: 'very strong' },
  { id: 'body', name: 'body', low: 'thin', high: 'full' },
];

/** The words offered: those a list for beer starts with. */
export const DEMO_WORDS: readonly string[] = STARTER_LISTS[0]?.words ?? [];

/** A mark on the line: the beer's level, the person's own, what the person tastes in this beer, and scatter from cup to cup. */
export function demoMark(arm: number, attribute: number, seat: number, position: number): number | null {
  const { id = '' } = DEMO_ATTRIBUTES[attribute] ?? {};
  if (seat === 5 && position === 2 && id === 'body') return null;
  const level = TRUE_LEVELS[id]?.[arm] ?? 50;
  const own = TRUE_SPREAD.people * drawn(seat, 1, attribute).normal();
  const apart = TRUE_SPREAD.apart * drawn(seat, 2 + arm, attribute).normal();
  const wild = seat === WILD_SEAT ? 1.7 : 1;
  const noise = wild * TRUE_SPREAD.cups * drawn(seat, 10 + position, attribute).normal();
  const meant = seat === TURNED_SEAT && id === 'fruit' ? 100 - level : level;
  return Math.min(100, Math.max(0, Math.round(meant + own + apart + noise)));
}

/** Words checked for a cup, and now and then one of the person's own. */
export function demoWords(arm: number, seat: number, position: number): Answer {
  const { uniform } = drawn(seat, 30 + position, 1);
  const words = DEMO_WORDS.filter((id) => uniform() < (TRUE_WORDS[id]?.[arm] ?? RARE_WORD)).map((id) => ({
    id,
    intensity: null,
  }));
  const own = OWN_WORDS[seat];
  const ownWords = own !== undefined && position === 1 + (seat % 4) ? [own] : [];
  return { kind: 'description', words, ownWords, none: words.length + ownWords.length === 0 };
}

/** How well somebody liked a cup, 1 to 9. */
export function demoLiking(arm: number, seat: number, position: number): Answer {
  const own = LIKING_SPREAD.people * drawn(seat, 50, 0).normal();
  const apart = LIKING_SPREAD.apart * drawn(seat, 51 + arm, 0).normal();
  const noise = LIKING_SPREAD.cups * drawn(seat, 60 + position, 0).normal();
  const value = Math.round((TRUE_LIKING[arm] ?? 5) + own + apart + noise);
  return { kind: 'liking', value: Math.min(9, Math.max(1, value)) };
}
