import { choiceBias, type ChoiceBias } from './choice-bias.ts';
import { chiSquareUpper } from './chi-square.ts';
import { answerCount } from '../ground/input.ts';

/** Answers up to which all ways to share them out are added up. Our own bounds; no source. */
const MAX_OF_THREE = 200;
const MAX_OF_MORE = 60;

// Outcomes that mirror the one seen have the same probability up to rounding and must count.
const TIE = 1e-10;

/** Answers up to which `equalPlaces` is exact, by the number of places. */
export const exactUpTo = (places: number): number => (places <= 3 ? MAX_OF_THREE : MAX_OF_MORE);

/**
 * Were all places chosen equally often? As choiceBias, which it is for three of them: the exact multinomial test up to 60
 * answers, p = sum of the probabilities of all outcomes no more probable than the one seen, each place 1 / k; above,
 * Pearson's chi-square with k - 1 degrees of freedom. Outcomes that differ only in which place had which count are added
 * up together, so that of ten places and 60 answers 62,740 remain.
 *
 * counts whole from 0, at least three of them. No data: p = 1. Errors: StatsInputError.
 * Source: W. G. Cochran 1952, Ann. Math. Stat. 23:315 (from memory).
 * Example: `equalPlaces([3, 0, 1, 0, 0, 1, 0, 0, 1, 0]).p` is 0.1684
 */
export function equalPlaces(counts: readonly number[]): ChoiceBias {
  const [left = 0, middle = 0, right = 0] = counts;
  if (counts.length <= 3) return choiceBias({ left, middle, right });
  counts.forEach((count, at) => answerCount(`count ${at + 1}`, count));
  const places = counts.length;
  const n = counts.reduce((sum, count) => sum + count, 0);
  const exact = n <= MAX_OF_MORE;
  const chiSquare = n === 0 ? null : (places * counts.reduce((sum, one) => sum + one ** 2, 0)) / n - n;
  return {
    p: exact ? exactP(counts, n) : chiSquareUpper(chiSquare ?? 0, places - 1),
    exact,
    chiSquare,
    method: exact
      ? 'Exact multinomial test of equal shares'
      : `Chi-square test of equal shares, ${places - 1} degrees of freedom`,
    assumption: 'Orders are balanced and answers independent.',
    source: 'Cochran 1952',
  };
}

function exactP(counts: readonly number[], n: number): number {
  const places = counts.length;
  const logFactorial = [0];
  for (let i = 1; i <= Math.max(n, places); i += 1)
    logFactorial.push((logFactorial[i - 1] ?? 0) + Math.log(i));
  const log = (i: number): number => logFactorial[i] ?? 0;
  const base = log(n) - n * Math.log(places);
  const seen = base - counts.reduce((sum, count) => sum + log(count), 0);
  let p = 0;
  /** Counts from the largest down; `ways` is the log of how often the counts so far can change places. */
  const share = (left: number, most: number, open: number, one: number, ways: number): void => {
    if (left === 0 || most === 0) {
      if (left === 0 && one <= seen + TIE) p += Math.exp(one + ways - log(open));
      return;
    }
    for (let times = 0; times <= open && times * most <= left; times += 1) {
      share(left - times * most, most - 1, open - times, one - times * log(most), ways - log(times));
    }
  };
  share(n, n, places, base, log(places));
  return Math.min(1, p);
}
