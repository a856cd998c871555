import type { SessionSettings } from '../contracts/session.ts';
import { worstCaseCups } from '../design/triangle.ts';
import { ethanolGrams } from '../fermentation/ethanol.ts';
import { powerOfDifference, smallestForDifference } from '../stats/discrimination/power.ts';
import { powerOfSimilarity, smallestForSimilarity } from '../stats/discrimination/similarity.ts';
import { GUESS_RATE } from '../stats/discrimination/guessing.ts';
import { percent, plain } from './words.ts';

type Planned = Pick<
  SessionSettings,
  'assessors' | 'spareSeats' | 'replicates' | 'alpha' | 'aim' | 'meaningfulShare' | 'beta' | 'cupMl'
>;

/** What the planner needs to know of an arm. */
export interface PlannedArm {
  id: string;
  name: string;
  /** Liquid left, mL. */
  volumeMl: number;
  /** Per cent by volume; null when unknown. */
  abv: number | null;
}

export interface TrianglePlanReading {
  /** Answers the test will rest on: trays for a difference, people for similarity. */
  answers: number;
  /** Fewest right answers that show a difference; null when no count of this panel can. */
  critical: number | null;
  /** Most right answers that still show similarity; null when the aim is difference or no count can. */
  mostCorrect: number | null;
  /** Chance that the test finds what it is planned for, 0 to 1. */
  power: number;
  /** The same with each person counted once, whatever the number of trays; equal to power with one tray each. */
  powerPerPerson: number;
  /** Smallest panels that reach 1 - beta: the first, and the first from which on every larger one does. */
  smallestAssessors: { first: number; stable: number } | null;
  liquid: {
    armId: string;
    name: string;
    /** Most cups the expected assessors can need, and mL for them. */
    cups: number;
    needMl: number;
    /** On top, mL, if every spare seat is taken. */
    spareMl: number;
    leftMl: number;
    enough: boolean;
  }[];
  /** Ethanol each if everything is swallowed, at most, g; null when an ABV is unknown. */
  ethanolGrams: number | null;
  cupsEach: number;
  /** What results could and could not mean, in sentences. */
  sayings: string[];
  /** What to mend or to know before sealing. */
  warnings: string[];
}

// A guideline of our own for one evening, about 3 UK units or 1.7 US standard drinks: common practice, no source.
const ETHANOL_TO_WARN_GRAMS = 24;

/**
 * What a triangle plan can and cannot tell, before anything is fixed.
 * Difference: exact binomial test over all trays (ISO 4120). Similarity: one answer per person, because
 * repeated answers of one palate may not be pooled for it (ISO 4120; methods of replicated testing).
 */
export function readTrianglePlan(settings: Planned, arms: readonly PlannedArm[]): TrianglePlanReading {
  const { assessors, replicates, alpha, beta, aim, meaningfulShare: pd } = settings;
  const similarity = aim === 'similarity';
  const answers = similarity ? assessors : assessors * replicates;
  const guessRate = GUESS_RATE.triangle;

  const test = powerOfDifference({ n: assessors * replicates, alpha, pd, guessRate });
  const perPerson = powerOfDifference({ n: assessors, alpha, pd, guessRate });
  const alike = powerOfSimilarity({ n: assessors, beta, pdMax: pd, guessRate });
  const smallestAnswers = similarity
    ? smallestForSimilarity({ alpha, beta, pdMax: pd, guessRate })
    : smallestForDifference({ alpha, beta, pd, guessRate });
  const trays = similarity ? 1 : replicates;
  const smallestAssessors = smallestAnswers && {
    first: Math.ceil(smallestAnswers.first / trays),
    stable: Math.ceil(smallestAnswers.stable / trays),
  };

  const reading: TrianglePlanReading = {
    answers,
    critical: test.critical,
    mostCorrect: similarity ? alike.mostCorrect : null,
    power: similarity ? alike.power : test.power,
    powerPerPerson: similarity ? alike.power : perPerson.power,
    smallestAssessors,
    liquid: arms.map((arm) => liquidOf(settings, arm)),
    ethanolGrams: ethanolOfSession(settings, arms),
    cupsEach: replicates * 3,
    sayings: [],
    warnings: [],
  };
  reading.sayings = similarity
    ? sayingsOfSimilarity(settings, reading)
    : sayingsOfDifference(settings, reading);
  reading.warnings = warningsOf(settings, reading);
  return reading;
}

/**
 * Ethanol for one assessor if every cup is swallowed, g: at most, as if each cup held the stronger arm, so that
 * the figure tells nothing about the samples. Null when an ABV is unknown (never taken as 0).
 */
