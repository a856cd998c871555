import { GUESS_RATE } from '../stats/discrimination/guessing.ts';
import type { ThurstonianTest } from '../stats/discrimination/psychometric.ts';
import type { Place } from './kind.ts';

// What several kinds of choice have in common, written once.

/** Both orders of a pair: 2-AFC or directional pair, and paired preference (ISO 5495). */
export const PAIR_ORDERS = ['AB', 'BA'] as const;

export const TWO_PLACES: readonly Place[] = [
  { name: 'left', cups: [0] },
  { name: 'right', cups: [1] },
];
export const THREE_PLACES: readonly Place[] = [
  { name: 'left', cups: [0] },
  { name: 'middle', cups: [1] },
  { name: 'right', cups: [2] },
];

const ORDINALS = ['first', 'second', 'third', 'fourth', 'fifth'];

/** All pairs of so many cups, named by their places: 'first with second'. Up to five cups. */
export function pairsOf(cups: number): Place[] {
  const places = ORDINALS.slice(0, cups);
  return places.flatMap((name, at) =>
    places.slice(at + 1).map((other, on) => ({ name: `${name} with ${other}`, cups: [at, at + 1 + on] })),
  );
}

/** Statistical test, its guessing rate, and that rate as a fraction of one. */
export function guessing(stats: ThurstonianTest): {
  stats: ThurstonianTest;
  guessRate: number;
  guessWords: string;
} {
  const guessRate = GUESS_RATE[stats];
  return { stats, guessRate, guessWords: `1/${Math.round(1 / guessRate)}` };
}

export const onePick = (): { least: number; most: number } => ({ least: 1, most: 1 });
export const twoPicks = (): { least: number; most: number } => ({ least: 2, most: 2 });
export const wholeTray = (): 'tray' => 'tray';
export const eachCup = (): 'cup' => 'cup';
export const noTexts = (): [] => [];

/** Said of a choice that may not be left out. */
export const FORCED = {
  hint: 'You tasted left to right. If you can’t tell, guess, and say so below.',
  missing: 'Choose one cup first.',
} as const;
export const TO_CHOICE = 'Tasted. Choose one';
