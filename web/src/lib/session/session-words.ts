import { howMany } from '@oddglass/shared/ground/phrases.ts';
import type { Board, BoardSeat } from '@oddglass/shared/contracts/board.ts';
import type { SessionState } from '@oddglass/shared/contracts/session.ts';
import { ethanolGrams } from '@oddglass/shared/fermentation/ethanol.ts';
import { kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { isOnPaper } from '@oddglass/shared/rules/board.ts';
import type { SeatWay, SheetOnWay, TrayOnWay } from './seat-way.ts';

/** How the state of a session is written. */
export const STATE_WORDS: Readonly<Record<SessionState, string>> = {
  draft: 'draft',
  sealed: 'sealed',
  open: 'tasting open',
  closed: 'closed',
  revealed: 'revealed',
};

/** 'one tray each', 'two trays each'. */
export const traysEach = (trays: number): string =>
  `${howMany(trays)} ${trays === 1 ? 'tray' : 'trays'} each`;

/** An eight-character join code in two groups of four, as it is read aloud. */
export const groupedCode = (code: string): string => code.replace(/^(.{4})(.{4})$/, '$1·$2');

const IN_HAND = new Set<BoardSeat['status']>(['tasting', 'choosing', 'answering', 'describing', 'reviewing']);

/** The tray a seat is at, while there is one. */
const trayAt = (seat: BoardSeat, way: SeatWay): TrayOnWay | undefined => way.trays[seat.trayNumber - 1];

/** Sheets of its tray that a seat has answered; ballots come in order, tray by tray. */
function answeredHere(seat: BoardSeat, tray: TrayOnWay): number {
  return Math.min(Math.max(seat.answered - tray.before, 0), tray.sheets.length);
}

const PAPER_WORDS: Readonly<Partial<Record<BoardSeat['status'], string>>> = {
  paper: 'on paper, nothing entered',
  'paper-once': 'on paper, entered once',
  'paper-differs': 'on paper, two entries differ',
  'paper-entered': 'on paper, counts',
};

/** Seats on paper whose ballot does not count yet. */
export function paperNotCounting(board: Board): number[] {
  return board.seats
    .filter((seat) => isOnPaper(seat) && seat.status !== 'paper-entered')
    .map(({ number }) => number);
}

/** Where a seat is, in words; the code of the cup in hand follows them on the board. */
export function seatWords(seat: BoardSeat, way: SeatWay): string {
  if (seat.status === 'free') return seat.spare ? 'spare, free' : 'free';
  if (seat.status === 'withdrawn') return 'withdrew';
  if (seat.status === 'elsewhere') return 'at another server';
  if (seat.status === 'joined')
    return `brought from another server, ${seat.answered === way.sheets ? 'finished' : `${seat.answered} of ${way.sheets} answers`}`;
  const onPaper = PAPER_WORDS[seat.status];
  if (onPaper !== undefined) return onPaper;
  if (seat.status === 'cautions') return 'reading the cautions';
  if (seat.answered >= way.sheets) return 'finished';
  const tray = trayAt(seat, way);
  if (!tray || seat.status === 'finished') return 'finished';
  if (seat.status === 'resting') return 'resting';
  // The ballot may be in before the device says that it rests.
  const sheet = tray.sheets[answeredHere(seat, tray)];
  if (!sheet) return 'between trays';
  return [...placeWords(seat, way, sheet), doing(seat, sheet)].join(', ');
}

function placeWords(seat: BoardSeat, way: SeatWay, { part, sheet, of, each }: SheetOnWay): string[] {
  return [
    ...(way.parts > 1 ? [`part ${part} of ${way.parts}`] : []),
    ...(way.trays.length > 1 ? [`tray ${seat.trayNumber} of ${way.trays.length}`] : []),
    ...(each !== null && of > 1 ? [`${each} ${sheet} of ${of}`] : []),
  ];
}

function doing({ status, code }: BoardSeat, sheet: SheetOnWay): string {
  if (status === 'tasting') return code === null ? 'about to taste' : 'tasting';
  if (sheet.late) return 'waiting for the aftertaste, or saying what is there';
  return status === 'describing' || status === 'reviewing' ? status : kindOf(sheet).doing;
}

/** The cup in hand, while there is one. */
export function cupInHand(seat: BoardSeat, way: SeatWay): string | null {
  const tray = trayAt(seat, way);
  const open = tray !== undefined && answeredHere(seat, tray) < tray.sheets.length;
  return seat.status === 'tasting' && open ? seat.code : null;
}

export type CupMark = 'answered' | 'tasted' | 'in-hand' | 'ahead';

/** The way of a seat, cup by cup and tray by tray; a tray whose sheets are half answered is half filled. */
export function wayOfCups(seat: BoardSeat, way: SeatWay): CupMark[][] {
  return way.trays.map((tray, index): CupMark[] => {
    const answered = answeredHere(seat, tray);
    const filled = Math.floor((answered / tray.sheets.length) * tray.cups);
    const sheet = tray.sheets[answered];
    const here = index + 1 === seat.trayNumber && IN_HAND.has(seat.status) && sheet !== undefined;
    const mark = seat.status === 'tasting' ? 'in-hand' : 'tasted';
    return Array.from({ length: tray.cups }, (_, cup): CupMark => {
      if (cup < filled) return 'answered';
      // Asked cup by cup, one is in hand; asked over the whole tray, all are.
      return here && (sheet.each !== 'cup' || cup === filled) ? mark : 'ahead';
    });
  });
}

/** Taken seats with sheets still to answer. */
export function unfinishedSeats(board: Board): number[] {
  return board.seats
    .filter(
      (seat) =>
        !['free', 'elsewhere', 'joined'].includes(seat.status) &&
        !isOnPaper(seat) &&
        seat.answered < board.sheets,
    )
    .map(({ number }) => number);
}

/** Cups to pour here: for every expected seat, and for spare ones once they are taken; not for what another server pours. */
export function cupsToPour(board: Board): number {
  const due = board.seats.filter(
    ({ spare, status }) => status !== 'elsewhere' && status !== 'joined' && (!spare || status !== 'free'),
  );
  return due.length * board.cupsPerSeat;
}

/**
 * Ethanol that the seat furthest along has had, g, if every cup was swallowed and was the strongest: at most.
 * Null when an ABV is unknown.
 */
export function ethanolSoFar(
  board: Board,
  way: SeatWay,
  { cupMl, strongest }: { cupMl: number; strongest: number | null },
): number | null {
  if (strongest === null) return null;
  const cups = board.seats.map((seat) =>
    way.trays
      .filter(
        (tray, index) =>
          answeredHere(seat, tray) > 0 || (IN_HAND.has(seat.status) && index + 1 === seat.trayNumber),
      )
      .reduce((sum, tray) => sum + tray.cups, 0),
  );
  return ethanolGrams({ ml: Math.max(0, ...cups) * cupMl, abvPercent: strongest });
}

/** An address that only this machine can open is of no use on a tablet. */
export const onlyHere = (hostname: string): boolean =>
  hostname === 'localhost' || hostname === '[::1]' || hostname.startsWith('127.');