export function ethanolOfSession(
  { replicates, cupMl }: Pick<Planned, 'replicates' | 'cupMl'>,
  arms: readonly Pick<PlannedArm, 'abv'>[],
): number | null {
  let strongest = 0;
  for (const { abv } of arms) {
    if (abv === null) return null;
    strongest = Math.max(strongest, abv);
  }
  return ethanolGrams({ ml: replicates * 3 * cupMl, abvPercent: strongest });
}

function liquidOf(
  { assessors, spareSeats, replicates, cupMl }: Planned,
  arm: PlannedArm,
): TrianglePlanReading['liquid'][number] {
  const cups = worstCaseCups({ seats: assessors, replicates });
  const withSpare = worstCaseCups({ seats: assessors + spareSeats, replicates });
  const needMl = cups * cupMl;
  return {
    armId: arm.id,
    name: arm.name,
    cups,
    needMl,
    spareMl: (withSpare - cups) * cupMl,
    leftMl: arm.volumeMl,
    enough: needMl <= arm.volumeMl,
  };
}

function sayingsOfDifference(settings: Planned, reading: TrianglePlanReading): string[] {
  const { alpha, meaningfulShare, replicates } = settings;
  const { answers, critical, power, powerPerPerson } = reading;
  const guessed = plain(answers / 3);
  if (critical === null) {
    return [
      `Even ${answers} right of ${answers} would not be significant at alpha ${alpha}: this panel can show nothing.`,
    ];
  }
  const sayings = [
    `At least ${critical} of ${answers} right answers show a difference (alpha ${alpha}). Guessing alone gives ${guessed} on average.`,
    `If ${percent(meaningfulShare)} of people like these can tell the arms apart, the panel finds it with a chance of ${percent(power)}.`,
    `Fewer than ${critical} right means: no difference was demonstrated with this panel. It does not mean that there is none; ` +
      `one that ${percent(meaningfulShare)} can tell stays unseen ${percent(1 - power)} of the time.`,
  ];
  if (replicates > 1) {
    sayings.push(
      `These chances take the ${replicates} trays of one palate as independent. Counting each person once, the chance is ` +
        `${percent(powerPerPerson)}; the truth lies between.`,
    );
  }
  return sayings;
}

function sayingsOfSimilarity(settings: Planned, reading: TrianglePlanReading): string[] {
  const { beta, meaningfulShare, replicates } = settings;
  const { answers, mostCorrect, power } = reading;
  const limit = percent(meaningfulShare);
  if (mostCorrect === null) {
    return [
      `Even no right answer of ${answers} would not support that at most ${limit} can tell: this panel can show nothing.`,
    ];
  }
  const sayings = [
    `At most ${mostCorrect} of ${answers} right answers support that fewer than ${limit} can tell the arms apart (risk of a wrong claim: ${beta}).`,
    `If nobody can tell, the panel supports it with a chance of ${percent(power)}.`,
    `More than ${mostCorrect} right means: similarity was not demonstrated. It does not mean that the arms differ.`,
  ];
  if (replicates > 1) {
    sayings.push(
      'For similarity one answer per person counts: the first tray. Further trays inform, but are not pooled.',
    );
  }
  return sayings;
}

function warningsOf({ alpha, beta, aim, spareSeats }: Planned, reading: TrianglePlanReading): string[] {
  const warnings: string[] = [];
  const { power, smallestAssessors, liquid, ethanolGrams: grams } = reading;
  // The risks change places: showing similarity fails with risk alpha, claiming it wrongly with risk beta.
  const wanted = aim === 'similarity' ? 1 - alpha : 1 - beta;
  if (power < wanted) {
    const reach = smallestAssessors
      ? `${smallestAssessors.first} assessors would reach it, ${smallestAssessors.stable} with every larger panel too.`
      : 'No panel of up to 2,000 would reach it: look for a larger difference or accept more risk.';
    warnings.push(`The chance of ${percent(power)} is below the ${percent(wanted)} you ask for. ${reach}`);
  }
  for (const { name, needMl, leftMl, enough } of liquid) {
    if (!enough) warnings.push(`${name}: the plan needs ${plain(needMl)} mL, ${plain(leftMl)} mL are left.`);
  }
  const spareShort = liquid.filter(
    ({ enough, needMl, spareMl, leftMl }) => enough && needMl + spareMl > leftMl,
  );
  if (spareSeats > 0 && spareShort.length > 0) {
    warnings.push('Not every spare seat could be served from what is left; empty seats cost nothing.');
  }
  if (grams === null) {
    warnings.push(
      'The alcohol of an arm is unknown, so nobody can be told how much ethanol the evening holds.',
    );
  } else if (grams > ETHANOL_TO_WARN_GRAMS) {
    warnings.push(
      `Up to ${plain(grams)} g of ethanol each if all is swallowed: pour less or offer spit cups.`,
    );
  }
  return warnings;
}
