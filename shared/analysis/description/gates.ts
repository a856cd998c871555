import { plain } from '../../ground/phrases.ts';

/**
 * The level at which one gate of a part is judged. A part claims a difference by any of its gates (all words together, single
 * words, words of the late question) at alpha in all: the smallest p among m of them is judged at alpha / m, and each next
 * one at a level that much higher, as long as they hold.
 * @param others p of the other gates: of words the smallest adjusted one. Null: there is no such gate.
 * Source: Holm 1979, Scandinavian Journal of Statistics 6:65.
 */
export function levelOfGate(others: readonly (number | null)[], alpha: number): number {
  const there = others.filter((p) => p !== null).toSorted((a, b) => a - b);
  const gates = there.length + 1;
  const failed = there.findIndex((p, at) => p > alpha / (gates - at));
  return alpha / (gates - (failed < 0 ? there.length : failed));
}

/** 'alpha 0.025, half of 0.05'; the whole alpha by itself. */
export function levelWords(level: number, alpha: number): string {
  const share = Math.round(alpha / level);
  if (share <= 1) return `alpha ${plainLevel(level)}`;
  return `alpha ${plainLevel(level)}, ${share === 2 ? 'half' : 'a third'} of ${alpha}`;
}

/** A level as it is written: 0.0167 for a third of 0.05. */
export const plainLevel = (level: number): string => plain(level, 4);
