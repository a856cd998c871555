import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import { analysePreference } from '@oddglass/shared/analysis/choice/preference.ts';
import { analyseSameDifferent } from '@oddglass/shared/analysis/same-different/same-different.ts';
import type { ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import type { DifferencePart } from '@oddglass/shared/contracts/part.ts';
import { choiceOrders, type ChoiceDesign } from '@oddglass/shared/design/choice-orders.ts';
import { dealIndependently, dealInTwos } from '@oddglass/shared/design/orders.ts';
import { SAME_DIFFERENT_ORDERS } from '@oddglass/shared/kinds/same-different.ts';
import { choiceOf } from '@oddglass/shared/kinds/kinds.ts';
import {
  input,
  PARTS,
  preferencePart,
  rightPlaces,
  sameDifferentPart,
  tray,
  type PartName,
} from '../analysis/choice/choice-input.ts';
import { calibrate, type CalibrationRow } from './calibration.ts';
import { randomOf } from './calibration-verdicts.ts';
import type { Panel } from './percepts.ts';

// The promise of a page on a choice, from the dealing of orders to the verdict: arms that are alike are told apart in at most
// alpha of panels, whatever habits people have; arms that differ as far as matters are called alike in at most beta.

const ALPHA = 0.05;
const BETA = 0.1;

/** even: each place as often. leaning: people like some place, most of them the same. alternating: never the last place again. */
const HABITS = ['even', 'leaning', 'alternating'] as const;
type Habit = (typeof HABITS)[number];
const SIZES = [
  { people: 6, trays: 1 },
  { people: 6, trays: 3 },
  { people: 12, trays: 1 },
  { people: 12, trays: 2 },
  { people: 24, trays: 1 },
  { people: 60, trays: 1 },
] as const;

const NAMES = [...(Object.keys(PARTS) as PartName[]), 'preference'] as const;
/** How readily people say 'different', whatever they taste: all alike, each in a way of their own, or by turns. */
const CRITERIA = ['cautious', 'even', 'daring', 'each their own', 'alternating'] as const;
type Criterion = (typeof CRITERIA)[number];
const PAIR_SIZES = [
  { people: 8, trays: 1 },
  { people: 12, trays: 2 },
  { people: 12, trays: 4 },
  { people: 24, trays: 1 },
  { people: 24, trays: 2 },
  { people: 60, trays: 1 },
] as const;
type Name = (typeof NAMES)[number];

/** Every kind of choice by size and habit, then likeness of arms that differ as far as matters. */
export function choiceVerdictClaims(
  panel: Panel,
  runs: number,
  choose: (setting: string) => boolean = () => true,
): CalibrationRow[] {
  const alike = NAMES.flatMap((name) =>
    SIZES.flatMap((size) => HABITS.map((habit) => ({ name, ...size, habit }))),
  ).map((cell) => ({
    setting: `${cell.name}, ${cell.people} people, ${cell.trays} trays, ${cell.habit}`,
    method: 'verdict of the page',
    promised: ALPHA,
    once: () => claimsDifference(panel, cell),
  }));
  const likeness = (Object.keys(PARTS) as PartName[])
    .filter((name) => name !== 'open-pair')
    .flatMap((name) => [24, 60].map((people) => ({ name, people })))
    .map(({ name, people }) => ({
      setting: `${name}, ${people} people, likeness, the share that matters tells`,
      method: 'likeness of the page',
      promised: BETA,
      once: () => claimsLikeness(panel, name, people),
    }));
  return [...alike, ...likeness]
    .filter(({ setting }) => choose(setting))
    .map(({ setting, method, promised, once }) =>
      calibrate({ kind: 'alarm', method, setting, promised, exact: true, runs, once }),
    );
}

/** Whether two cups are the same, by numbers of trays and by how readily people say 'different'. */
export function pairVerdictClaims(
  panel: Panel,
  runs: number,
  choose: (setting: string) => boolean = () => true,
): CalibrationRow[] {
  const pairs = PAIR_SIZES.flatMap((size) => CRITERIA.map((criterion) => ({ ...size, criterion }))).map(
    (cell) => ({
      setting: `same-different, ${cell.people} people, ${cell.trays} trays, ${cell.criterion}`,
      method: 'verdict of the page',
      promised: ALPHA,
      once: () => claimsPairsDiffer(panel, cell),
    }),
  );
  return pairs
    .filter(({ setting }) => choose(setting))
    .map(({ setting, method, promised, once }) =>
      calibrate({ kind: 'alarm', method, setting, promised, exact: true, runs, once }),
    );
}

interface Cell {
  name: Name;
  people: number;
  trays: number;
  habit: Habit;
}

const SAMPLES = ['alder', 'birch'] as const;

function designOf(name: Name): ChoiceDesign {
  const { kind } = name === 'preference' ? preferencePart : PARTS[name];
  return {
    kind,
    sampleIds: SAMPLES,
    ...((name === 'three-afc' || name === 'directional-pair') && { strongerSampleId: 'birch' }),
  };
}

/** Orders of each person, tray by tray, as a plan deals them; the reference in brackets. */
function dealt(panel: Panel, name: Name, people: number, trays: number): string[][] {
  const design = designOf(name);
  const { reference } = choiceOf(design);
  return dealIndependently(randomOf(panel), {
    orders: choiceOrders(design).orders,
    seats: people,
    replicates: trays,
  }).map((row) => row.map((order) => (reference ? `(${order[0]})${order.slice(1)}` : order)));
}

/** Places that somebody names who tastes nothing: those of a habit. */
function guesser(panel: Panel, cups: number, picks: number, habit: Habit): () => number[] {
  const places = Array.from({ length: cups }, (_, at) => at + 1);
  const favourite = panel.uniform() < 0.7 ? 1 : 1 + Math.floor(panel.uniform() * cups);
  let last: number[] = [];
  const shuffledPlaces = (list: readonly number[]): number[] =>
    list
      .map((place) => ({ place, at: panel.uniform() }))
      .sort((a, b) => a.at - b.at)
      .map(({ place }) => place);
  return () => {
    const free = habit === 'alternating' ? places.filter((place) => !last.includes(place)) : places;
    const pool = free.length >= picks ? shuffledPlaces(free) : shuffledPlaces(places);
    const chosen =
      habit === 'leaning' && panel.uniform() < 0.7
        ? [favourite, ...pool.filter((place) => place !== favourite)].slice(0, picks)
        : pool.slice(0, picks);
    last = chosen;
    return [...chosen].sort((a, b) => a - b);
  };
}

const askedCups = (order: string): number => order.replace(/\(.\)/, '').length;
const picksOf = (name: Name): number => (name === 'tetrad' || name === 'two-out-of-five' ? 2 : 1);

function claimsDifference(panel: Panel, { name, people, trays, habit }: Cell): boolean {
  const served = dealt(panel, name, people, trays).flatMap((row, who): ServedTray[] => {
    const guess = guesser(panel, askedCups(row[0] ?? ''), picksOf(name), habit);
    return row.map((order, at) => tray(order, guess(), { assessor: `a${who}`, replicate: at + 1 }));
  });
  if (name === 'preference') {
    const part = { ...preferencePart, noPreference: false, alpha: ALPHA };
    // Asked once of everybody: more trays are no more palates.
    return (
      analysePreference(
        input(
          part,
          served.filter(({ replicate }) => replicate === 1),
        ),
      ).finding.verdict === 'preference-shown'
    );
  }
  const part: DifferencePart = { ...PARTS[name], replicates: trays, alpha: ALPHA };
  return analyseChoice(input(part, served)).finding.verdict === 'difference-shown';
}

/** Arms alike: percepts of both cups are drawn from one, and 'different' is said where they lie far enough apart. */
function claimsPairsDiffer(
  panel: Panel,
  { people, trays, criterion }: { people: number; trays: 1 | 2 | 4; criterion: Criterion },
): boolean {
  const part = { ...sameDifferentPart, replicates: trays, alpha: ALPHA };
  const rows = dealInTwos(randomOf(panel), {
    orders: SAME_DIFFERENT_ORDERS,
    seats: people,
    replicates: trays,
    alone: 0,
  });
  const served = rows.flatMap((row, who): ServedTray[] => {
    const own = {
      cautious: 2.6,
      even: 1,
      daring: 0.3,
      'each their own': 4 * panel.uniform(),
      alternating: 0,
    };
    const first = panel.uniform() < 0.5 ? 0 : 1;
    return row.map((order, at) => {
      const far = Math.abs(panel.normal() - panel.normal()) > own[criterion];
      const said = criterion === 'alternating' ? (at + first) % 2 === 0 : far;
      return tray(order, said ? [1, 2] : [], { assessor: `a${who}`, replicate: at + 1 });
    });
  });
  return analyseSameDifferent(input(part, served)).finding.verdict === 'difference-shown';
}

/** A share that matters always tells, and the rest guess evenly. */
function claimsLikeness(panel: Panel, name: PartName, people: number): boolean {
  const SHARE = 0.3;
  const part: DifferencePart = {
    ...PARTS[name],
    aim: 'similarity',
    alpha: 0.2,
    beta: BETA,
    meaningfulShare: SHARE,
  };
  const served = dealt(panel, name, people, 1).map(([order = ''], who) => {
    const guess = guesser(panel, askedCups(order), picksOf(name), 'even');
    const places = panel.uniform() < SHARE ? rightPlaces(name, order) : guess();
    return tray(order, places, { assessor: `a${who}` });
  });
  return analyseChoice(input(part, served)).finding.verdict === 'similarity-shown';
}
