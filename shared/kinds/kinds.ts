import type { ChoicePart, FlightPart, PartKind } from '../contracts/part.ts';
import { control } from './control.ts';
import { description } from './description.ts';
import { directionalPair } from './directional-pair.ts';
import { duoTrio } from './duo-trio.ts';
import type {
  ChoiceFacts,
  ChoicePartKind,
  DifferenceFacts,
  DifferencePartKind,
  FlightFacts,
  FlightPartKind,
  KindFacts,
  Place,
} from './kind.ts';
import { liking } from './liking.ts';
import { preference } from './preference.ts';
import { ranking } from './ranking.ts';
import { rating } from './rating.ts';
import { sameDifferent } from './same-different.ts';
import { tetrad } from './tetrad.ts';
import { threeAfc } from './three-afc.ts';
import { triangle } from './triangle.ts';
import { twoOutOfFive } from './two-out-of-five.ts';

// Every kind of part, once. A kind that a table lacks does not compile.

/** Tests between two arms with a right answer. */
export const DIFFERENCES: { readonly [K in DifferencePartKind]: DifferenceFacts<K> } = {
  triangle,
  'duo-trio': duoTrio,
  tetrad,
  'two-out-of-five': twoOutOfFive,
  'three-afc': threeAfc,
  'directional-pair': directionalPair,
};

/** One choice over a tray of two arms. */
export const CHOICES: { readonly [K in ChoicePartKind]: ChoiceFacts<K> } = {
  ...DIFFERENCES,
  preference,
  'same-different': sameDifferent,
};

/** Samples asked about cup by cup, or put in order. */
export const FLIGHTS: { readonly [K in FlightPartKind]: FlightFacts<K> } = {
  rating,
  description,
  control,
  liking,
  ranking,
};

export const KINDS = { ...CHOICES, ...FLIGHTS } satisfies Record<PartKind, unknown>;

/** Kinds in the order in which they are listed everywhere. */
export const PART_KINDS = Object.keys(KINDS) as PartKind[];

export const isPartKind = (kind: string): kind is PartKind => Object.hasOwn(KINDS, kind);

// The tables above hold each kind with functions of its own settings; whoever has a part of whatever kind takes its facts
// by the part, so that both belong together. That is why these may widen them.

/** Facts of a part's kind. */
export const kindOf = (part: { kind: PartKind }): KindFacts<PartKind> => KINDS[part.kind];
export const choiceOf = (part: { kind: ChoicePartKind }): ChoiceFacts<ChoicePartKind> => CHOICES[part.kind];
export const differenceOf = (part: { kind: DifferencePartKind }): DifferenceFacts<DifferencePartKind> =>
  DIFFERENCES[part.kind];
export const flightOf = (part: { kind: FlightPartKind }): FlightFacts<FlightPartKind> => FLIGHTS[part.kind];

/** Is one choice made over a tray of two arms? Works for settings, results and what a seat knows. */
export const isChoiceKind = <P extends { kind: string }>(
  part: P,
): part is Extract<P, { kind: ChoicePartKind }> => Object.hasOwn(CHOICES, part.kind);
/** Is it a test with a guessing rate, and no preference? */
export const isDifferenceKind = <P extends { kind: string }>(
  part: P,
): part is Extract<P, { kind: DifferencePartKind }> => Object.hasOwn(DIFFERENCES, part.kind);
/** Are samples asked about cup by cup, or put in order? */
export const isFlightKind = <P extends { kind: string }>(
  part: P,
): part is Extract<P, { kind: FlightPartKind }> => Object.hasOwn(FLIGHTS, part.kind);

/** Is one answer right, with a chance of guessing it? Not in a preference, a pair without a direction, nor where people choose when to say 'different'. */
export function hasRightAnswer(part: ChoicePart): boolean {
  return choiceOf(part).test !== null && !('strongerArmId' in part && part.strongerArmId === null);
}

/** Arm of the marked cup, of which one more is hidden among the samples; null for a part without. */
export const controlArmOf = (part: FlightPart): string | null => flightOf(part).controlArm(part);

/** Cups of a tray of two arms: all, those asked about, and how many of the latter stand for A and for B in its first order. */
export function cupsOfChoice(part: ChoicePart): { cups: number; asked: number; a: number; b: number } {
  const { serving, reference } = choiceOf(part);
  const [order = ''] = serving(part).orders;
  const asked = order.slice(reference ? 1 : 0);
  const a = Array.from(asked).filter((letter) => letter === 'A').length;
  return { cups: order.length, asked: asked.length, a, b: asked.length - a };
}

/**
 * Serving orders with the first arm of the part as A, a reference in brackets before the others.
 * Example: of a 3-AFC whose first arm is the stronger `['ABB', 'BAB', 'BBA']`
 */
export function servedOrders(part: ChoicePart): string[] {
  const { serving, reference } = choiceOf(part);
  const { orders, letters } = serving(part);
  const firstIsB = letters === 'stronger' && 'strongerArmId' in part && part.strongerArmId === part.armIds[0];
  return orders.map((order) => {
    const named = firstIsB ? order.replace(/[AB]/g, (letter) => (letter === 'A' ? 'B' : 'A')) : order;
    return reference ? `(${named.charAt(0)})${named.slice(1)}` : named;
  });
}

/** Index of the place that these cups are, among those asked about; of a tray that is halved, either half is the choice. */
export function placeOfCups<C>(places: readonly Place[], asked: readonly C[], cups: readonly C[]): number {
  const same = (on: readonly C[], place: readonly number[]): boolean =>
    on.length === place.length && place.every((at) => on.includes(asked[at] as C));
  const others = asked.filter((cup) => !cups.includes(cup));
  return places.findIndex(
    (place) => same(cups, place.cups) || (cups.length > 1 && others.length > 0 && same(others, place.cups)),
  );
}
