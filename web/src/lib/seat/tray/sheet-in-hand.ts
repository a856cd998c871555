import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { Progress, SeatView } from '@oddglass/shared/contracts/seat.ts';
import { choiceOf, isChoiceKind, kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { emptyAnswer, fitting, isAnswered, isSendable, type Draft, type SheetStep } from './draft.ts';
import {
  allAsked,
  askedAt,
  cupsOf,
  isAtHost,
  markedCup,
  placeOf,
  sheetKey,
  type Asked,
  type SheetPlace,
} from './sheets.ts';

/** Sheets in hand together, and which of them is on the screen. More than one only where going back is allowed. */
export interface Hand {
  drafts: readonly Draft[];
  at: number;
}

export const draftInHand = (hand: Hand | null): Draft | null => hand?.drafts[hand.at] ?? null;

const isReturning = ({ part }: Asked): boolean => part.kind === 'rating' && part.returning;

/** Sheets to take in hand next: the first without an answer, here or at the host; with it those one may go back to. */
export function nextSheets(view: SeatView, keptKeys: ReadonlySet<string>): Asked[] {
  const open = allAsked(view).filter(
    (asked) => !isAtHost(asked.sheet) && !keptKeys.has(sheetKey(placeOf(asked))),
  );
  const [first] = open;
  if (!first) return [];
  if (!isReturning(first)) return [first];
  return open.filter(({ tray, sheet }) => tray.id === first.tray.id && sheet.part === first.sheet.part);
}

/** Cups to taste one by one before the question, by position. Later parts find their cups tasted. */
export function cupsToTaste({ tray, sheet, part }: Asked): ReturnType<typeof cupsOf> {
  if (sheet.part !== tray.part) return [];
  const { tastedFirst } = kindOf(part);
  switch (tastedFirst) {
    case 'none':
      return [];
    case 'marked': {
      const marked = markedCup(tray);
      return marked && sheet.sheet === 1 ? [marked] : [];
    }
    case 'all':
      return cupsOf(tray);
  }
}

/** The steps of a sheet, in order; after the last it is sent. */
export function stepsOf(asked: Asked): SheetStep[] {
  const { tray, sheet, part } = asked;
  if (sheet.late) return ['answering'];
  const steps: SheetStep[] = [];
  if (sheet.part !== tray.part && sheet.sheet === 1) steps.push('starting');
  if (cupsToTaste(asked).length > 0) steps.push('tasting');
  if (isChoiceKind(part)) {
    return [...steps, 'choosing', ...(choiceOf(part).asksWhy ? (['describing'] as const) : []), 'reviewing'];
  }
  switch (part.kind) {
    case 'ranking':
      return [...steps, 'answering', 'reviewing'];
    case 'rating':
      return [...steps, 'answering', ...(part.returning ? (['reviewing'] as const) : [])];
    case 'description':
      return [...steps, 'describing'];
    case 'control':
    case 'liking':
      return [...steps, 'answering'];
  }
}

const questionStep = (asked: Asked): SheetStep =>
  stepsOf(asked).find((step) => step !== 'starting' && step !== 'tasting') ?? 'answering';

/**
 * Where to go on with a sheet: from what this device kept; else, on another device, from the mark the host has.
 * Answers not sent stay on the device they were made on, so another one goes back to the question at most.
 */
export function resume(asked: Asked, kept: Draft | null, mark: Progress | null, ballotId: string): Draft {
  const { tray, sheet } = asked;
  if (kept && sheetKey(kept) === sheetKey(placeOf(asked))) return settle(asked, kept);
  const fresh: Draft = {
    ballotId,
    trayId: tray.id,
    trayNumber: tray.trayNumber,
    part: sheet.part,
    sheet: sheet.sheet,
    step: stepsOf(asked)[0] ?? 'answering',
    position: cupsToTaste(asked)[0]?.position ?? 1,
    answer: emptyAnswer(asked),
    comment: '',
    swallowing: null,
    waitEnds: null,
  };
  const here = mark?.trayNumber === tray.trayNumber && mark.part === sheet.part && mark.sheet === sheet.sheet;
  if (!here) return fresh;
  if (mark.step !== 'tasting') return { ...fresh, step: questionStep(asked) };
  const cup = cupsToTaste(asked).find(({ position }) => position === mark.position);
  return cup ? { ...fresh, step: 'tasting', position: cup.position } : fresh;
}

/**
 * The draft of a late question with the end of its wait, which begins when it is first taken in hand: right after the words of
 * its cup were sent. It is kept with the draft, so that a reload does not begin it anew; another tablet waits once more.
 */
export function withWait({ part, sheet }: Asked, one: Draft, now: number): Draft {
  if (!sheet.late || part.kind !== 'description' || !part.late || one.waitEnds !== null) return one;
  return { ...one, waitEnds: now + part.late.seconds * 1000 };
}

/** An answer that is not of this sheet, or a step beyond what is answered, leads back to the question. */
function settle(asked: Asked, kept: Draft): Draft {
  const settled = { ...kept, answer: fitting(kept.answer, asked) };
  const steps = stepsOf(asked);
  const question = questionStep(asked);
  const beyond = steps.indexOf(settled.step) > steps.indexOf(question);
  const lost = !steps.includes(settled.step) || (beyond && !isAnswered(settled.answer, asked));
  const cups = cupsToTaste(asked);
  const astray = settled.step === 'tasting' && !cups.some(({ position }) => position === settled.position);
  if (astray) return { ...settled, position: cups[0]?.position ?? 1 };
  return lost ? { ...settled, step: question } : settled;
}

/** Takes sheets in hand: at the first one without a whole answer; when all are whole, at the last. */
export function take(view: SeatView, drafts: readonly Draft[]): Hand {
  const at = drafts.findIndex((one) => !isWhole(view, one));
  if (at >= 0) return { drafts, at };
  return { drafts, at: Math.max(drafts.length - 1, 0) };
}

const isWhole = (view: SeatView, one: Draft): boolean => {
  const asked = askedAt(view, one);
  return asked !== undefined && isSendable(one, asked);
};

/** Has the tray been begun, here or on another device? Then its rest is over. */
export function isBegun(
  { tray }: Asked,
  kept: Draft | null,
  keptKeys: ReadonlySet<string>,
  mark: Progress | null,
): boolean {
  return (
    kept?.trayId === tray.id ||
    mark?.trayNumber === tray.trayNumber ||
    tray.sheets.some(
      (one) => isAtHost(one) || keptKeys.has(sheetKey({ trayId: tray.id, part: one.part, sheet: one.sheet })),
    )
  );
}

const put = ({ drafts, at }: Hand, change: Partial<Draft>): Hand => ({
  drafts: drafts.map((one, index) => (index === at ? { ...one, ...change } : one)),
  at,
});

/** Changes the draft on the screen. */
export const change = (
  hand: Hand,
  made: Partial<Pick<Draft, 'answer' | 'comment' | 'step' | 'position'>>,
): Hand => put(hand, made);

/** One step on. A question is not left without a whole answer; 'send' after the last step. */
export function forward(view: SeatView, hand: Hand): Hand | 'send' {
  const current = draftInHand(hand);
  const asked = current && askedAt(view, current);
  if (!current || !asked) return hand;
  const steps = stepsOf(asked);
  if (current.step === 'tasting') {
    const cups = cupsToTaste(asked);
    const next = cups[cups.findIndex(({ position }) => position === current.position) + 1];
    if (next) return put(hand, { position: next.position });
  }
  if (current.step === 'choosing' && !isAnswered(current.answer, asked)) return hand;
  if (current.step === 'answering' || current.step === 'describing') {
    if (!isSendable(current, asked)) return hand;
    // Where one may go back, the others of the flight come first, then all of them are looked over.
    const open = hand.drafts.findIndex((one) => !isWhole(view, one));
    const next = hand.drafts[open];
    if (next) return goTo(hand, next);
  }
  if (current.step === 'reviewing' && !hand.drafts.every((one) => isWhole(view, one))) return hand;
  const next = steps[steps.indexOf(current.step) + 1];
  return next ? put(hand, { step: next }) : 'send';
}

/** Back within the sheet in hand: to taste it again from the first cup, to the question, to the words. */
export function backTo(view: SeatView, hand: Hand, step: SheetStep): Hand {
  const current = draftInHand(hand);
  const asked = current && askedAt(view, current);
  if (!asked || step !== 'tasting') return put(hand, { step });
  return put(hand, { step, position: cupsToTaste(asked)[0]?.position ?? 1 });
}

/** Another of the sheets in hand; its answer is as it was left. */
export function goTo(hand: Hand, place: SheetPlace): Hand {
  const at = hand.drafts.findIndex((one) => sheetKey(one) === sheetKey(place));
  if (at < 0) return hand;
  const aside = { ...hand, at };
  return draftInHand(aside)?.step === 'reviewing' ? put(aside, { step: 'answering' }) : aside;
}

/** Takes sheets out of hand that were answered elsewhere meanwhile; null when none is left. */
export function withoutAnswered(
  view: SeatView,
  hand: Hand,
): { hand: Hand | null; answered: { draft: Draft; stored: BallotReceipt }[] } {
  const answered = hand.drafts.flatMap((one) => {
    const stored = askedAt(view, one)?.sheet.ballot;
    return stored ? [{ draft: one, stored }] : [];
  });
  if (answered.length === 0) return { hand, answered };
  const left = hand.drafts.filter((one) => !answered.some(({ draft }) => draft === one));
  if (left.length === 0) return { hand: null, answered };
  const current = draftInHand(hand);
  const at = left.findIndex((one) => one === current);
  return { hand: at >= 0 ? { drafts: left, at } : take(view, left), answered };
}

/** What the host hears of where a seat is. */
export function markOf({ trayNumber, part, sheet, step, position }: Draft): Progress {
  return {
    trayNumber,
    part,
    sheet,
    step: step === 'starting' ? 'answering' : step,
    position: step === 'tasting' ? position : null,
  };
}
