import type { Part } from '../contracts/part.ts';
import { choiceOf, isDifferenceKind, KINDS } from '../kinds/kinds.ts';
import { ethanolGrams } from '../fermentation/ethanol.ts';
import { borrowsCups, isChoice } from '../contracts/part-fit.ts';
import { drinksInWords, strongestCup } from '../rules/ethanol.ts';
import { armsOfParts, cupsOnTray, workloadPerSeat, traysOfPart } from '../rules/parts.ts';
import { compareTests } from './compare-tests.ts';
import { assessDifference, assessPreference } from './plan-choice.ts';
import { assessFlight } from './plan-flight.ts';
import { assessSameDifferent } from './plan-same-different.ts';
import { liquidOf } from './plan-liquid.ts';
import { wavesWarnings, wavesWords } from './plan-waves.ts';
import { enduranceWords, lateWaits, lingeringOf, warningsOfPart, warningsOfTiring } from './tiring.ts';
import { inWords, listed, plain } from '../ground/phrases.ts';
import type { PlannedArm, PlannedSettings, PartReading, PlannedLiquid, PlanReading } from './plan-reading.ts';

// Guidelines of our own for one evening: common practice, no source. 12 g is about what leaves a small person below most limits
// for driving, 24 g about 3 UK units or 1.7 US standard drinks.
const ETHANOL_TO_TELL_GRAMS = 12;
const ETHANOL_TO_WARN_GRAMS = 24;

/**
 * What a plan can and cannot tell, before anything is fixed: for each part by itself, and for the evening as a whole.
 * @param settings valid by their schema; they need no title.
 * @param arms of the trial: those that are not poured are left out.
 * Sources stand with each figure.
 */
export function assessPlan(settings: PlannedSettings, arms: readonly PlannedArm[]): PlanReading {
  const { parts } = settings;
  const { trays, cups } = workloadPerSeat(parts);
  const poured = pouredArms(settings, arms);
  const liquid = liquidOfPlan(settings, arms);
  const grams = ethanolOfSession(settings, arms);
  const lingering = lingeringOf(settings, arms);
  return {
    cupsEach: cups,
    traysEach: trays,
    ethanolGrams: grams,
    liquid,
    parts: parts.map((part, index) => assessPart(settings, arms, part, index)),
    sayings: [
      ...sayingsOf(settings, cups),
      ...wavesWords(settings),
      ...sayingsOfSites(settings),
      ...told(lateWaits(parts)),
      ...told(enduranceWords(lingering)),
    ],
    warnings: [
      ...warningsOfLiquid(settings, liquid),
      ...warningsOfEthanol(
        grams,
        poured.some(({ abv }) => abv === null),
      ),
      ...warningsOfTiring(settings, lingering),
      ...wavesWarnings(settings),
      ...warningsOfLiking(parts),
      ...warningsOfSites(settings),
    ],
  };
}

/** What a plan needs of each arm it pours, and what is left of it: all that sealing asks. */
export function liquidOfPlan(settings: PlannedSettings, arms: readonly PlannedArm[]): PlannedLiquid[] {
  return pouredArms(settings, arms).map((arm) => liquidOf(settings, arm));
}

function pouredArms({ parts }: PlannedSettings, arms: readonly PlannedArm[]): PlannedArm[] {
  return armsOfParts(parts).flatMap((id) => arms.filter((arm) => arm.id === id));
}

/**
 * Ethanol for one assessor if every cup is swallowed, g: at most, as if each cup were the strongest, spiked ones too, so that
 * the figure tells nothing about the samples. Null when the ABV of a poured arm is unknown (never taken as 0).
 */
export function ethanolOfSession(
  { parts, cupMl }: Pick<PlannedSettings, 'parts' | 'cupMl'>,
  arms: readonly Pick<PlannedArm, 'id' | 'abv'>[],
): number | null {
  return ethanolGrams({ ml: workloadPerSeat(parts).cups * cupMl, abvPercent: strongestCup(parts, arms) });
}

