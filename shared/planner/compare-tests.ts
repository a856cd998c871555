import type { DifferencePart } from '../contracts/part.ts';
import { ethanolGrams } from '../fermentation/ethanol.ts';
import type { DifferencePartKind } from '../kinds/kind.ts';
import { cupsOfChoice, DIFFERENCES } from '../kinds/kinds.ts';
import { shareFromProportion } from '../stats/discrimination/proportion-interval.ts';
import { dPrimeFromProportion } from '../stats/discrimination/d-prime.ts';
import { proportionCorrect } from '../stats/discrimination/guessing.ts';
import { powerOfTrays, smallestForTrays } from '../stats/discrimination/power-of-trays.ts';
import { psychometric } from '../stats/discrimination/psychometric.ts';
import { capital, inWords, listed, percent } from '../ground/phrases.ts';
import { groupsOf } from '../rules/sites.ts';
import { mostCups } from './plan-liquid.ts';
import { enduranceOf, lingeringOf } from './tiring.ts';
import type { ComparedTest, PlannedArm, PlannedSettings, TestComparison } from './plan-reading.ts';

/** Sizes of a difference in units of perceptual noise, which all tests share. Our own names; no source. */
export const SIZES = [
  { name: 'small', dPrime: 1 },
  { name: 'medium', dPrime: 1.5 },
  { name: 'large', dPrime: 2 },
] as const;

const TRAYS = [1, 2, 3];
/** More cups in one part tire a palate: three triangles, fewer of drinks that linger. Common practice, no source. */
export const MAX_CUPS = 9;

/** d' that a share of discriminators comes to in a test; null where it is unbounded. Example: `dPrimeOfShare('triangle', 0.25)` is 1.46626278006 */
export function dPrimeOfShare(kind: DifferencePartKind, share: number): number | null {
  const { stats, guessRate } = DIFFERENCES[kind].test;
  return dPrimeFromProportion(stats, proportionCorrect(share, guessRate));
}

/** Share of discriminators that a d' comes to in a test. Example: `shareOfDPrime('triangle', 1.46626278006)` is 0.25 */
export function shareOfDPrime(kind: DifferencePartKind, dPrime: number): number {
  const { stats, guessRate } = DIFFERENCES[kind].test;
  return Math.max(0, shareFromProportion(psychometric(stats, dPrime), guessRate));
}

/**
 * Every test of a difference with one to three trays, for the same size of difference, these people and this liquid. A share of
 * discriminators means another difference in every test, so that only d' compares them. Power allows for persons differing.
 * @param part a test of difference whose arms, risks and size are taken.
 * Null when the aim is likeness, or the size is none or unbounded.
 * Source: ASTM E2262; Ennis 1993, J. Sens. Stud. 8:353; power as in powerOfTrays.
 */
export function compareTests(
  {
    assessors,
    cupMl,
    parts = [],
    lingering,
    sites,
  }: Pick<PlannedSettings, 'assessors' | 'cupMl' | 'lingering' | 'sites'> &
    Partial<Pick<PlannedSettings, 'parts'>>,
  part: DifferencePart,
  arms: readonly PlannedArm[],
): TestComparison | null {
  const dPrime = comparedSize(part);
  if (dPrime === null) return null;
  const goal = 1 - part.beta;
  const most = Math.min(
    MAX_CUPS,
    enduranceOf(lingeringOf({ parts, ...(lingering && { lingering }) }, arms)).evening,
  );
  const rows = (Object.keys(DIFFERENCES) as DifferencePartKind[]).flatMap((kind) =>
    TRAYS.map((trays) => ({
      ...testAt({ kind, trays, dPrime }, { assessors, cupMl, sites }, part, arms),
      smallest: smallestPanel({ kind, trays, dPrime }, part),
    })),
  );
  const best = rows
    .filter(({ power, enough, cupsEach }) => enough && cupsEach <= most && power >= goal * (1 - 1e-9))
    .sort(
      (a, b) =>
        Number(a.needsDirection) - Number(b.needsDirection) || a.cupsEach - b.cupsEach || b.power - a.power,
    );
  return { dPrime, goal, rows, best, saying: sayingOf(rows, best, { assessors, goal, most }) };
}

/** The d' that a part asks about, for every test alike; null when the aim is likeness, or the size is none or unbounded. */
export function comparedSize(part: DifferencePart): number | null {
  const dPrime = part.aim === 'difference' ? dPrimeOfShare(part.kind, part.meaningfulShare) : null;
  return dPrime === 0 ? null : dPrime;
}

interface SizedTest {
  kind: DifferencePartKind;
  trays: number;
  dPrime: number;
}

const powerPlan = ({ kind, trays, dPrime }: SizedTest, { alpha }: DifferencePart) => ({
  trays,
  alpha,
  pd: shareOfDPrime(kind, dPrime),
  guessRate: DIFFERENCES[kind].test.guessRate,
});

