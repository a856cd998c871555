import type { ChoiceAnswer, Confidence } from '../contracts/ballot.ts';
import type { ChoicePart } from '../contracts/part.ts';
import type { PartInput, ServedCup, ServedTray } from './served.ts';

/** One answered tray, held against what stood on it. */
export interface Judged {
  assessor: string;
  replicate: number;
  /** In letters, left to right: A is the first arm of the part; a reference stands in brackets before the others. */
  order: string;
  /** Right; in a pair without a direction or a preference: chose the first arm. */
  counted: boolean;
  /** Arm in the chosen cup; null for no preference, and for a tetrad, where two cups are chosen. */
  chosenArmId: string | null;
  /** Arm of the reference of a duo-trio. */
  referenceArmId: string | null;
  /** Index of the chosen place (`placesOf`), and of the one that was right; null where there is none. */
  place: number | null;
  rightPlace: number | null;
  confidence: Confidence | null;
  /** Ids of words. */
  descriptors: readonly string[];
  comment: string;
}

/** Names of what can be chosen on a tray, left to right. A tetrad is halved in three ways. */
export function placesOf({ kind }: ChoicePart): string[] {
  switch (kind) {
    case 'triangle':
    case 'three-afc':
      return ['left', 'middle', 'right'];
    case 'tetrad':
      return ['first with second', 'first with third', 'first with fourth'];
    default:
      return ['left', 'right'];
  }
}

/** Serving orders of a kind, in letters as in `Judged.order`. */
export function ordersOf(part: ChoicePart): string[] {
  switch (part.kind) {
    case 'triangle':
      return ['AAB', 'ABA', 'BAA', 'BBA', 'BAB', 'ABB'];
    case 'duo-trio':
      return part.reference === 'constant' ? ['(A)AB', '(A)BA'] : ['(A)AB', '(A)BA', '(B)AB', '(B)BA'];
    case 'tetrad':
      return ['AABB', 'ABAB', 'ABBA', 'BAAB', 'BABA', 'BBAA'];
    case 'three-afc':
      return part.strongerArmId === part.armIds[0] ? ['ABB', 'BAB', 'BBA'] : ['BAA', 'ABA', 'AAB'];
    default:
      return ['AB', 'BA'];
  }
}

/**
 * Every answered tray of a choice part, judged from the cups as served.
 * A tray that does not hold what its kind serves, or an answer that names no cup of it: RangeError.
 */
export function judgeTrays({ part, trays }: Pick<PartInput<ChoicePart>, 'part' | 'trays'>): Judged[] {
  const orders = new Set(ordersOf(part));
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
  const wanted = part.kind === 'tetrad' ? 2 : 1;
  const abstains = part.kind === 'preference' && chosen.length === 0;
  if (chosen.length !== wanted && !abstains) {
    throw new RangeError(`a ${part.kind} is answered by ${wanted} of its cups, not by ${chosen.length}`);
  }
  const only = wanted === 1 ? (chosen[0] ?? null) : null;
  const right = rightCups(part, asked, reference);
  return {
    assessor: tray.assessor,
    replicate: tray.replicate,
    order,
    counted: isCounted(part, chosen, right),
    chosenArmId: only?.armId ?? null,
    referenceArmId: reference?.armId ?? null,
    place: chosen.length === 0 ? null : placeOf(asked, chosen),
    rightPlace: right && placeOf(asked, right),
    confidence: answer.confidence,
    descriptors: answer.descriptors,
    comment,
  };
}

/** The cups a right answer names; null where no answer is right or wrong. */
function rightCups(
  part: ChoicePart,
  asked: readonly ServedCup[],
  reference: ServedCup | null,
): ServedCup[] | null {
  switch (part.kind) {
    case 'triangle':
      return asked.filter(({ armId }) => asked.filter((other) => other.armId === armId).length === 1);
    case 'duo-trio':
      return asked.filter(({ armId }) => armId === reference?.armId);
    case 'tetrad':
      return asked.filter(({ armId }) => armId === asked[0]?.armId);
    case 'three-afc':
      return asked.filter(({ armId }) => armId === part.strongerArmId);
    case 'directional-pair':
      return part.strongerArmId === null ? null : asked.filter(({ armId }) => armId === part.strongerArmId);
    case 'preference':
      return null;
  }
}

function isCounted(part: ChoicePart, chosen: readonly ServedCup[], right: ServedCup[] | null): boolean {
  // Two cups of the other arm belong together as much as those of the first.
  if (part.kind === 'tetrad') return chosen[0]?.armId === chosen[1]?.armId;
  return right === null ? chosen[0]?.armId === part.armIds[0] : chosen[0] === right[0];
}

/** Index among the places: the cup chosen, or for a pair of four the partner of the cup on the left. */
function placeOf(asked: readonly ServedCup[], cups: readonly ServedCup[]): number {
  const first = asked.findIndex((cup) => cups.includes(cup));
  if (cups.length === 1) return first;
  const half = first === 0 ? cups : asked.filter((cup) => !cups.includes(cup));
  return asked.findIndex((cup, index) => index > 0 && half.includes(cup)) - 1;
}

/** One answer per person: the first tray each answered. */
export function firstOfEach<T extends { assessor: string; replicate: number }>(judged: readonly T[]): T[] {
  return [...Map.groupBy(judged, ({ assessor }) => assessor).values()].map((answers) =>
    answers.reduce((earliest, answer) => (answer.replicate < earliest.replicate ? answer : earliest)),
  );
}
