import type { ReadingView } from '../contracts/reading.ts';
import { readingsOf } from './last-reading.ts';

/** A drop of more than this between the last two pulls is a ferment at work. Our own bound; no source. */
export const STEADY_GRAVITY = 0.001;
/** Pulls closer together than this do not show that gravity stands still. Our own bound; no source. */
export const STEADY_DAYS = 2;
const DAY_MS = 86_400_000;
/** 1.012 - 1.011 is a little above 0.001 in binary. */
const ROUNDING = 1e-9;

type Row = Pick<ReadingView, 'arm' | 'current' | 'takenAt' | 'gravity'>;

/**
 * Does the gravity of an arm still fall? True when the newest is more than 0.001 SG below the one before it, however short
 * the time between; false when it is not and the two lie two days apart at least (the newest that far back is taken);
 * null, which is not known and counts as true, where there are too few. Both bounds are our own; no source.
 * Example: `Number(gravityFalling([], 'a') ?? -1)` is -1
 */
export function gravityFalling(readings: readonly Row[], arm: string): boolean | null {
  const read = readingsOf(readings, arm).filter(({ gravity }) => gravity !== null);
  const newest = read.at(-1);
  if (newest === undefined || newest.gravity === null) return null;
  const at = Date.parse(newest.takenAt);
  const earlier = read.slice(0, -1);
  const drop = (one: Row | undefined): number => (one?.gravity ?? 0) - (newest.gravity ?? 0);
  if (earlier.length > 0 && drop(earlier.at(-1)) > STEADY_GRAVITY + ROUNDING) return true;
  const apart = earlier.findLast(({ takenAt }) => at - Date.parse(takenAt) >= STEADY_DAYS * DAY_MS);
  return apart === undefined ? null : drop(apart) > STEADY_GRAVITY + ROUNDING;
}
