import {
  finiteFrom,
  integerIn,
  MAX_ANSWERS,
  properProbability,
  StatsInputError,
} from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalCdf, normalPdf, normalQuantile } from '../normal.ts';
import { lackOfFit } from './likelihood-interval.ts';

/** Chances to say 'different': of a pair that differs, and of one that does not. */
export interface SaysDifferent {
  hit: number;
  falseAlarm: number;
}

/**
 * How often a pair is called different by somebody who does so when two percepts lie more than `criterion` apart
 * (differencing): hit = Phi((d' - k) / sqrt2) + Phi((-d' - k) / sqrt2), false alarm = 2 Phi(-k / sqrt2).
 * dPrime from 0, criterion k from 0, both in standard deviations of one percept. Errors: StatsInputError.
 * Source: Kaplan, Macmillan & Creelman 1978, Behavior Research Methods & Instrumentation 10:796 (differencing model; from
 * memory); Macmillan & Creelman 2005, Detection Theory, chapter 9 (from memory).
 * Example: `saysDifferent({ dPrime: 2, criterion: 1.5 }).hit` is 0.644827359475
 */
export function saysDifferent({ dPrime, criterion }: { dPrime: number; criterion: number }): SaysDifferent {
  finiteFrom('dPrime', dPrime, 0);
  if (!(criterion >= 0)) throw new StatsInputError('criterion', criterion, 'a number from 0');
  return chances(dPrime, criterion);
}

function chances(d: number, k: number): SaysDifferent {
  return {
    hit: Math.min(1, normalCdf((d - k) / Math.SQRT2) + normalCdf((-d - k) / Math.SQRT2)),
    falseAlarm: Math.min(1, 2 * normalCdf(-k / Math.SQRT2)),
  };
}

/**
 * The criterion at which most pairs are named right when half of them differ: there the likelihoods of both kinds are equal,
 * k = (2 / d') arcosh(exp(d'^2 / 4)); sqrt2 at d' = 0. Plans take it for granted, since a plan cannot know people's own.
 * dPrime from 0 to 30. Errors: StatsInputError. Source: by the definition.
 * Example: `bestCriterion(2)` is 1.65745445415
 */
export function bestCriterion(dPrime: number): number {
  finiteFrom('dPrime', dPrime, 0);
  if (dPrime > LARGEST) throw new StatsInputError('dPrime', dPrime, `at most ${LARGEST}`);
  if (dPrime < 1e-4) return Math.SQRT2;
  // arcosh(x) = ln 2x but for what no double holds.
  if (dPrime > 20) return dPrime / 2 + (2 / dPrime) * Math.LN2;
  return (2 / dPrime) * Math.acosh(Math.exp(dPrime ** 2 / 4));
}

export interface SameDifferentSize extends MethodFacts {
  /** Maximum-likelihood d', not below 0; null without answers to both kinds of pairs and, unbounded, where a rate allows any. */
  estimate: number | null;
  /** How far apart two percepts have to lie to be called different; null with no answers or no false alarm. */
  criterion: number | null;
  /** By the delta method; null where d' is 0 or unbounded. */
  standardError: number | null;
  lower: number;
  /** Null: unbounded. */
  upper: number | null;
  level: number;
}

/** Largest d' looked for. */
const LARGEST = 30;

export interface PairCounts {
  /** Pairs that differ, and how many were called different. */
  different: { said: number; answers: number };
  /** Pairs that do not, and how many were called different. */
  same: { said: number; answers: number };
}

/**
 * Size of a difference from a same-different test, whatever the criterion: d' and criterion by maximum likelihood under the
 * differencing model, limits by the profile likelihood: all d' with 2 [ln L(best) - max over criteria ln L(d')] <= z^2.
 * With no more 'different' to different pairs than to the others d' is 0; with none to the others, or all to the
 * different ones, it is unbounded and has a lower limit alone; with 'different' said never or always nothing bounds it above. Where criteria vary over palates, d' is that of a panel with one
 * criterion, which is lower. Large samples only: nothing here is exact.
 * @param weight what an answer counts for in limits and error, above 0 up to 1: below 1 where palates had several pairs of one kind.
 * Counts whole, said 0..answers; level between 0 and 1. Within 1e-7. Errors: StatsInputError.
 * Source: Kaplan, Macmillan & Creelman 1978 (model, from memory); Pawitan 2001, In All Likelihood, section 3.4 (profile, from
 * memory). ISO 5495 does not apply: nobody names an arm.
 * Example: `sameDifferentSize({ different: { said: 14, answers: 20 }, same: { said: 6, answers: 20 }, level: 0.9 }).estimate` is 2.187519712338
 */
