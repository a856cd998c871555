import type { Lingering, SessionSettings } from '../contracts/session.ts';
import type { Part } from '../contracts/part.ts';
import { isFlight } from '../contracts/part-fit.ts';
import { listed } from '../ground/phrases.ts';
import { isDifferenceKind, KINDS } from '../kinds/kinds.ts';
import { strongestCup } from '../rules/ethanol.ts';
import { cupsIndex, cupsOnTray, lateOf, traysOfPart, workloadPerSeat } from '../rules/parts.ts';
import type { PlannedArm, PlannedSettings } from './plan-reading.ts';

/** How much of a kind of drink a palate takes, and how long it needs. */
export interface Endurance {
  /** Most cups of one flight, and of an evening. */
  flight: number;
  evening: number;
  /** Least rest between trays and between the cups of a flight, seconds. */
  traySeconds: number;
  cupSeconds: number;
  /** What is known of it; the figures themselves are ours where it does not say otherwise. */
  source: string;
}

const OURS = 'the figures are common practice, no source';

/** Drinks of which nothing lingers. The rest: the trade's 'a minute or two'. */
export const ORDINARY: Endurance = {
  flight: 8,
  evening: 12,
  traySeconds: 90,
  cupSeconds: 0,
  source: 'Common practice, no source',
};

/**
 * Drinks that linger. Bitterness and astringency last longer with each sip and start higher when the next comes after 20 s or
 * 40 s, so that a minute at least lies between cups; for the others nobody measured it in a drink like these.
 */
export const ENDURANCE: Readonly<Record<Lingering, Endurance>> = {
  sour: {
    flight: 6,
    evening: 9,
    traySeconds: 120,
    cupSeconds: 60,
    source: `Acid is washed off by saliva within minutes: common practice, no source; ${OURS}`,
  },
  bitter: {
    flight: 6,
    evening: 9,
    traySeconds: 120,
    cupSeconds: 60,
    source: `Guinard, Pangborn & Lewis 1986, Journal of the ASBC 44:28, and of astringency American Journal of Enology and Viticulture 37:184 (abstracts): at 5 to 40 s apart it builds up; ${OURS}`,
  },
  smoky: {
    flight: 4,
    evening: 6,
    traySeconds: 180,
    cupSeconds: 90,
    source: `Parker et al. 2012, Journal of Agricultural and Food Chemistry 60:2629 (abstract; of wine): phenols are set free in the mouth after the swallow; ${OURS}`,
  },
  strong: {
    flight: 4,
    evening: 6,
    traySeconds: 180,
    cupSeconds: 60,
    source: `Alcohol burns and dulls: common practice, no source; ${OURS}`,
  },
};

/** Above this a drink counts as strong, % by volume. Our own bound, no source. */
export const STRONG_ABOVE = 8;

const ORDER = Object.keys(ENDURANCE) as Lingering[];

/** What lingers in the drinks of a plan: what the host says of them, and strength where the alcohol of a cup tells it. */
export function lingeringOf(
  { parts, lingering = [] }: Pick<SessionSettings, 'parts' | 'lingering'>,
  arms: readonly Pick<PlannedArm, 'id' | 'abv'>[],
): Lingering[] {
  const abv = strongestCup(parts, arms);
  return ORDER.filter((kind) => lingering.includes(kind) || (kind === 'strong' && (abv ?? 0) > STRONG_ABOVE));
}

/** What a palate takes of drinks that are several of these at once: of each bound the tightest. */
export function enduranceOf(kinds: readonly Lingering[]): Endurance {
  const of = kinds.map((kind) => ENDURANCE[kind]);
  const all = [ORDINARY, ...of];
  return {
    flight: Math.min(...all.map(({ flight }) => flight)),
    evening: Math.min(...all.map(({ evening }) => evening)),
    traySeconds: Math.max(...all.map(({ traySeconds }) => traySeconds)),
    cupSeconds: Math.max(...all.map(({ cupSeconds }) => cupSeconds)),
    source: (of.length > 0 ? of : all).map(({ source }) => source).join('. '),
  };
}

