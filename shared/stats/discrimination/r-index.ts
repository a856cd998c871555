import { answerCount, MAX_ANSWERS, properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalCdf, normalQuantile } from '../normal.ts';
import type { TestSide } from './fisher-exact.ts';

export interface RIndex extends MethodFacts {
  /** Chance that a signal is told from a noise, 0 to 1, 1/2 by guessing; null without answers to one of them. */
  rIndex: number | null;
  /** From the spread within signals and within noises; null with fewer than two of either. */
  standardError: number | null;
  /** Limits by the logit, so that they stay within 0..1; null at 0 and 1 and without a standard error. */
  lower: number | null;
  upper: number | null;
  level: number;
  /** sqrt(2) z(R): d' of the same data for normal percepts of equal spread; null at 0 and 1 and without data. */
  dPrime: number | null;
  p: number;
  side: TestSide;
  /** True: p from all ways to deal the answers to the samples. False: normal approximation with ties. */
  exact: boolean;
}

/** Answers up to which p is exact. Our own bound; no source. */
const MAX_ENUMERATED = 100;

/**
 * Confidence-weighted R-index: how well do answers in grades of certainty tell a signal from a noise, whatever the
 * readiness to say "signal"? `signal` and `noise` hold counts by category, from "signal, certain" to "noise, certain":
 * R = [sum over pairs where the signal stands nearer to "signal, certain", plus half the ties] / (n_signal n_noise),
 * the area under the empirical ROC curve, which is Mann and Whitney's U / (n1 n2).
 * SE^2 = s1^2 / n1 + s2^2 / n2 of the placements of signals among noises and of noises among signals.
 * p of R = 1/2 given how often each category was used: exact up to 100 answers, beyond by the normal approximation.
 * Not for answers in pairs of the same assessor as if independent, which this takes them to be, and not when the
 * categories have no common order.
 *
 * Lists of the same length, 2 to 20 categories, counts whole from 0; level between 0 and 1; side as planned. No signal
 * or no noise: null and p = 1. Errors: StatsInputError.
 * Source: Brown 1974, Br. J. Psychol. 65:13 (from memory); Mann & Whitney 1947, Ann. Math. Stat. 18:50; SE: DeLong,
 * DeLong & Clarke-Pearson 1988, Biometrics 44:837 (from memory).
 * Example: `rIndex({ signal: [6, 3, 2, 1], noise: [1, 3, 3, 5], level: 0.95, side: 'greater' }).rIndex` is 0.784722222222
 */
export function rIndex({
  signal,
  noise,
  level,
  side,
}: {
  signal: readonly number[];
  noise: readonly number[];
  level: number;
  side: TestSide;
}): RIndex {
  const { signals, noises } = check(signal, noise, level);
  const exact = signals + noises <= MAX_ENUMERATED;
  const facts = {
    level,
    side,
    exact,
    method: `R-index, ${side === 'greater' ? 'one-sided' : 'two-sided'} ${exact ? 'exact permutation' : 'normal'} test`,
    assumption: 'Answers are independent, and certainty runs in one order from signal to noise.',
    source: 'Brown 1974; Mann & Whitney 1947; DeLong, DeLong & Clarke-Pearson 1988',
  };
  if (signals === 0 || noises === 0) {
    return { rIndex: null, standardError: null, lower: null, upper: null, dPrime: null, p: 1, ...facts };
  }
  const ofSignals = placements(signal, noise, noises);
  // From the other end a noise is placed among signals.
  const ofNoises = placements(noise.toReversed(), signal.toReversed(), signals);
  const r = ofSignals.mean;
  const inside = r > 0 && r < 1;
  const standardError =
    signals < 2 || noises < 2 ? null : Math.sqrt(ofSignals.variance / signals + ofNoises.variance / noises);
  const reach =
    inside && standardError !== null
      ? (normalQuantile((1 + level) / 2) * standardError) / (r * (1 - r))
      : null;
  const middle = Math.log(r / (1 - r));
  const fromLogit = (x: number) => 1 / (1 + Math.exp(-x));
  return {
    rIndex: r,
    standardError,
    lower: reach === null ? null : fromLogit(middle - reach),
    upper: reach === null ? null : fromLogit(middle + reach),
    dPrime: inside ? Math.SQRT2 * normalQuantile(r) : null,
    p: exact ? exactTail(signal, noise, side) : normalTail(signal, noise, side),
    ...facts,
  };
}