export function sameDifferentSize({
  different,
  same,
  level,
  weight = 1,
}: PairCounts & { level: number; weight?: number }): SameDifferentSize {
  checkCounts({ different, same });
  properProbability('level', level);
  if (!(weight > 0 && weight <= 1)) throw new StatsInputError('weight', weight, 'above 0, at most 1');
  const facts = {
    level,
    method: 'd-prime of a same-different test by differencing, profile-likelihood interval',
    assumption:
      'Percepts vary normally with equal spread, a pair is called different when its percepts lie far enough apart, and the panel shares one criterion.',
    source: 'Kaplan, Macmillan & Creelman 1978; Pawitan 2001',
  };
  const [nd, ns] = [different.answers, same.answers];
  if (nd === 0 || ns === 0) {
    return { estimate: null, criterion: null, standardError: null, lower: 0, upper: null, ...facts };
  }
  const [hit, alarm] = [different.said / nd, same.said / ns];
  const counts = { different, same };
  const pooled = (different.said + same.said) / (nd + ns);
  const none = hit <= alarm;
  // Any d' from here on fits as well as the best.
  const unbounded = !none && (alarm === 0 || hit === 1);
  const criterion = criterionAt(none ? pooled : alarm);
  const estimate = none ? 0 : unbounded || criterion === null ? null : sizeAt(hit, criterion);
  const best = none ? misfit(counts, 0) : 0;
  const z = normalQuantile((1 + level) / 2);
  const excess = (d: number): number => misfit(counts, d) - best - (z * z) / (2 * weight);
  const top = estimate ?? LARGEST;
  return {
    estimate,
    criterion,
    standardError:
      estimate === null || estimate === 0 || criterion === null
        ? null
        : errorOf(estimate, criterion, { hit, alarm, nd, ns }) / Math.sqrt(weight),
    lower: excess(0) <= 0 ? 0 : halve(0, top, (d) => -excess(d)),
    upper: estimate === null ? null : excess(LARGEST) <= 0 ? null : halve(estimate, LARGEST, excess),
    ...facts,
  };
}

function checkCounts(counts: PairCounts): void {
  for (const kind of ['different', 'same'] as const) {
    integerIn(`${kind}.answers`, counts[kind].answers, 0, MAX_ANSWERS);
    integerIn(`${kind}.said`, counts[kind].said, 0, counts[kind].answers);
  }
}

/** The criterion that gives this rate of false alarms; null for none, which no criterion gives. */
function criterionAt(falseAlarm: number): number | null {
  if (falseAlarm === 0) return null;
  return falseAlarm === 1 ? 0 : -Math.SQRT2 * normalQuantile(falseAlarm / 2);
}

/** d' at which pairs are called different so often, from as often as pairs alike. */
const sizeAt = (hit: number, criterion: number): number =>
  halve(0, LARGEST, (d) => chances(d, criterion).hit - hit);

/** Root of a function that is not above 0 at `low` nor below it at `high`, by halving. */
function halve(low: number, high: number, value: (x: number) => number): number {
  let [from, to] = [low, high];
  for (let turn = 0; turn < 46; turn += 1) {
    const middle = (from + to) / 2;
    if (value(middle) > 0) to = middle;
    else from = middle;
  }
  return (from + to) / 2;
}

const GOLDEN = (Math.sqrt(5) - 1) / 2;
const STEPS = 24;

/**
 * Half the deviance of the counts at d', over the best criterion. That lies between the criteria at which one of the two rates
 * fits; there may be more than one dip, so that a grid comes before the search.
 */
function misfit({ different, same }: PairCounts, d: number): number {
  const at = (k: number): number => {
    const { hit, falseAlarm } = chances(d, k);
    return lackOfFit(different.said, different.answers, hit) + lackOfFit(same.said, same.answers, falseAlarm);
  };
  const far = d + 12;
  const hit = different.said / different.answers;
  const forHits = hit === 0 ? far : halve(0, far, (k) => hit - chances(d, k).hit);
  const forAlarms = criterionAt(same.said / same.answers) ?? far;
  const [low, high] = forHits < forAlarms ? [forHits, forAlarms] : [forAlarms, forHits];
  const step = (high - low) / STEPS;
  if (step === 0) return at(low);
  let best = 0;
  const values = Array.from({ length: STEPS + 1 }, (_, i) => at(low + i * step));
  values.forEach((value, i) => {
    if (value < (values[best] ?? Infinity)) best = i;
  });
  let [from, to] = [low + Math.max(0, best - 1) * step, low + Math.min(STEPS, best + 1) * step];
  for (let turn = 0; turn < 32; turn += 1) {
    const [one, other] = [to - GOLDEN * (to - from), from + GOLDEN * (to - from)];
    if (at(one) <= at(other)) to = other;
    else from = one;
  }
  return Math.min(at((from + to) / 2), values[best] ?? Infinity);
}

/** Both rates vary by themselves: d' follows the hits, and through the criterion the false alarms. */
function errorOf(
  d: number,
  k: number,
  { hit, alarm, nd, ns }: { hit: number; alarm: number; nd: number; ns: number },
): number {
  const near = normalPdf((d - k) / Math.SQRT2) / Math.SQRT2;
  const far = normalPdf((-d - k) / Math.SQRT2) / Math.SQRT2;
  const byAlarm = -Math.SQRT2 * normalPdf(k / Math.SQRT2);
  const ofCriterion = (alarm * (1 - alarm)) / ns / byAlarm ** 2;
  const ofHits = (hit * (1 - hit)) / nd;
  return Math.sqrt(ofHits + (near + far) ** 2 * ofCriterion) / (near - far);
}
