import { solve, type Constraint, type Model } from 'yalps';

// What a reader can work out of answers to a choice, from everything that is told of it at once.

/** One serving order, as the opened trays tell it. */
export interface OrderOfWorld {
  served: number;
  /** Outcome of choosing each place, as an index of `outcomes`; the last place may be 'no preference'. */
  outcomeAt: readonly number[];
  /** Index of the arm that was the reference; 0 where there is none. */
  reference: number;
  /** How many of its answers had each outcome; null: withheld. */
  told: readonly number[] | null;
}

/** Everything that is told of the answers to one choice, one answer a person. */
export interface ChoiceWorld {
  orders: readonly OrderOfWorld[];
  /** How many answers had each outcome: the headline. */
  outcomes: readonly number[];
  /** How often each place was chosen; null: withheld. */
  places: readonly number[] | null;
  /** How many answers had the first outcome, by the arm that was the reference; null: withheld. */
  references: readonly number[] | null;
}

/** Values that answers of one order and outcome can have; at most as many as were asked for. */
interface Feasible {
  values: number;
  /** Can it be neither none nor all of the order? */
  between: boolean;
}

// Three values: less than that is a guess between two. The census of the United States asks as much of rounded tables
// (Massell 2001, RR2001/01, from memory); the number is our own.
const OUTSIDERS = 3;
const INSIDERS = 2;
/** Above this many unknowns nothing more is told than what needs no check. Our own bound. */
const MAX_UNKNOWNS = 60;

/**
 * May all of this be told together? For every withheld cell, to a reader and to each person who knows their own answer:
 * from all that is told at least as much must stay open as three values (two to one of the people), one of them neither
 * none nor all. What the headline and the trays tell by themselves counts as known: nothing more may narrow it.
 *
 * Source: auditing of suppressed tables by integer programs, Zayatz 1992, US Census RR-92/02 (from memory).
 */
export function worldStaysOpen(world: ChoiceWorld): boolean {
  if (world.orders.every(({ told }) => told !== null)) return true;
  const bare: ChoiceWorld = {
    ...world,
    orders: world.orders.map((order) => ({ ...order, told: null })),
    places: null,
    references: null,
  };
  if (world.places !== null && unknowns(world) > MAX_UNKNOWNS) return false;
  try {
    if (!asOpen(world, bare, OUTSIDERS)) return false;
    return insidersOf(world).every(({ order, place }) => {
      const left = without(world, order, place);
      const alone = without(bare, order, place);
      return left === null || alone === null || asOpen(left, alone, INSIDERS);
    });
  } catch (reason) {
    // What could not be worked out is taken as telling.
    if (reason instanceof Unsolved) return false;
    throw reason;
  }
}

class Unsolved extends Error {}

const unknowns = ({ orders }: ChoiceWorld): number =>
  orders.reduce((sum, { outcomeAt, told }) => sum + (told === null ? outcomeAt.length : 0), 0);

/** Does `told` leave each withheld cell as open as `bare` does, up to `enough` values? */
function asOpen(told: ChoiceWorld, bare: ChoiceWorld, enough: number): boolean {
  const looked = new Set<string>();
  return told.orders.every((order, at) => {
    if (order.told !== null || order.served === 0) return true;
    return told.outcomes.every((_, outcome) => {
      // Without places, orders of one size and reference are alike.
      const key = `${order.served} ${order.reference} ${outcome} ${told.places === null ? '' : at}`;
      if (looked.has(key)) return true;
      looked.add(key);
      const known = feasible(bare, at, outcome, enough);
      // Nobody can have given that answer: there is no such insider.
      if (known.values === 0) return true;
      const left = feasible(told, at, outcome, enough);
      if (left.values === 0) return true;
      return left.values >= known.values && (left.between || !known.between);
    });
  });
}

/** Everybody there may be: one for each order and place, once for those that are alike. */
function insidersOf(world: ChoiceWorld): { order: number; place: number }[] {
  const seen = new Set<string>();
  return world.orders.flatMap(({ outcomeAt, served, reference, told }, order) =>
    outcomeAt.flatMap((outcome, place) => {
      const alike = world.places === null && told === null;
      const key = alike
        ? `${served} ${reference} ${outcome}`
        : `${order} ${outcome} ${world.places ? place : ''}`;
      if (served === 0 || seen.has(key)) return [];
      seen.add(key);
      return [{ order, place }];
    }),
  );
}

