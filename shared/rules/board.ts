import type { Board, BoardSeat, SessionEvent } from '../contracts/live.ts';
import type { SessionSettings } from '../contracts/session.ts';

/** The board of a sealed session before anything happened. */
export function emptyBoard(
  settings: Pick<SessionSettings, 'assessors' | 'spareSeats' | 'replicates'>,
): Board {
  const seats = Array.from({ length: settings.assessors + settings.spareSeats }, (_, index): BoardSeat => ({
    number: index + 1,
    spare: index >= settings.assessors,
    status: 'free',
    online: false,
    replicate: 1,
    code: null,
    answered: 0,
  }));
  return {
    seq: 0,
    state: 'sealed',
    openedAt: null,
    replicates: settings.replicates,
    seats,
    poured: 0,
    cupsPerSeat: settings.replicates * 3,
  };
}

/**
 * The board after one more event. Server (snapshot) and browser (live) fold the same log with it.
 * An event at or before `board.seq` changes nothing, so that hearing it twice does no harm.
 */
export function applyEvent(board: Board, { seq, at, event }: SessionEvent): Board {
  if (seq <= board.seq) return board;
  const next: Board = { ...board, seq };
  switch (event.kind) {
    case 'sealed':
      return { ...next, state: 'sealed' };
    case 'opened':
      return { ...next, state: 'open', openedAt: at };
    case 'closed':
      return { ...next, state: 'closed' };
    case 'revealed':
      return { ...next, state: 'revealed' };
    case 'poured':
      return { ...next, poured: event.cups };
    case 'key-taken':
    case 'join-code-changed':
      return next;
    default:
      return {
        ...next,
        seats: board.seats.map((seat) => (seat.number === event.seat ? afterSeatEvent(seat, event) : seat)),
      };
  }
}

type SeatEvent = Extract<SessionEvent['event'], { seat: number }>;

function afterSeatEvent(seat: BoardSeat, event: SeatEvent): BoardSeat {
  switch (event.kind) {
    case 'seat-taken':
      return { ...seat, status: 'cautions', online: true };
    case 'seat-handed-over':
      return { ...seat, online: false };
    case 'seat-online':
      return { ...seat, online: true };
    case 'seat-offline':
      return { ...seat, online: false };
    case 'cautions-confirmed':
      return { ...seat, status: 'tasting', replicate: 1, code: null };
    case 'progress':
      return { ...seat, status: event.step, replicate: event.replicate, code: event.code };
    case 'ballot-received':
      return { ...seat, answered: seat.answered + 1, code: null };
  }
}

/** The board after all of `events`, in order. */
export function foldBoard(board: Board, events: readonly SessionEvent[]): Board {
  return events.reduce(applyEvent, board);
}

/** Sums the host reads at a glance. */
export function boardTotals(board: Board): {
  seated: number;
  finished: number;
  answered: number;
  traysOfSeated: number;
  expected: number;
} {
  const taken = board.seats.filter((seat) => seat.status !== 'free');
  return {
    seated: taken.length,
    finished: taken.filter((seat) => seat.answered === board.replicates).length,
    answered: taken.reduce((sum, seat) => sum + seat.answered, 0),
    traysOfSeated: taken.length * board.replicates,
    expected: board.seats.filter((seat) => !seat.spare).length,
  };
}
