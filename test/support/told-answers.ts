import highsPackage from 'highs';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { isDifferenceKind } from '@oddglass/shared/kinds/kinds.ts';

// What a stranger works out of a published choice: written from the format of a publication alone, with another solver than
// the one that decides what is told.
// Its types are those of its CommonJS build, where the loader is one step further down.
const loadHighs = highsPackage as unknown as typeof highsPackage.default;
const highs = await loadHighs();

type Session = Publication['sessions'][number];
type Part = Session['parts'][number];

/** Somebody's own answer: index of the order, and of the place chosen. */
export interface Own {
  order: number;
  place: number;
}

/** Answers to one choice as they are told, each order with what choosing each place comes to. */
export interface ToldChoice {
  orders: { order: string; served: number; outcomeAt: number[]; reference: number; counted: number | null }[];
  outcomes: number[];
  places: number[] | null;
  references: number[] | null;
  /** The headline tells right answers by the sort of the pair as well: then these stand in `references`. */
  sorts?: true;
}

const ORDINALS = ['first', 'second', 'third', 'fourth', 'fifth'];
const PLACES: Readonly<Record<string, readonly string[]>> = {
  2: ['left', 'right'],
  3: ['left', 'middle', 'right'],
};

/** Places on a tray of so many cups: single cups by number, or pairs of them. */
function placesOf(kind: string, cups: number): number[][] {
  if (kind !== 'tetrad' && kind !== 'two-out-of-five') return (PLACES[cups] ?? []).map((_, at) => [at]);
  const pairs = ORDINALS.slice(0, cups).flatMap((_, a) =>
    ORDINALS.slice(a + 1, cups).map((__, on) => [a, a + 1 + on]),
  );
  return kind === 'tetrad' ? pairs.filter((pair) => pair.includes(0)) : pairs;
}

/** Outcome of a place on a tray with these letters: 0 counts, 1 does not. */
function outcomeOf(part: Part, letters: string, reference: string | null, place: readonly number[]): number {
  const at = place.map((cup) => letters[cup] ?? '');
  const others = [...letters].filter((_, cup) => !place.includes(cup));
  const same = (cups: readonly string[]): boolean => new Set(cups).size === 1;
  const times = (letter: string): number => [...letters].filter((one) => one === letter).length;
  switch (part.kind) {
    case 'triangle':
      return times(at[0] ?? '') === 1 ? 0 : 1;
    case 'duo-trio':
      return at[0] === reference ? 0 : 1;
    case 'tetrad':
    case 'two-out-of-five':
      return same(at) && same(others) ? 0 : 1;
    case 'three-afc':
      return times(at[0] ?? '') === 1 ? 0 : 1;
    case 'directional-pair': {
      const stronger = 'strongerArmId' in part.settings ? part.settings.strongerArmId : null;
      const wanted = stronger === null ? 'A' : 'AB'[part.settings.armIds.indexOf(stronger)];
      return at[0] === wanted ? 0 : 1;
    }
    default:
      return at[0] === 'A' ? 0 : 1;
  }
}

/** The answers of a part as told; null where it is no choice. */
export function toldChoice(session: Session, part: Part): ToldChoice | null {
  if (part.kind === 'same-different') return toldPairs(session, part);
  if (!isDifferenceKind(part) && part.kind !== 'preference') return null;
  const preference = part.kind === 'preference';
  const rows = session.orders.filter((row) => row.part === part.part);
  const chosen = part.positions.rows.map((row) => row.chosen);
  const none = preference ? part.noPreference.answers : 0;
  const headline = preference
    ? [part.votes[0]?.votes ?? 0, part.votes[1]?.votes ?? 0, none]
    : [part.test.counted, part.test.answers - part.test.counted];
  return {
    orders: rows.map(({ order, served, counted }) => {
      const reference = /^\((.)\)/.exec(order)?.[1] ?? null;
      const letters = order.replace(/^\(.\)/, '');
      const outcomeAt = placesOf(part.kind, letters.length).map((place) =>
        outcomeOf(part, letters, reference, place),
      );
      return {
        order,
        served,
        outcomeAt: preference ? [...outcomeAt, 2] : outcomeAt,
        reference: reference === 'B' ? 1 : 0,
        counted,
      };
    }),
    outcomes: headline,
    places: chosen.length === 0 ? null : preference ? [...chosen, none] : chosen,
    references:
      part.kind === 'duo-trio' && part.references && part.references.length === 2
        ? part.references.map(({ counted }) => counted)
        : null,
  };
}

