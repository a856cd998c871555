import type { ChoicePart } from '../../contracts/part.ts';
import type { ChoiceResult, PreferenceResult } from '../../contracts/result-choice.ts';
import { choiceOf, placeOfCups } from '../../kinds/kinds.ts';
import type { ChoiceWorld, OrderOfWorld } from './choice-worlds.ts';

/** Which tables are told beside the headline. */
export interface ToldTables {
  /** In the order of the rows by order. */
  orders: readonly boolean[];
  places: boolean;
  references: boolean;
}

/** What a reader knows of the answers to a test of difference: the first outcome is what the test counts. */
export function worldOfDifference(part: ChoiceResult, told: ToldTables): ChoiceWorld {
  const { settings, test, references } = part;
  return {
    orders: part.orders.rows.map(({ order, served, counted }, at) => ({
      served,
      ...placesOf(settings, order),
      told: told.orders[at] ? [counted, served - counted] : null,
    })),
    outcomes: [test.counted, test.answers - test.counted],
    places: told.places ? part.positions.rows.map(({ chosen }) => chosen) : null,
    references:
      told.references && references
        ? settings.armIds.map((armId) => references.find((one) => one.armId === armId)?.counted ?? 0)
        : null,
  };
}

/** The same of a preference: outcomes are the first arm, the second, and neither. */
export function worldOfPreference(part: PreferenceResult, told: ToldTables): ChoiceWorld {
  const { votes, noPreference, settings, positions } = part;
  const abstained = noPreference.answers;
  return {
    orders: part.orders.rows.map(({ order, served, first, second, none }, at) => {
      const { outcomeAt, reference } = placesOf(settings, order);
      return {
        served,
        // 'No preference' is a place of its own.
        outcomeAt: [...outcomeAt, 2],
        reference,
        told: told.orders[at] ? [first, second, none] : null,
      };
    }),
    outcomes: [votes[0]?.votes ?? 0, votes[1]?.votes ?? 0, abstained],
    places: told.places ? [...positions.rows.map(({ chosen }) => chosen), abstained] : null,
    references: null,
  };
}

/** What choosing each place of a tray in this order comes to, and which arm was its reference. */
function placesOf(part: ChoicePart, order: string): Pick<OrderOfWorld, 'outcomeAt' | 'reference'> {
  const { places, right } = choiceOf(part);
  const cupOf = (letter: string) => ({ armId: part.armIds['AB'.indexOf(letter)] ?? '' });
  const marked = /^\((.)\)/.exec(order)?.[1];
  const asked = [...order.replace(/^\(.\)/, '')].map(cupOf);
  const rightCups = right(part, asked, marked === undefined ? null : cupOf(marked));
  const rightPlace = rightCups && placeOfCups(places, asked, rightCups);
  return {
    outcomeAt: places.map(({ cups }, place) => {
      const counts =
        rightPlace === null ? asked[cups[0] ?? 0]?.armId === part.armIds[0] : place === rightPlace;
      return counts ? 0 : 1;
    }),
    reference: marked === 'B' ? 1 : 0,
  };
}
