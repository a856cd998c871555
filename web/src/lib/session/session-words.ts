import type { Board, BoardSeat } from '@oddglass/shared/contracts/live.ts';
import type { SessionState } from '@oddglass/shared/contracts/session.ts';
import { ethanolGrams } from '@oddglass/shared/fermentation/ethanol.ts';

/** How the state of a session is written. */
export const STATE_WORDS: Readonly<Record<SessionState, string>> = {
  draft: 'draft',
  sealed: 'sealed',
  open: 'tasting open',
  closed: 'closed',
  revealed: 'revealed',
};

const COUNT_WORDS = ['no', 'one', 'two', 'three', 'four'];

/** 'one tray each', 'two trays each'. */
export const traysEach = (replicates: number): string =>
  `${COUNT_WORDS[replicates] ?? replicates} ${replicates === 1 ? 'tray' : 'trays'} each`;

/** An eight-character join code in two groups of four, as it is read aloud. */
export const groupedCode = (code: string): string => code.replace(/^(.{4})(.{4})$/, '$1·$2');

/** A list as it is spoken: '2', '2 and 4', '2, 4 and 8'. */
export function listed(items: readonly (string | number)[]): string {
  if (items.length <= 1) return items.join('');
  return `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
}

const IN_HAND = new Set<BoardSeat['status']>(['tasting', 'choosing', 'describing', 'reviewing']);

/** Where a seat is, in words; the code of the cup in hand follows them on the board. */
export function seatWords(seat: BoardSeat, replicates: number): string {
  if (seat.status === 'free') return seat.spare ? 'spare, free' : 'free';
  if (seat.status === 'cautions') return 'reading the cautions';
  if (seat.answered >= replicates) return 'finished';
  const tray = replicates > 1 ? `tray ${seat.replicate} of ${replicates}, ` : '';
  // The ballot may be in before the device says that it rests.
  if (IN_HAND.has(seat.status) && seat.answered >= seat.replicate) return 'between trays';
  switch (seat.status) {
    case 'tasting':
      return tray + (seat.code === null ? 'about to taste' : 'tasting');
    case 'choosing':
      return `${tray}choosing the odd one`;
    case 'describing':
      return `${tray}describing`;
    case 'reviewing':
      return `${tray}reviewing`;
    case 'resting':
      return 'resting';
    case 'finished':
      return 'finished';
  }
}

/** The cup in hand, while there is one. */
export const cupInHand = (seat: BoardSeat): string | null =>
  seat.status === 'tasting' && seat.answered < seat.replicate ? seat.code : null;

export type CupMark = 'answered' | 'tasted' | 'in-hand' | 'ahead';

/** The way of a seat, tray by tray: three cups each. */
export function wayOfCups(seat: BoardSeat, replicates: number): CupMark[][] {
  return Array.from({ length: replicates }, (_, index): CupMark[] => {
    const tray = index + 1;
    const here = tray === seat.replicate && IN_HAND.has(seat.status) && seat.answered < tray;
    const mark: CupMark =
      tray <= seat.answered ? 'answered' : !here ? 'ahead' : seat.status === 'tasting' ? 'in-hand' : 'tasted';
    return [mark, mark, mark];
  });
}

/** Taken seats with trays still to answer. */
export function unfinishedSeats(board: Board): number[] {
  return board.seats
    .filter((seat) => seat.status !== 'free' && seat.answered < board.replicates)
    .map(({ number }) => number);
}

/** Cups to pour: for every expected seat, and for spare ones once they are taken. */
export function cupsToPour(board: Board): number {
  return board.seats.filter((seat) => !seat.spare || seat.status !== 'free').length * board.cupsPerSeat;
}

/**
 * Ethanol that the seat furthest along has had, g, if every cup was swallowed and held the stronger arm: at most.
 * Null when an ABV is unknown.
 */
export function ethanolSoFar(
  board: Board,
  cupMl: number,
  arms: readonly { abv: number | null }[],
): number | null {
  if (arms.some(({ abv }) => abv === null)) return null;
  const trays = board.seats.map(
    (seat) => seat.answered + (IN_HAND.has(seat.status) && seat.answered < seat.replicate ? 1 : 0),
  );
  const cups = Math.max(0, ...trays) * 3;
  const strongest = Math.max(0, ...arms.map(({ abv }) => abv ?? 0));
  return ethanolGrams({ ml: cups * cupMl, abvPercent: strongest });
}

/** An address that only this machine can open is of no use on a tablet. */
export const onlyHere = (hostname: string): boolean =>
  hostname === 'localhost' || hostname === '[::1]' || hostname.startsWith('127.');
