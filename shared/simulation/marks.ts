import type { RatingScale } from '../contracts/part.ts';
import type { Draws } from './draws.ts';

/** Standard deviations of marks: of one mark about what a person would give on average, and between people. */
export interface MarkSpread {
  low: number;
  high: number;
  /** Where marks lie where no arm stands out. */
  middle: number;
  noise: number;
  between: number;
}

/** In units of each scale. Invented, to look like a small panel without training; common practice, no source. */
export const MARK_SPREADS: Readonly<Record<RatingScale | 'liking', MarkSpread>> = {
  line: { low: 0, high: 100, middle: 48, noise: 10, between: 6 },
  'nine-point': { low: 1, high: 9, middle: 5, noise: 1, between: 0.6 },
  liking: { low: 1, high: 9, middle: 5.5, noise: 1.1, between: 0.7 },
};

/**
 * A mark, whole and within the scale: middle, the person's level, `shift` in units of the scale, and noise. Shifts that lead
 * beyond an end are cut there, as people cut them.
 */
export function markOf(spread: MarkSpread, level: number, shift: number, draws: Draws): number {
  const felt = spread.middle + level * spread.between + shift + draws.normal() * spread.noise;
  return Math.min(spread.high, Math.max(spread.low, Math.round(felt)));
}

/** A mark anywhere on the scale, each step equally likely. */
export function anyMark({ low, high }: MarkSpread, draws: Draws): number {
  return draws.whole(low, high);
}

/**
 * A step on a scale of differences from a control: so many steps for a gap of five units of noise, the last for more.
 * `gap` from 0, `steps` from 2; the answer from 0 to steps - 1.
 */
export function degreeOf(gap: number, steps: number): number {
  return Math.min(steps - 1, Math.floor((gap * steps) / DEGREES_SPAN));
}

const DEGREES_SPAN = 5;
