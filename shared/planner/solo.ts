import type { SoloDifference, SoloMethod, SoloSettings } from '../contracts/solo.ts';
import { ethanolGrams } from '../fermentation/ethanol.ts';
import { capital, howMany, inWords, percent, plain } from '../ground/phrases.ts';
import { DIFFERENCES } from '../kinds/kinds.ts';
import { soloPour, type SoloPour } from '../rules/solo.ts';
import { powerOfDifference } from '../stats/discrimination/power.ts';
import {
  sequentialBoundaries,
  sequentialOperating,
  type SequentialPlan,
} from '../stats/discrimination/sequential.ts';
import { shareOfDPrime } from './compare-tests.ts';
import type { PlannedArm } from './plan-reading.ts';
import { ORDINARY } from './tiring.ts';

/** Methods that one person can pour, in the order in which they are offered. */
export const SOLO_METHODS: readonly SoloMethod[] = ['triangle', 'tetrad', 'two-out-of-five'];
/** Trays that one series has at most: as its contract has it. */
export const MOST_SOLO_TRAYS = 30;

type Sized = Pick<SoloDifference, 'kind' | 'alpha' | 'beta' | 'dPrime' | 'trays'>;

// Steps by which alpha is lowered; some forty of them lead below any risk that a plan may have by mistake of the lines.
const LOWERED = 0.95;

/**
 * Lines of a series that is stopped by them. Wald's lines keep alpha only up to what is overshot, so that the alpha they
 * are drawn for is lowered until the exact risk with so many trays lies at or below the one planned.
 * trays from 1, dPrime above 0. Errors: StatsInputError of sequentialOperating.
 * Source: Wald 1947; ISO 16820; lowering alpha is our own.
 * Example: `soloLines({ kind: 'triangle', alpha: 0.05, beta: 0.2, dPrime: 1.5, trays: 24 }).alpha` is 0.05
 */
export function soloLines({ kind, alpha, beta, dPrime, trays }: Sized): SequentialPlan {
  const plan = {
    guessRate: DIFFERENCES[kind].test.guessRate,
    pd: shareOfDPrime(kind, dPrime),
    alpha,
    beta,
  };
  while (sequentialOperating({ plan, pd: 0, mostAnswers: trays }).difference > alpha) plan.alpha *= LOWERED;
  return plan;
}

/** What a series can tell, before it is sealed. */
export interface SoloReading {
  pour: SoloPour;
  liquid: { armId: string; name: string; needMl: number; leftMl: number; enough: boolean }[];
  /** Cups that are tasted over the whole series, and the grams of ethanol in them; null where an ABV is unknown. */
  cups: number;
  ethanolGrams: number | null;
  /** Chance to find the difference that matters; null for a rating. */
  power: number | null;
  /** Trays to be expected, by lines only: without a difference, with the one that matters, and the largest of both. */
  expected: { without: number; with: number; largest: number } | null;
  says: string[];
}

/**
 * Reads a plan of a solo series. Power takes the trays of one palate as alike and independent.
 * Errors: StatsInputError for settings outside of their contract. Source: as powerOfDifference and sequentialOperating.
 */
export function readSolo(settings: SoloSettings, arms: readonly PlannedArm[]): SoloReading {
  const pour = soloPour(settings);
  const own = settings.armIds.flatMap((id) => arms.find((arm) => arm.id === id) ?? []);
  const needMl = settings.trays * pour.each * settings.cupMl;
  const strongest = own.reduce<number | null>(
    (most, { abv }) => (most === null || abv === null ? null : Math.max(most, abv)),
    0,
  );
  const cups = settings.trays * pour.tasted;
  const ml = cups * settings.cupMl;
  const shared = {
    pour,
    liquid: own.map(({ id, name, volumeMl }) => ({
      armId: id,
      name,
      needMl,
      leftMl: volumeMl,
      enough: needMl <= volumeMl,
    })),
    cups,
    ethanolGrams: strongest === null ? null : ethanolGrams({ ml, abvPercent: strongest }),
  };
  const evenings = eveningWords(cups);
  if (settings.kind === 'rating') {
    return { ...shared, power: null, expected: null, says: [...ratingWords(settings), ...evenings] };
  }
  const told = settings.stopping === 'by-lines' ? linesTold(settings) : fixedTold(settings);
  return { ...shared, ...told, says: [...told.says, ...evenings] };
}

type Told = Pick<SoloReading, 'power' | 'expected' | 'says'>;

const SIZE_STEP = 0.1;
const LARGEST_SIZE = 4;

/** The smallest d-prime, in tenths, that so many trays find with a chance of 1 - beta; null where 4 is too small. */
function findable({ kind, trays, alpha, beta }: SoloDifference): number | null {
  const { guessRate } = DIFFERENCES[kind].test;
  for (let step = 5; step * SIZE_STEP <= LARGEST_SIZE + 1e-9; step += 1) {
    const dPrime = Number((step * SIZE_STEP).toFixed(1));
    const { power } = powerOfDifference({ n: trays, alpha, guessRate, pd: shareOfDPrime(kind, dPrime) });
    if (power >= 1 - beta) return dPrime;
  }
  return null;
}

