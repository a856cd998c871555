import type { SafetyFacts, SafetyJudgement, SafetyVerdict } from '../contracts/safety.ts';

const DAY_MS = 86_400_000;

/**
 * Below this, % by volume, alcohol is taken as none: what the trade calls low in alcohol.
 * Source: Çobo et al. 2023, J. Food Prot. 86:100183 (abstract read): 'low-alcohol content < 2.5 %'.
 */
export const LOW_ALCOHOL = 2.5;
/**
 * Without alcohol: tasted only below the first, smelled up to the second. Source: Menz, Aldred & Vriesekoop 2011,
 * J. Food Prot. 74:1670 (abstract read): E. coli O157:H7 and Salmonella grew at pH 4.3, not at 4.0; 4.6 is the line of
 * C. botulinum (common knowledge of the trade).
 */
export const TASTE_BELOW_PH = 4.0;
export const SMELL_UP_TO_PH = 4.6;
/** Unhopped and younger than this many days is smelled only. Common practice for wild captures, no source. */
export const YOUNG_DAYS = 30;
/** A reading counts for this many days, with a meter calibrated at most so many days before it. Our own bounds; no source. */
export const READING_DAYS = 7;
export const CALIBRATION_DAYS = 7;
/** Hours for which 'no mould' counts: a film can grow overnight. Our own bound; no source. */
export const LOOK_HOURS = 36;

type SafetyReason = SafetyJudgement['reasons'][number];

export interface ArmToJudge {
  /** Alcohol by volume, per cent; null: unknown, which is taken as none. */
  abv: number | null;
  facts: (SafetyFacts & { writtenAt: string }) | null;
}

/**
 * May this be tasted, only smelled, or neither? What is not known counts as what is worse. It informs a host; local codes
 * and licensed practice decide.
 * `now` and days in UTC; a day may lie one ahead, since somewhere it is tomorrow already.
 * Sources: beside each bound above; the rule of the whole: product.md of this project, after the same.
 * Example: `judgeSafety({ abv: 0, facts: { ...looked, ph: 4.2 } }, now).verdict` is 'smell'
 */
export function judgeSafety({ abv, facts }: ArmToJudge, now: Date): SafetyJudgement {
  const without = abv === null || abv < LOW_ALCOHOL;
  if (!facts) {
    return { verdict: 'refuse', reasons: ['not-looked-at'], warnings: warningsOf(abv, facts, without) };
  }
  const refusals: SafetyReason[] = [];
  const smells: SafetyReason[] = [];

  if (facts.mould === true) refusals.push('mould');
  else if (facts.mould !== false || isOld(facts.writtenAt, now)) refusals.push('not-looked-at');

  const ph = readingOf(facts, now);
  if (without) {
    if (facts.stoodWarm !== false) refusals.push('stood-warm');
    if (ph === null) refusals.push('ph-missing');
    else if (ph > SMELL_UP_TO_PH) refusals.push('ph-above-4.6');
    else if (ph >= TASTE_BELOW_PH) smells.push('ph-from-4.0');
  } else if (facts.hopped !== true && isYoung(facts, now) && (ph === null || ph >= TASTE_BELOW_PH)) {
    smells.push('young-unhopped');
  }

  return {
    verdict: refusals.length > 0 ? 'refuse' : smells.length > 0 ? 'smell' : 'taste',
    reasons: [...refusals, ...smells],
    warnings: warningsOf(abv, facts, without),
  };
}

/** The graver of verdicts; 'taste' for none. */
export function gravest(verdicts: readonly SafetyVerdict[]): SafetyVerdict {
  if (verdicts.includes('refuse')) return 'refuse';
  return verdicts.includes('smell') ? 'smell' : 'taste';
}

function warningsOf(
  abv: number | null,
  facts: ArmToJudge['facts'],
  without: boolean,
): SafetyJudgement['warnings'] {
  const warnings: SafetyJudgement['warnings'] = [];
  if (facts?.gravityFalling !== false) warnings.push('pressure');
  if (abv === null) warnings.push('alcohol-unknown');
  if (!without && facts?.stoodWarm === true) warnings.push('stood-warm-fermented');
  if (without && facts?.hopped !== true) warnings.push('unhopped');
  return warnings;
}

const daysSince = (day: string, now: Date): number => (now.getTime() - Date.parse(day)) / DAY_MS;

function isOld(writtenAt: string, now: Date): boolean {
  return daysSince(writtenAt, now) * 24 > LOOK_HOURS;
}

/** The pH where it may be relied on: measured lately, with a meter calibrated shortly before. */
function readingOf(facts: SafetyFacts, now: Date): number | null {
  if (facts.ph === null || facts.phOn === null || facts.meterCalibratedOn === null) return null;
  const age = daysSince(facts.phOn, now);
  const since = (Date.parse(facts.phOn) - Date.parse(facts.meterCalibratedOn)) / DAY_MS;
  const lately = age >= -1 && age < READING_DAYS + 1;
  return lately && since >= 0 && since <= CALIBRATION_DAYS ? facts.ph : null;
}

function isYoung(facts: SafetyFacts, now: Date): boolean {
  return facts.pitchedOn === null || daysSince(facts.pitchedOn, now) < YOUNG_DAYS;
}
