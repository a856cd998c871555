import type { SessionEvent } from '../contracts/live.ts';
import type { Board, BoardSeat } from '../contracts/board.ts';
import type { PaperState } from '../contracts/paper.ts';
import type { SiteStanding } from '../contracts/site.ts';
import type { SessionSettings } from '../contracts/session.ts';
import { workloadPerSeat } from './parts.ts';
import { isSpareSeat, runsOf } from './sites.ts';
import { wavesOf, type Seating } from './waves.ts';

/** The board of a sealed session before anything happened. */
export function emptyBoard(settings: Seating & Pick<SessionSettings, 'parts' | 'sites'>): Board {
  const waves = wavesOf(settings, null);
  const { trays, cups, sheets } = workloadPerSeat(settings.parts);
  const { sites } = runsOf(settings);
  const seats = Array.from({ length: settings.assessors + settings.spareSeats }, (_, index): BoardSeat => ({
    number: index + 1,
    spare: isSpareSeat(settings, index + 1),
    status: 'free',
    online: false,
    trayNumber: 1,
    code: null,
    answered: 0,
  }));
  return {
    seq: 0,
    state: 'sealed',
    openedAt: null,
    trays,
    sheets,
    seats,
    ...(waves && { waves }),
    poured: 0,
    cupsPerSeat: cups,
    keyOpenings: [],
    ...(sites && { sites: sites.map((run) => ({ ...run, standing: 'here' as const })) }),
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
      // The opening calls the first wave.
      return { ...next, state: 'open', openedAt: at, ...withCalled(board, 1) };
    case 'wave-called':
      return { ...next, ...withCalled(board, event.wave) };
    case 'closed':
      return { ...next, state: 'closed' };
    case 'revealed':
      return { ...next, state: 'revealed' };
    case 'poured':
      return { ...next, poured: event.cups };
    case 'key-opened':
      return { ...next, keyOpenings: [...board.keyOpenings, { name: event.name, at }] };
    case 'key-taken':
    case 'tasting-stopped':
    case 'tasting-resumed':
    case 'join-code-changed':
    case 'desk-opened':
      return next;
    case 'site-away':
      return afterSite(next, event.site, 'elsewhere', (seat) => ({ ...seat, status: 'elsewhere' }));
    case 'site-joined': {
      const answered = new Map(event.seats.map((one) => [one.seat, one.answered]));
      return afterSite(next, event.site, 'joined', (seat) => {
        const sheets = answered.get(seat.number);
        return sheets === undefined ? seat : { ...seat, status: 'joined', answered: sheets };
      });
    }
    case 'seat-withdrawn':
      return { ...next, seats: board.seats.map((seat) => (seat.number === event.seat ? left(seat) : seat)) };
    default:
      return {
        ...next,
        seats: board.seats.map((seat) => (seat.number === event.seat ? afterSeatEvent(seat, event) : seat)),
      };
  }
}

/** The board once a place left for another server, or came back with its ballots. */
function afterSite(
  board: Board,
  site: number,
  standing: SiteStanding,
  change: (seat: BoardSeat) => BoardSeat,
): Board {
  const run = board.sites?.find((one) => one.site === site);
  if (!run) return board;
  return {
    ...board,
    sites: board.sites?.map((one) => (one === run ? { ...one, standing } : one)),
    seats: board.seats.map((seat) =>
      seat.number >= run.first && seat.number <= run.last ? change(seat) : seat,
    ),
  };
}

/** A seat whose answers were taken back. */
const left = (seat: BoardSeat): BoardSeat => ({
  ...seat,
  status: 'withdrawn',
  online: false,
  code: null,
  answered: 0,
});

const PAPER_STATUS: Readonly<Record<PaperState, BoardSeat['status']>> = {
  waiting: 'paper',
  once: 'paper-once',
  differs: 'paper-differs',
  counts: 'paper-entered',
};

/** Has this seat its ballot on paper? */
export const isOnPaper = ({ status }: Pick<BoardSeat, 'status'>): boolean =>
  Object.values(PAPER_STATUS).includes(status);

type SeatEvent = Extract<SessionEvent['event'], { seat: number }>;

function afterSeatEvent(seat: BoardSeat, event: SeatEvent): BoardSeat {
  // Its tablet may still come and go, and say late where it was.
  if (seat.status === 'withdrawn') return seat;
  switch (event.kind) {
    case 'seat-taken':
      return { ...seat, status: 'cautions', online: true };
    case 'seat-handed-over':
    case 'seat-moved':
    case 'tablet-passed-on':
      return { ...seat, online: false };
    case 'seat-freed':
      return { ...seat, status: 'free', online: false, trayNumber: 1, code: null, answered: 0 };
    case 'seat-on-paper':
      return { ...seat, status: 'paper', online: false };
    case 'paper-entered':
      return { ...seat, status: PAPER_STATUS[event.standing], online: false, answered: event.answered };
    case 'seat-online':
      return { ...seat, online: true };
    case 'seat-offline':
      return { ...seat, online: false };
    case 'cautions-confirmed':
      return { ...seat, status: 'tasting', trayNumber: 1, code: null };
    case 'progress':
      return { ...seat, status: event.step, trayNumber: event.trayNumber, code: event.code };
    case 'ballot-received':
      return { ...seat, answered: seat.answered + 1, code: null };
  }
}

const withCalled = ({ waves }: Board, called: number): Pick<Board, 'waves'> =>
  waves ? { waves: { ...waves, called } } : {};

/** The board after all of `events`, in order. */
export function foldBoard(board: Board, events: readonly SessionEvent[]): Board {
  return events.reduce(applyEvent, board);
}

/** Sums the host reads at a glance; answers are counted in sheets. */
export function boardTotals(board: Board): {
  seated: number;
  finished: number;
  answered: number;
  sheetsOfSeated: number;
  expected: number;
} {
  const taken = board.seats.filter(({ status }) => !['free', 'withdrawn', 'elsewhere'].includes(status));
  return {
    seated: taken.length,
    finished: taken.filter((seat) => seat.answered === board.sheets).length,
    answered: taken.reduce((sum, seat) => sum + seat.answered, 0),
    sheetsOfSeated: taken.length * board.sheets,
    expected: board.seats.filter((seat) => !seat.spare).length,
  };
}