function fixedTold(settings: SoloDifference): Told {
  const { kind, trays, alpha, dPrime } = settings;
  const { guessRate } = DIFFERENCES[kind].test;
  const { power, critical } = powerOfDifference({
    n: trays,
    alpha,
    guessRate,
    pd: shareOfDPrime(kind, dPrime),
  });
  if (critical === null)
    return {
      power: 0,
      expected: null,
      says: [
        `With ${howMany(trays)} ${ofTrays(trays)} not even all of them speak for a difference: plan more.`,
      ],
    };
  return {
    power,
    expected: null,
    says: [
      `${capital(inWords(critical))} of ${inWords(trays)} trays have to be named as they stood.`,
      `A difference of d-prime ${plain(dPrime)} is found with a chance of ${percent(power)}.`,
      ...(power < 1 - settings.beta ? [sizeWords(settings)] : []),
    ],
  };
}

function sizeWords(settings: SoloDifference): string {
  const size = findable(settings);
  return size === null
    ? `No difference up to d-prime ${LARGEST_SIZE} is found with ${percent(1 - settings.beta)}: plan more trays.`
    : `${percent(1 - settings.beta)} is reached for a difference of d-prime ${plain(size)} and larger.`;
}

function linesTold(settings: SoloDifference): Told {
  const { trays, dPrime } = settings;
  const plan = soloLines(settings);
  const lines = sequentialBoundaries(plan);
  const at = (pd: number) => sequentialOperating({ plan, pd, mostAnswers: trays });
  const [none, some] = [at(0), at(plan.pd)];
  // The longest walk lies between both; a grid finds it to a tenth of a tray.
  const largest = Math.max(...Array.from({ length: 11 }, (_, step) => at((plan.pd * step) / 10).expected));
  const says = [
    `Expect ${plain(none.expected)} trays if the arms do not differ, ${plain(some.expected)} if they differ by d-prime ${plain(dPrime)}, and up to ${plain(largest)} in between; ${trays} at most.`,
    `The lines can speak for a difference after ${ofCount(lines.fewestForDifference)} at the earliest, and for less than d-prime ${plain(dPrime)} after ${ofCount(lines.fewestForLess)}.`,
    `Guessing alone is taken for a difference in ${percent(none.difference)} of such series; one of d-prime ${plain(dPrime)} is found in ${percent(some.difference)}, and ${percent(some.undecided)} end undecided.`,
    'Every tray is turned before the next is poured: you learn as you go, and may come to taste for what you saw. That keeps the risk of a false claim, but what comes out speaks of a palate that was told.',
  ];
  return {
    power: some.difference,
    expected: { without: none.expected, with: some.expected, largest },
    says,
  };
}

function ratingWords({ armIds, trays, alpha }: Extract<SoloSettings, { kind: 'rating' }>): string[] {
  // Orders within trays, of which the one seen and those that only change names of arms are as far out.
  const orders = armIds.reduce((product, _, at) => product * (at + 1), 1);
  const smallest = orders ** (1 - trays);
  return [
    smallest > alpha
      ? `With ${howMany(trays)} ${ofTrays(trays)} p cannot come below ${plain(smallest, 3)}: plan more.`
      : `Marks of ${inWords(trays)} trays are compared tray by tray; p cannot come below ${smallest < 0.001 ? '0.001' : plain(smallest, 3)}.`,
  ];
}

const eveningWords = (cups: number): string[] =>
  cups <= ORDINARY.evening
    ? []
    : [
        `${cups} cups are more than the ${ORDINARY.evening} that a palate bears in an evening: spread them over ${inWords(Math.ceil(cups / ORDINARY.evening))} evenings. The series waits.`,
      ];

const ofTrays = (trays: number): string => (trays === 1 ? 'tray' : 'trays');
const ofCount = (trays: number): string => `${inWords(trays)} ${ofTrays(trays)}`;

export interface SoloOffer {
  kind: SoloMethod;
  trays: number;
  power: number;
  cups: number;
}

/**
 * What each method can find with so many cups of each arm, the one with most power first; of equals the one with fewer cups
 * to taste. cupsEach whole from 0. Source: as powerOfDifference.
 * Example: `offerSolo({ cupsEach: 24, alpha: 0.05, dPrime: 1.5 })[0].kind` is 'tetrad'
 */
export function offerSolo({
  cupsEach,
  alpha,
  dPrime,
}: {
  cupsEach: number;
  alpha: number;
  dPrime: number;
}): SoloOffer[] {
  return SOLO_METHODS.map((kind): SoloOffer => {
    const { each, tasted } = soloPour({ kind, armIds: [] });
    const trays = Math.min(MOST_SOLO_TRAYS, Math.floor(cupsEach / each));
    const { guessRate } = DIFFERENCES[kind].test;
    const { power } = powerOfDifference({ n: trays, alpha, guessRate, pd: shareOfDPrime(kind, dPrime) });
    return { kind, trays, power, cups: trays * tasted };
  }).sort((a, b) => b.power - a.power || a.cups - b.cups);
}
