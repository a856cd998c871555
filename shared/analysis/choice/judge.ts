import type { ChoiceAnswer, Confidence } from '../../contracts/ballot.ts';
import type { ChoicePart } from '../../contracts/part.ts';
import { choiceOf, placeOfCups, servedOrders } from '../../kinds/kinds.ts';
import type { PartInput, ServedCup, ServedTray } from '../common/served.ts';

/** One answered tray, held against what stood on it. */
export interface Judged {
  assessor: string;
  replicate: number;
  /** In letters, left to right: A is the first arm of the part; a reference stands in brackets before the others. */
  order: string;
  /** Right; in a pair without a direction or a preference: chose the first arm. */
  counted: boolean;
  /** Arm in the chosen cup; null for no preference, and where two cups are chosen. */
  chosenArmId: string | null;
  /** Arm of the reference of a duo-trio. */
  referenceArmId: string | null;
  /** Index of the chosen place (`places` of the kind), and of the one that was right; null where there is none. */
  place: number | null;
  rightPlace: number | null;
  confidence: Confidence | null;
  /** Ids of words. */
  descriptors: readonly string[];
  comment: string;
}

/**
 * Every answered tray of a choice part, judged from the cups as served.
 * A tray that does not hold what its kind serves, or an answer that names no cup of it: RangeError.
 */
export function judgeTrays({ part, trays }: Pick<PartInput<ChoicePart>, 'part' | 'trays'>): Judged[] {
  const orders = new Set(servedOrders(part));
  return trays.flatMap((tray) => {
    const sheet = tray.sheets[0];
    if (!sheet?.answer) return [];
    if (sheet.answer.kind !== 'choice') {
      throw new RangeError(`a ${part.kind} is answered by a choice, not by a ${sheet.answer.kind}`);
    }
    return [judgeTray(part, tray, sheet.answer, sheet.comment, orders)];
  });
}

function judgeTray(
  part: ChoicePart,
  tray: ServedTray,
  answer: ChoiceAnswer,
  comment: string,
  orders: ReadonlySet<string>,
): Judged {
  const cups = [...tray.cups].sort((a, b) => a.position - b.position);
  const asked = cups.filter(({ mark }) => mark === null);
  const reference = cups.find(({ mark }) => mark === 'reference') ?? null;
  const letter = ({ armId }: ServedCup) => 'AB'[part.armIds.indexOf(armId)] ?? '?';
  const order = `${reference ? `(${letter(reference)})` : ''}${asked.map(letter).join('')}`;
  if (!orders.has(order)) throw new RangeError(`a ${part.kind} tray cannot hold ${order}`);
  const chosen = answer.chosen.map((code) => {
    const cup = asked.find((one) => one.code === code);
    if (!cup) throw new RangeError('an answer names a cup that was not asked about');
    return cup;
  });
  const { picks, places, right: rightCups, test } = choiceOf(part);
  const { most: wanted } = picks(part);
  // A preference may be none, and two cups that are the same are said to be so by naming neither.
  const namesNone = test === null && chosen.length === 0;
  if (chosen.length !== wanted && !namesNone) {
    throw new RangeError(`a ${part.kind} is answered by ${wanted} of its cups, not by ${chosen.length}`);
  }
  const only = wanted === 1 ? (chosen[0] ?? null) : null;
  const right = rightCups(part, asked, reference);
  const placeOf = (on: readonly ServedCup[]): number => placeOfCups(places, asked, on);
  return {
    assessor: tray.assessor,
    replicate: tray.replicate,
    order,
    counted: right === null ? chosen[0]?.armId === part.armIds[0] : placeOf(chosen) === placeOf(right),
    chosenArmId: only?.armId ?? null,
    referenceArmId: reference?.armId ?? null,
    place: chosen.length === 0 && right === null ? null : placeOf(chosen),
    rightPlace: right && placeOf(right),
    confidence: answer.confidence,
    descriptors: answer.descriptors,
    comment,
  };
}

/** One answer per person: the first tray each answered. */
export function firstOfEach<T extends { assessor: string; replicate: number }>(judged: readonly T[]): T[] {
  return [...Map.groupBy(judged, ({ assessor }) => assessor).values()].map((answers) =>
    answers.reduce((earliest, answer) => (answer.replicate < earliest.replicate ? answer : earliest)),
  );
}
