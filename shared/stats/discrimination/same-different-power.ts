import { integerIn, finiteFrom, probability, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { binomialPmf, upperTail } from '../binomial.ts';
import { criticalNumber, RISK_TOLERANCE } from './critical-number.ts';
import { bestCriterion, saysDifferent, type SaysDifferent } from './same-different.ts';
import { smallestReaching } from './power.ts';

/** Trays each: one alone, or in twos with one pair of each kind. */
export type TraysOfPairs = 1 | 2 | 4;

export interface SameDifferentPlan {
  assessors: number;
  trays: TraysOfPairs;
  alpha: number;
  dPrime: number;
  /** How often a pair alike is called different; left out: as by the criterion that is right most often. */
  falseAlarmRate?: number;
}

export interface SameDifferentPower extends MethodFacts {
  /** Chance that the planned exact test shows a difference of this size. */
  power: number;
  /** Rates that were taken for granted. */
  rates: SaysDifferent;
}

// A session seats no more.
const MAX_ASSESSORS = 400;

/**
 * Chance that a same-different test shows a difference. One tray each: Fisher's exact test, over all counts of both kinds of
 * pairs. Trays in twos: McNemar's exact test over the two trays of a palate. With four trays the lower of two chances: both
 * twos of a palate independent, and both alike.
 * assessors whole 1 to 400; alpha between 0 and 1; dPrime 0 to 30; falseAlarmRate from 0 to 1. Errors: StatsInputError.
 * Source: by the definition; model of Kaplan, Macmillan & Creelman 1978 (from memory).
 * Example: `powerOfSameDifferent({ assessors: 24, trays: 2, alpha: 0.05, dPrime: 2 }).power` is 0.731831092629
 */
export function powerOfSameDifferent({
  assessors,
  trays,
  alpha,
  dPrime,
  falseAlarmRate,
}: SameDifferentPlan): SameDifferentPower {
  integerIn('assessors', assessors, 1, MAX_ASSESSORS);
  properProbability('alpha', alpha);
  finiteFrom('dPrime', dPrime, 0);
  const rates = ratesOf(dPrime, falseAlarmRate);
  return {
    power: powerAt(assessors, trays, alpha, rates),
    rates,
    method:
      trays === 1
        ? "Exact power of Fisher's one-sided test"
        : "Exact power of McNemar's one-sided test within palates",
    assumption: 'Palates are alike and share one criterion.',
    source: 'By the definition; Kaplan, Macmillan & Creelman 1978 (from memory)',
  };
}

function powerAt(assessors: number, trays: TraysOfPairs, alpha: number, rates: SaysDifferent): number {
  switch (trays) {
    case 1: {
      const [fewer, more] = [Math.floor(assessors / 2), Math.ceil(assessors / 2)];
      const one = powerOfFisher(fewer, more, alpha, rates);
      // Of an odd number either kind may have one pair more.
      return fewer === more ? one : Math.min(one, powerOfFisher(more, fewer, alpha, rates));
    }
    case 2:
      return powerOfTwos(assessors, 1, alpha, rates);
    case 4:
      return Math.min(powerOfTwos(2 * assessors, 1, alpha, rates), powerOfTwos(assessors, 2, alpha, rates));
  }
}

function ratesOf(dPrime: number, falseAlarmRate: number | undefined): SaysDifferent {
  if (falseAlarmRate === undefined) return saysDifferent({ dPrime, criterion: bestCriterion(dPrime) });
  probability('falseAlarmRate', falseAlarmRate);
  if (falseAlarmRate === 0 || falseAlarmRate === 1)
    return { hit: falseAlarmRate, falseAlarm: falseAlarmRate };
  // The criterion that gives the rate, by halving.
  let [low, high] = [0, 60];
  for (let turn = 0; turn < 60; turn += 1) {
    const criterion = (low + high) / 2;
    if (saysDifferent({ dPrime: 0, criterion }).falseAlarm > falseAlarmRate) low = criterion;
    else high = criterion;
  }
  return saysDifferent({ dPrime, criterion: (low + high) / 2 });
}

/** Over all counts of both kinds, those that Fisher's test finds significant. */
function powerOfFisher(
  different: number,
  same: number,
  alpha: number,
  { hit, falseAlarm }: SaysDifferent,
): number {
  const hits = Array.from({ length: different + 1 }, (_, x) => binomialPmf(x, different, hit));
  const alarms = Array.from({ length: same + 1 }, (_, x) => binomialPmf(x, same, falseAlarm));
  let power = 0;
  for (let said = 1; said < different + same; said += 1) {
    const fewest = fewestHits(different, same, said, alpha);
    if (fewest === null) continue;
    for (let x = fewest; x <= Math.min(different, said); x += 1) {
      power += (hits[x] ?? 0) * (alarms[said - x] ?? 0);
    }
  }
  return Math.min(1, power);
}

/**
 * Fewest hits that are significant by Fisher's one-sided test, given how many pairs were called different in all; null when
 * none are. Counts whole; alpha between 0 and 1.
 * Example: `fewestHits(12, 12, 10, 0.05)` is 8
 */
export function fewestHits(different: number, same: number, said: number, alpha: number): number | null {
  const [least, most] = [Math.max(0, said - same), Math.min(different, said)];
  // Relative to the largest count; the sum of all makes chances of them.
  const terms = [1];
  let [sum, term] = [1, 1];
  for (let x = most; x > least; x -= 1) {
    term *= (x * (same - said + x)) / ((different - x + 1) * (said - x + 1));
    terms.push(term);
    sum += term;
  }
  let tail = 0;
  let fewest: number | null = null;
  for (const [at, one] of terms.entries()) {
    tail += one / sum;
    if (tail > alpha * (1 + RISK_TOLERANCE)) break;
    fewest = most - at;
  }
  return fewest;
}

/** `times` twos of each palate, all alike: only palates whose two answers differ count. */
function powerOfTwos(
  palates: number,
  times: number,
  alpha: number,
  { hit, falseAlarm }: SaysDifferent,
): number {
  const right = hit * (1 - falseAlarm);
  const reversed = falseAlarm * (1 - hit);
  const unlike = right + reversed;
  if (unlike === 0) return 0;
  let power = 0;
  for (let count = 1; count <= palates; count += 1) {
    const chance = binomialPmf(count, palates, Math.min(1, unlike));
    // Below it nothing of it reaches the digits of a double.
    if (chance < 1e-18) continue;
    const critical = critically(times * count, alpha);
    if (critical === null) continue;
    power += chance * upperTail(Math.ceil(critical / times), count, Math.min(1, right / unlike));
  }
  return Math.min(1, power);
}

const known = new Map<string, number | null>();
// A search asks for the same numbers again and again; so many lists of them are kept.
const MOST_KNOWN = 10_000;

function critically(n: number, alpha: number): number | null {
  const key = `${n} ${alpha}`;
  const found = known.get(key);
  if (found !== undefined) return found;
  if (known.size >= MOST_KNOWN) known.clear();
  const critical = criticalNumber({ n, alpha, guessRate: 1 / 2 });
  known.set(key, critical);
  return critical;
}

/**
 * Smallest numbers of assessors who reach power of at least 1 - beta: `first`, and `stable` from which on every larger one does;
 * null when not within 400. Errors as powerOfSameDifferent.
 * Example: `smallestForSameDifferent({ trays: 2, alpha: 0.05, beta: 0.2, dPrime: 2 })?.first` is 28
 */
export function smallestForSameDifferent({
  trays,
  alpha,
  beta,
  dPrime,
}: Omit<SameDifferentPlan, 'assessors' | 'falseAlarmRate'> & { beta: number }): {
  first: number;
  stable: number;
} | null {
  properProbability('alpha', alpha);
  properProbability('beta', beta);
  const key = `${trays} ${alpha} ${beta} ${dPrime}`;
  const kept = found.get(key);
  if (kept !== undefined) return kept;
  const goal = 1 - beta;
  const rates = ratesOf(dPrime, undefined);
  const power = (assessors: number): number => powerAt(assessors, trays, alpha, rates);
  const smallest = power(MAX_ASSESSORS) < goal ? null : smallestReaching(power, goal, MAX_ASSESSORS);
  if (found.size >= MOST_FOUND) found.clear();
  found.set(key, smallest);
  return smallest;
}

// A search takes a while, and a plan that is being typed asks for the same one with every key.
const found = new Map<string, { first: number; stable: number } | null>();
const MOST_FOUND = 200;