/** One test for a size of difference with these people, cups and arms of `part`. */
export function testAt(
  sized: SizedTest,
  { assessors, cupMl, sites }: Pick<PlannedSettings, 'assessors' | 'cupMl' | 'sites'>,
  part: DifferencePart,
  arms: readonly PlannedArm[],
): Omit<ComparedTest, 'smallest'> {
  const { kind, trays } = sized;
  const { names, stronger } = DIFFERENCES[kind];
  const plan = powerPlan(sized, part);
  const draft = draftOf(kind, trays, part);
  const cupsEach = trays * cupsOfChoice(draft).cups;
  const groups = groupsOf({ assessors, spareSeats: 0, sites }, { spare: false });
  const needMl = part.armIds.map(
    (id) => groups.reduce((cups, seats) => cups + mostCups([draft], id, seats), 0) * cupMl,
  );
  const strongest = part.armIds.map((id) => arms.find((arm) => arm.id === id)?.abv ?? null);
  const abv = strongest.some((one) => one === null) ? null : Math.max(...strongest.map((one) => one ?? 0));
  return {
    kind,
    name: names.plain,
    trays,
    share: plan.pd,
    power: powerOfTrays({ ...plan, assessors }).power,
    cupsEach,
    needMl,
    enough: needMl.every(
      (need, at) => need <= (arms.find(({ id }) => id === part.armIds[at])?.volumeMl ?? 0),
    ),
    ethanolGrams: abv === null ? null : ethanolGrams({ ml: cupsEach * cupMl, abvPercent: abv }),
    needsDirection: stronger !== 'not-named',
  };
}

/** Fewest people with whom a test finds a size of difference with the chance that `part` asks for, as smallestForTrays. */
export function smallestPanel(sized: SizedTest, part: DifferencePart): ComparedTest['smallest'] {
  return smallestForTrays({ ...powerPlan(sized, part), beta: part.beta });
}

/** A part of that kind with the arms and risks of another; a direction is taken as known where the test needs one. */
function draftOf(kind: DifferencePartKind, trays: number, part: DifferencePart): DifferencePart {
  const shared = {
    armIds: part.armIds,
    replicates: trays,
    alpha: part.alpha,
    beta: part.beta,
    aim: part.aim,
    meaningfulShare: part.meaningfulShare,
  };
  const named = { ...shared, attribute: 'unnamed', strongerArmId: part.armIds[1] ?? '' };
  switch (kind) {
    case 'triangle':
    case 'tetrad':
    case 'two-out-of-five':
      return { kind, ...shared };
    case 'duo-trio':
      return { kind, ...shared, reference: 'balanced' };
    case 'three-afc':
    case 'directional-pair':
      return { kind, ...named };
  }
}

const rowWords = ({ name, trays, cupsEach, power }: ComparedTest): string =>
  `${name}${trays === 1 ? '' : `, ${inWords(trays)} trays`} (${cupsEach} cups each): ${percent(power)}`;

function sayingOf(
  rows: readonly ComparedTest[],
  best: readonly ComparedTest[],
  { assessors, goal, most }: { assessors: number; goal: number; most: number },
): string {
  const people = `${capital(inWords(assessors))} ${assessors === 1 ? 'person' : 'people'}`;
  if (best.length > 0) {
    const open = best.filter(({ needsDirection }) => !needsDirection).slice(0, 2);
    const known = best.filter(({ needsDirection }) => needsDirection).slice(0, 2);
    return [
      `${people} find a difference of this size with a chance of ${percent(goal)} or more`,
      open.length > 0 ? ` by ${listed(open.map(rowWords))}` : '',
      known.length > 0
        ? `${open.length > 0 ? '; and' : ' only'} if it is known in what the arms differ and which has more, by ${listed(known.map(rowWords))}`
        : '',
      '.',
    ].join('');
  }
  const reaching = rows
    .filter(({ smallest, cupsEach }) => smallest !== null && cupsEach <= most)
    .sort((a, b) => (a.smallest?.first ?? 0) - (b.smallest?.first ?? 0))
    .filter((row, at, all) => all.findIndex(({ kind }) => kind === row.kind) === at)
    .slice(0, 3)
    .map(
      ({ name, trays, smallest, needsDirection }) =>
        `${name}${trays === 1 ? '' : `, ${inWords(trays)} trays`}, with ${smallest?.first} people${needsDirection ? ' if the direction is known' : ''}`,
    );
  const short = rows.some(({ power, enough }) => power >= goal && !enough)
    ? 'with the liquid there is'
    : 'with these people';
  return reaching.length === 0
    ? `No test finds a difference of this size with a chance of ${percent(goal)}, with up to 400 people: look for a larger difference, or accept more risk.`
    : `No test finds a difference of this size with a chance of ${percent(goal)} ${short} and up to ${most} cups each. What would: ${listed(reaching)}.`;
}
