import type { ChoiceResult } from '../../contracts/result-choice.ts';
import type { NextSession, StoryInput } from '../../contracts/story.ts';
import { listed, percent, plain } from '../../ground/phrases.ts';
import type { DifferencePartKind } from '../../kinds/kind.ts';
import { DIFFERENCES, hasRightAnswer } from '../../kinds/kinds.ts';
import {
  comparedSize,
  dPrimeOfShare,
  shareOfDPrime,
  smallestPanel,
  testAt,
} from '../../planner/compare-tests.ts';
import type { ComparedTest, PlannedArm } from '../../planner/plan-reading.ts';
import type { DifferenceGroup } from './differences.ts';

/** A session has 200 seats at most. */
export const MAX_PEOPLE = 200;

/**
 * What a further session between two arms would take to find a difference again. Planned for the lower plausible limit of d'
 * where the last test has one above 0, since the estimate of a test that showed something is too large on average; else for the
 * size that its host wrote down as mattering. One tray each, and no direction taken as known.
 */
export function nextSessions(input: StoryInput, groups: readonly DifferenceGroup[]): NextSession[] {
  const pairs = Map.groupBy(groups, ({ armIds }) => [...armIds].sort().join('|'));
  return [...pairs.values()].flatMap((own) => {
    const found = own
      .flatMap((group) => group.found)
      .filter(({ part }) => hasRightAnswer(part.settings) && part.test.answers > 0)
      .sort((a, b) => (a.session.on < b.session.on ? -1 : a.session.on > b.session.on ? 1 : 0));
    const last = found.at(-1);
    return last ? [nextOf(input, last.part, last.session.result.session.cupMl)] : [];
  });
}

interface Size {
  dPrime: number;
  /** Of the interval whose lower limit it is, 0 to 1. */
  level: number;
  from: NextSession['from'];
}

function sizeOf({ kind, dPrime, settings }: ChoiceResult): Size | null {
  const lower = dPrime?.lower ?? 0;
  const level = dPrime?.level ?? 0;
  if (lower > 0) return { dPrime: lower, level, from: 'lower-limit' };
  const matters = dPrimeOfShare(kind, settings.meaningfulShare);
  return matters === null || matters <= 0 ? null : { dPrime: matters, level, from: 'matters' };
}

function nextOf(input: StoryInput, part: ChoiceResult, cupMl: number): NextSession {
  const armIds = [...part.settings.armIds];
  const arms = armIds.flatMap((id) => input.arms.filter((arm) => arm.id === id));
  const names = listed(arms.map(({ name }) => name));
  const size = sizeOf(part);
  if (!size) {
    return {
      armIds,
      plan: null,
      from: 'matters',
      sentence: `${names}: no size of difference was written down that could be planned for.`,
    };
  }
  const people = peopleAtHand(input);
  const rows = rowsFor(part, size, arms, cupMl);
  const [best] = rows
    .filter(({ people: needed, enough }) => enough && needed <= people)
    .sort((a, b) => a.people * a.row.cupsEach - b.people * b.row.cupsEach);
  const { alpha, beta } = risksOf(part);
  if (!best)
    return { armIds, plan: null, from: size.from, sentence: noPlan({ names, size, rows, people, beta }) };
  const { row } = best;
  return {
    armIds,
    plan: {
      kind: row.kind,
      assessors: best.people,
      alpha,
      power: row.power,
      dPrime: size.dPrime,
      share: row.share,
      needMl: row.needMl,
    },
    from: size.from,
    sentence:
      `${names}: a ${row.name} with ${best.people} people, one tray each (${listed(row.needMl.map((ml, at) => `${plain(ml)} mL of ${arms[at]?.name ?? ''}`))}), ` +
      `finds a difference of ${sizeWords(size)}, with a chance of ${percent(row.power)} at alpha ${alpha}. ${unseen(size)}`,
  };
}

/** In a test of likeness the risks change places: a wrong claim has the risk beta there, and alpha here. */
function risksOf({ settings: { aim, alpha, beta } }: ChoiceResult): { alpha: number; beta: number } {
  return aim === 'similarity' ? { alpha: beta, beta: alpha } : { alpha, beta };
}

interface Candidate {
  row: Omit<ComparedTest, 'smallest'>;
  people: number;
  enough: boolean;
}

/** Every test with the smallest panel from which on all larger ones reach the chance asked for, at that size of panel. */
function rowsFor(part: ChoiceResult, { dPrime }: Size, arms: StoryInput['arms'], cupMl: number): Candidate[] {
  const planned: PlannedArm[] = arms.map(({ id, name, volumeMl }) => ({ id, name, volumeMl, abv: null }));
  const draft = {
    ...part.settings,
    ...risksOf(part),
    aim: 'difference' as const,
    meaningfulShare: Math.min(0.999, shareOfDPrime(part.kind, dPrime)),
  };
  const size = comparedSize(draft);
  if (size === null) return [];
  const open = (Object.keys(DIFFERENCES) as DifferencePartKind[]).filter(
    (kind) => DIFFERENCES[kind].stronger === 'not-named',
  );
  return open.flatMap((kind) => {
    const sized = { kind, trays: 1, dPrime: size };
    const people = smallestPanel(sized, draft)?.stable ?? Infinity;
    if (people > MAX_PEOPLE) return [];
    const row = testAt(sized, { assessors: people, cupMl }, draft, planned);
    return [{ row, people, enough: row.enough }];
  });
}

/** The most people who came to a revealed session: who might come again. */
export function peopleAtHand({ sessions }: StoryInput): number {
  return Math.max(0, ...sessions.flatMap(({ result }) => result.parts.map(({ served }) => served.assessors)));
}

function sizeWords({ dPrime, level, from }: Size): string {
  return from === 'lower-limit'
    ? `d-prime ${dPrime.toFixed(2)}, the lower end of the ${Math.round(100 * level)} % interval of the last test`
    : `d-prime ${dPrime.toFixed(2)}, the size written down as mattering`;
}

const unseen = ({ from }: Size): string =>
  from === 'lower-limit'
    ? 'Were the difference smaller than that limit, the chance would be lower.'
    : 'A smaller difference would more often stay unseen, and that nothing is found would not mean that the arms are alike.';

function noPlan({
  names,
  size,
  rows,
  people,
  beta,
}: {
  names: string;
  size: Size;
  rows: readonly Candidate[];
  people: number;
  beta: number;
}): string {
  const short = rows
    .filter(({ people: needed }) => needed <= people)
    .map(
      ({ row, people: needed }) =>
        `a ${row.name} needs ${listed(row.needMl.map((ml) => `${plain(ml)} mL`))} for ${needed} people`,
    );
  const [fewest] = [...rows].sort((a, b) => a.people - b.people);
  const why =
    short.length > 0
      ? `the liquid left does not reach: ${listed(short)}`
      : fewest
        ? `the smallest panel for it is ${fewest.people} people in a ${fewest.row.name}, and at most ${people} came so far`
        : `no panel of up to ${MAX_PEOPLE} people would do`;
  return `${names}: with the people and the liquid at hand no test without a known direction finds a difference of ${sizeWords(size)}, with a chance of ${percent(1 - beta)}; ${why}.`;
}