/** Pairs of which it was said whether they are the same: null where hits and false alarms are withheld, so that nothing is told. */
function toldPairs(session: Session, part: Extract<Part, { kind: 'same-different' }>): ToldChoice | null {
  const { different, same } = part.pairs;
  if (different.said === null || same.said === null || part.settings.replicates > 1) return null;
  const right = [same.answers - same.said, different.said] as const;
  const all = different.answers + same.answers;
  return {
    orders: session.orders
      .filter((row) => row.part === part.part)
      .map(({ order, served, counted }) => {
        const sort = order[0] === order[1] ? 0 : 1;
        // Places: the same, different.
        return { order, served, outcomeAt: [sort, 1 - sort], reference: sort, counted };
      }),
    outcomes: [right[0] + right[1], all - right[0] - right[1]],
    places: null,
    references: [...right],
    sorts: true,
  };
}

/** The same with only what the headline and the trays tell. */
export const headlineOnly = (told: ToldChoice): ToldChoice => ({
  ...told,
  orders: told.orders.map((order) => ({ ...order, counted: null })),
  places: null,
  references: told.sorts ? told.references : null,
});

/** What is left for somebody who takes their own answer away. */
export function withoutOwn(told: ToldChoice, { order: at, place }: Own): ToldChoice {
  const own = told.orders[at];
  const outcome = own?.outcomeAt[place] ?? 0;
  const less = (counts: readonly number[], index: number): number[] =>
    counts.map((count, one) => count - (one === index ? 1 : 0));
  return {
    orders: told.orders.map((order, one) =>
      one !== at
        ? order
        : {
            ...order,
            served: order.served - 1,
            counted: order.counted === null ? null : order.counted - (outcome === 0 ? 1 : 0),
          },
    ),
    outcomes: less(told.outcomes, outcome),
    places: told.places && less(told.places, place),
    references:
      told.references && (outcome === 0 ? less(told.references, own?.reference ?? 0) : told.references),
  };
}

/** Least and most answers of an order that had an outcome, in whole numbers; null where nothing fits. */
export function rangeOf(
  told: ToldChoice,
  order: number,
  outcome: number,
): { least: number; most: number } | null {
  const least = extreme(told, order, outcome, 'Minimize');
  const most = extreme(told, order, outcome, 'Maximize');
  return least === null || most === null ? null : { least, most };
}

/** A program in the LP format that solvers read. */
function extreme(told: ToldChoice, order: number, outcome: number, direction: string): number | null {
  const unknowns = told.orders.flatMap(({ outcomeAt, reference, counted }, at) =>
    outcomeAt.map((of, place) => ({
      name: `x${at}_${place}`,
      at,
      place,
      of,
      reference,
      known: counted !== null,
    })),
  );
  const sum = (which: (one: (typeof unknowns)[number]) => boolean): string =>
    unknowns
      .filter(which)
      .map(({ name }) => name)
      .join(' + ');
  const rules: [string, number][] = [
    ...told.orders.map(({ served }, at): [string, number] => [sum((one) => one.at === at), served]),
    ...told.orders.flatMap(({ counted }, at): [string, number][] =>
      counted === null ? [] : [[sum((one) => one.at === at && one.of === 0), counted]],
    ),
    ...told.outcomes.map((count, of): [string, number] => [sum((one) => one.of === of), count]),
    ...(told.places ?? []).map((count, place): [string, number] => [
      sum((one) => one.place === place),
      count,
    ]),
    ...(told.references ?? []).map((count, reference): [string, number] => [
      sum((one) => one.of === 0 && one.reference === reference),
      count,
    ]),
  ];
  const filled = rules.filter(([left]) => left !== '');
  if (rules.some(([left, right]) => left === '' && right !== 0)) return null;
  const goal = sum((one) => one.at === order && one.of === outcome);
  if (goal === '') return 0;
  const model = [
    direction,
    ` goal: ${goal}`,
    'Subject To',
    ...filled.map(([left, right], at) => ` r${at}: ${left} = ${right}`),
    'General',
    ` ${unknowns.map(({ name }) => name).join(' ')}`,
    'End',
  ].join('\n');
  const solved = highs.solve(model);
  return solved.Status === 'Optimal' ? Math.round(solved.ObjectiveValue) : null;
}
