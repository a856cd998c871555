import type { DescriptionAnswer, LateAnswer } from '../contracts/ballot.ts';
import { normalCdf } from '../stats/normal.ts';
import type { Draws } from './draws.ts';

// Words of a list follow the difference between arms in turn: the first grows with it, the second fades, the third stays.
const SLOPES = [0.6, -0.6, 0] as const;
const USUAL = -0.9;
const LATE = -1.1;
const CARELESS = 0.3;
const MOST = 12;

/** Chance that a word is checked for a cup that lies `place` units of noise from the middle of the arms. */
export function wordChance(at: number, place: number, usual = USUAL): number {
  return normalCdf(usual + (SLOPES[at % SLOPES.length] ?? 0) * place);
}

const checked = (words: readonly string[], place: number, careless: boolean, draws: Draws, usual?: number) =>
  words.filter((_, at) => draws.chance(careless ? CARELESS : wordChance(at, place, usual))).slice(0, MOST);

/** Words for one cup, in the order in which they are offered. */
export function describeCup(
  words: readonly string[],
  { place, careless, intensity }: { place: number; careless: boolean; intensity: boolean },
  draws: Draws,
): DescriptionAnswer {
  const named = checked(words, place, careless, draws).map((id) => ({
    id,
    intensity: intensity ? (draws.whole(1, 3) as 1 | 2 | 3) : null,
  }));
  return { kind: 'description', words: named, ownWords: [], none: named.length === 0 };
}

/** Words of the late question that are there now. */
export function describeLate(
  words: readonly string[],
  { place, careless }: { place: number; careless: boolean },
  draws: Draws,
): LateAnswer {
  const named = checked(words, place, careless, draws, LATE);
  return { kind: 'late', words: named, none: named.length === 0 };
}

/** Where a list of words is left to the whole vocabulary: a few of it, the same for everybody. */
export function usualWords(vocabulary: readonly string[], most = 24): string[] {
  const sorted = [...vocabulary].sort();
  const step = Math.max(1, sorted.length / most);
  const from = Array.from({ length: Math.min(most, sorted.length) }, (_, at) => Math.floor(at * step));
  return from.flatMap((at) => sorted[at] ?? []);
}