function assessPart(
  settings: PlannedSettings,
  arms: readonly PlannedArm[],
  part: Part,
  index: number,
): PartReading {
  const traysEach = traysOfPart(part);
  const cups = borrowsCups(part) ? 0 : cupsOnTray(part).cups;
  const reading: PartReading = {
    part: index + 1,
    kind: part.kind,
    cupsEach: traysEach * cups,
    traysEach,
    difference: null,
    comparison: isDifferenceKind(part) ? compareTests(settings, part, arms) : null,
    ...(!isChoice(part)
      ? assessFlight(settings, part, index)
      : isDifferenceKind(part)
        ? assessDifference(settings.assessors, part)
        : part.kind === 'preference'
          ? assessPreference(settings.assessors, part)
          : assessSameDifferent(settings.assessors, part)),
  };
  const kinds = lingeringOf(settings, arms);
  reading.warnings.push(...warningsOfPart(part, kinds, { cups, own: !borrowsCups(part) }));
  return reading;
}

const told = (text: string | null): string[] => (text === null ? [] : [text]);

function sayingsOf({ parts, restSeconds }: PlannedSettings, cups: number): string[] {
  if (parts.length < 2) return [];
  const rest = restSeconds > 0 ? `, with ${restSeconds} seconds of rest between trays` : '';
  return [
    `${parts.length} parts are asked in this order, ${cups} cups each in all${rest}. Later parts find a palate that is no longer fresh.`,
  ];
}

/** Fewer people than this at a place are not told of by place (`publication/disclosure.ts`). */
const TOLD_BY_SITE_FROM = 10;

function sayingsOfSites({ sites }: PlannedSettings): string[] {
  if (!sites) return [];
  const small = sites.some(({ assessors }) => assessors < TOLD_BY_SITE_FROM);
  return [
    `Poured at ${inWords(sites.length)} places by one sealed plan: serving orders are balanced within each, and each needs its own bottles, steward and pour list. ` +
      'A place is a block: what differs between places alone does not make arms differ.',
    ...(small
      ? [
          'With fewer than ten people at a place a publication says how many places there were, and nothing by place.',
        ]
      : []),
  ];
}

function warningsOfSites({ sites = [], parts }: PlannedSettings): string[] {
  const most = Math.max(
    0,
    ...parts.map((part) => (isChoice(part) ? choiceOf(part).serving(part).orders.length : 0)),
  );
  const few = sites.filter(({ assessors }) => assessors < most).map(({ name }) => name);
  if (few.length === 0) return [];
  return [
    `${listed(few)}: fewer people than there are serving orders, so that not every order is served there. Balance within a place is then as near as that many people allow.`,
  ];
}

function warningsOfLiquid({ spareSeats }: PlannedSettings, liquid: readonly PlannedLiquid[]): string[] {
  const warnings = liquid
    .filter(({ enough }) => !enough)
    .map(
      ({ name, needMl, leftMl }) =>
        `${name}: the plan needs ${plain(needMl)} mL, ${plain(leftMl)} mL are left.`,
    );
  const spareShort = liquid.some(
    ({ enough, needMl, spareMl, leftMl }) => enough && needMl + spareMl > leftMl,
  );
  if (spareSeats > 0 && spareShort) {
    warnings.push('Not every spare seat could be served from what is left; empty seats cost nothing.');
  }
  return warnings;
}

function warningsOfEthanol(grams: number | null, armUnknown: boolean): string[] {
  if (grams === null) {
    return [
      `The alcohol of ${armUnknown ? 'an arm' : 'a spiked sample'} is unknown, so nobody can be told how much ethanol the evening holds.`,
    ];
  }
  if (grams <= ETHANOL_TO_TELL_GRAMS) return [];
  const much = `Up to ${plain(grams)} g of ethanol each if all is swallowed: ${drinksInWords(grams)}.`;
  return grams > ETHANOL_TO_WARN_GRAMS
    ? [`${much} Pour less or offer spit cups; what the law of the place says of serving and driving decides.`]
    : [`${much} Say so beforehand and offer spit cups; nobody drives.`];
}

/** Source: ISO 6658, ISO 11136 (liking is not asked in a sitting with analytical tests). */
function warningsOfLiking(parts: readonly Part[]): string[] {
  const kinds = [...new Set(parts.map(({ kind }) => kind))];
  const asked = (likes: boolean): string[] =>
    kinds.filter((kind) => KINDS[kind].asksLiking === likes).map((kind) => KINDS[kind].names.asked);
  const [liked, analytic] = [asked(true), asked(false)];
  if (liked.length === 0 || analytic.length === 0) return [];
  return [
    `This session asks for ${listed(liked)} beside ${listed(analytic)}. Whoever looks for single attributes or differences ` +
      'likes differently afterwards, and whoever likes a drink rates its attributes higher: ask for liking in a session of its own.',
  ];
}