/** 'sour and smoky drinks'; 'ordinary drinks' where nothing lingers. */
const drinksOf = (kinds: readonly Lingering[]): string =>
  `${kinds.length === 0 ? 'ordinary' : listed(kinds)} drinks`;

/** What a palate takes of the drinks of this plan, with its source, in sentences; null where nothing lingers. */
export function enduranceWords(kinds: readonly Lingering[]): string | null {
  if (kinds.length === 0) return null;
  const { flight, evening, traySeconds, cupSeconds, source } = enduranceOf(kinds);
  return `For ${drinksOf(kinds)} the bounds are ${flight} cups a flight and ${evening} an evening, ${traySeconds} s between trays and ${cupSeconds} s between cups. ${source}.`;
}

/** What tires over the evening: cups in all, and too little rest between trays. */
export function warningsOfTiring(
  { restSeconds, parts }: PlannedSettings,
  kinds: readonly Lingering[],
): string[] {
  const { trays, cups } = workloadPerSeat(parts);
  const { evening, traySeconds } = enduranceOf(kinds);
  const warnings: string[] = [];
  if (cups > evening) {
    const usual =
      kinds.length === 0
        ? `${evening} or fewer are usual, and fewer for sour, bitter, smoky or strong drinks`
        : `of ${drinksOf(kinds)} ${evening} or fewer are usual`;
    warnings.push(`${cups} cups each in one evening tire a palate: ${usual}.`);
  }
  if (trays > 1 && restSeconds < traySeconds) {
    warnings.push(
      `${restSeconds} s of rest between trays are few: what lingers adds up from tray to tray. For ${drinksOf(kinds)} give ${traySeconds} s or more, with water.`,
    );
  }
  return warnings;
}

/** The same of one part: cups of its flight, time between them, and a comparison that what lingers spoils. */
export function warningsOfPart(
  part: Part,
  kinds: readonly Lingering[],
  { cups, own }: { cups: number; own: boolean },
): string[] {
  const { flight, cupSeconds } = enduranceOf(kinds);
  const warnings: string[] = [];
  if (cups > flight) {
    warnings.push(
      `${cups} cups in one flight tire a palate: serve ${flight} or fewer of ${drinksOf(kinds)}, or let each assessor have a part of them.`,
    );
  }
  if (kinds.length === 0) return warnings;
  // A wait that the tablet keeps is one.
  const waits = lateOf(part)?.seconds ?? 0;
  if (own && isFlight(part) && cups > 1 && waits < cupSeconds) {
    warnings.push(
      `What lingers in ${drinksOf(kinds)} goes on into the next cup, and ${waits > 0 ? `the tablet makes people wait ${waits} s only` : 'nothing makes people wait'} between the cups of a flight: have them wait ${cupSeconds} s or more, with water.`,
    );
  }
  if (isDifferenceKind(part) && cupsOnTray(part).asked > 2) {
    warnings.push(
      `${cupsOnTray(part).cups} ${listed(kinds)} cups have to be held against each other, and the first goes on into the others: ISO 4120 limits triangles to what does not carry over. Where it is known in what the arms differ, a ${KINDS['directional-pair'].names.plain} needs two; where it is not, a ${KINDS['same-different'].names.plain} test needs two as well, and more people.`,
    );
  }
  return warnings;
}

/** Time that the wait before late questions adds for each assessor, in a sentence; null where there is none. */
export function lateWaits(parts: readonly Part[]): string | null {
  const seconds = parts.reduce((sum, part, index) => {
    const late = lateOf(part);
    if (!late) return sum;
    const poured = parts[cupsIndex(parts, index)] as Part;
    return sum + late.seconds * cupsOnTray(poured).asked * traysOfPart(poured);
  }, 0);
  if (seconds === 0) return null;
  const minutes = Math.ceil(seconds / 60);
  return `Waiting for late questions takes each assessor ${minutes} ${minutes === 1 ? 'minute' : 'minutes'} in all, alike for every cup.`;
}