/** What one person knows who takes their own answer away; null where that answer cannot have been given. */
function without(world: ChoiceWorld, at: number, place: number): ChoiceWorld | null {
  const own = world.orders[at];
  const outcome = own?.outcomeAt[place];
  if (!own || outcome === undefined) return null;
  const less = (counts: readonly number[], index: number): number[] =>
    counts.map((count, one) => (one === index ? count - 1 : count));
  const left: ChoiceWorld = {
    orders: world.orders.map((order, one) =>
      one === at
        ? { ...order, served: order.served - 1, told: order.told && less(order.told, outcome) }
        : order,
    ),
    outcomes: less(world.outcomes, outcome),
    places: world.places && less(world.places, place),
    references:
      world.references && (outcome === 0 ? less(world.references, own.reference) : world.references),
  };
  const all = [
    ...left.outcomes,
    ...(left.places ?? []),
    ...(left.references ?? []),
    ...left.orders.flatMap(({ served, told }) => [served, ...(told ?? [])]),
  ];
  return all.some((count) => count < 0) ? null : left;
}

/** Counts up to `enough` values of a cell: its least, its most, and those between. Exact in whole numbers. */
export function feasible(world: ChoiceWorld, order: number, outcome: number, enough: number): Feasible {
  const { served } = world.orders[order] ?? { served: 0 };
  const least = extreme(world, order, outcome, 'minimize');
  if (least === null) return { values: 0, between: false };
  const most = extreme(world, order, outcome, 'maximize') ?? least;
  let values = least === most ? 1 : 2;
  let between = [least, most].some((value) => value > 0 && value < served);
  for (let value = least + 1; value < most && (values < enough || !between); value += 1) {
    if (extreme(world, order, outcome, 'minimize', value) === null) continue;
    values += 1;
    between ||= value > 0 && value < served;
  }
  return { values: Math.min(values, enough), between };
}

/** Least or most that a cell can be, or whether it can be `fixed`; null: not so at all. */
function extreme(
  world: ChoiceWorld,
  order: number,
  outcome: number,
  direction: 'minimize' | 'maximize',
  fixed?: number,
): number | null {
  const { status, result } = solve(modelOf(world, order, outcome, direction, fixed));
  if (status === 'infeasible') return null;
  if (status !== 'optimal') throw new Unsolved(status);
  return Math.round(result);
}

function modelOf(
  { orders, outcomes, places, references }: ChoiceWorld,
  order: number,
  outcome: number,
  direction: 'minimize' | 'maximize',
  fixed: number | undefined,
): Model {
  const constraints: Record<string, Constraint> = {};
  const variables: Record<string, Record<string, number>> = {};
  orders.forEach(({ served, told }, at) => {
    constraints[`served ${at}`] = { equal: served };
    told?.forEach((count, one) => (constraints[`told ${at} ${one}`] = { equal: count }));
  });
  outcomes.forEach((count, one) => (constraints[`outcome ${one}`] = { equal: count }));
  places?.forEach((count, place) => (constraints[`place ${place}`] = { equal: count }));
  references?.forEach((count, one) => (constraints[`reference ${one}`] = { equal: count }));
  if (fixed !== undefined) constraints['cell'] = { equal: fixed };
  orders.forEach(({ outcomeAt, reference, told }, at) => {
    outcomeAt.forEach((of, place) => {
      // Where places are withheld one of each outcome will do.
      if (places === null && outcomeAt.indexOf(of) !== place) return;
      const inCell = at === order && of === outcome;
      variables[`${at} ${place}`] = {
        [`served ${at}`]: 1,
        [`outcome ${of}`]: 1,
        ...(told && { [`told ${at} ${of}`]: 1 }),
        ...(places && { [`place ${place}`]: 1 }),
        ...(references && of === 0 && { [`reference ${reference}`]: 1 }),
        ...(inCell && { cell: 1 }),
      };
    });
  });
  return { direction, objective: 'cell', constraints, variables, integers: true };
}