function check(
  signal: readonly number[],
  noise: readonly number[],
  level: number,
): { signals: number; noises: number } {
  properProbability('level', level);
  if (signal.length < 2 || signal.length > 20) {
    throw new StatsInputError('signal', signal.length, '2 to 20 categories');
  }
  if (noise.length !== signal.length) {
    throw new StatsInputError('noise', noise.length, `as many categories as signal, ${signal.length}`);
  }
  for (const count of signal) answerCount('signal', count);
  for (const count of noise) answerCount('noise', count);
  const signals = signal.reduce((a, b) => a + b, 0);
  const noises = noise.reduce((a, b) => a + b, 0);
  if (signals + noises > MAX_ANSWERS) {
    throw new StatsInputError('signal + noise', signals + noises, `at most ${MAX_ANSWERS} answers`);
  }
  return { signals, noises };
}

/** Mean and sample variance of each answer's placement: the part of the others that stands after it, ties half. */
function placements(
  own: readonly number[],
  others: readonly number[],
  n: number,
): { mean: number; variance: number } {
  let after = n;
  const at = others.map((count) => {
    after -= count;
    return (after + count / 2) / n;
  });
  const count = own.reduce((a, b) => a + b, 0);
  const mean = own.reduce((sum, here, i) => sum + here * (at[i] ?? 0), 0) / count;
  const squares = own.reduce((sum, here, i) => sum + here * ((at[i] ?? 0) - mean) ** 2, 0);
  return { mean, variance: count < 2 ? 0 : squares / (count - 1) };
}

/** Twice the mid-ranks of the categories, whole numbers, high for "signal, certain"; the answers in each; rank sum. */
function ranks(
  signal: readonly number[],
  noise: readonly number[],
): { categories: { used: number; rank: number }[]; seen: number; signals: number; all: number } {
  const all = signal.concat(noise).reduce((a, b) => a + b, 0);
  let after = all;
  let seen = 0;
  const categories = signal.map((count, i) => {
    const used = count + (noise[i] ?? 0);
    after -= used;
    const rank = 2 * after + used + 1;
    seen += count * rank;
    return { used, rank };
  });
  return { categories, seen, signals: signal.reduce((a, b) => a + b, 0), all };
}

function exactTail(signal: readonly number[], noise: readonly number[], side: TestSide): number {
  const { categories, seen, signals, all } = ranks(signal, noise);
  const middle = signals * (all + 1);
  const far = side === 'greater' ? seen - middle : Math.abs(seen - middle);
  // ways[s].get(w): ways to deal s signals over the categories so far with doubled rank sum w.
  let ways = Array.from({ length: signals + 1 }, () => new Map<number, number>());
  ways[0]?.set(0, 1);
  for (const { used, rank } of categories) {
    const next = Array.from({ length: signals + 1 }, () => new Map<number, number>());
    for (let s = 0; s <= signals; s += 1) {
      for (const [w, count] of ways[s] ?? []) {
        for (let more = 0, choose = 1; more <= used && s + more <= signals; more += 1) {
          const row = next[s + more];
          const sum = w + more * rank;
          row?.set(sum, (row.get(sum) ?? 0) + count * choose);
          choose = (choose * (used - more)) / (more + 1);
        }
      }
    }
    ways = next;
  }
  let reached = 0;
  let total = 0;
  for (const [w, count] of ways[signals] ?? []) {
    total += count;
    if ((side === 'greater' ? w - middle : Math.abs(w - middle)) >= far) reached += count;
  }
  return reached / total;
}

function normalTail(signal: readonly number[], noise: readonly number[], side: TestSide): number {
  const { categories, seen, signals, all } = ranks(signal, noise);
  const ties = categories.reduce((sum, { used }) => sum + used ** 3 - used, 0);
  // Variance of the doubled rank sum: four times n1 n2 / 12 [(N + 1) - sum (t^3 - t) / (N (N - 1))].
  const variance = ((signals * (all - signals)) / 3) * (all + 1 - ties / (all * (all - 1)));
  if (variance <= 0) return 1;
  const z = (seen - signals * (all + 1)) / Math.sqrt(variance);
  return side === 'greater' ? normalCdf(-z) : 2 * normalCdf(-Math.abs(z));
}
