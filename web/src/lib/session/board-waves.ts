import type { Board, BoardSeat } from '@oddglass/shared/contracts/board.ts';
import { listed } from '@oddglass/shared/ground/phrases.ts';
import { seatsOfWave, waveCount } from '@oddglass/shared/rules/waves.ts';

/** One wave on the board. */
export interface BoardWave {
  wave: number;
  from: number;
  to: number;
  seats: BoardSeat[];
  /** Seats somebody sits at, or sat; how many of them have answered everything. */
  taken: number;
  finished: number;
  standing: 'called before' | 'called now' | 'not called yet';
}

const isDone = (seat: BoardSeat, sheets: number): boolean =>
  seat.status === 'withdrawn' || seat.status === 'paper-entered' || seat.answered >= sheets;

/** The seats of the board wave by wave; none where everybody sits down at once. */
export function boardWaves({ waves, seats, sheets }: Board): BoardWave[] {
  if (!waves) return [];
  return Array.from({ length: waveCount(waves) }, (_, at): BoardWave => {
    const { from, to } = seatsOfWave(waves, at + 1);
    const own = seats.filter(({ number }) => number >= from && number <= to);
    const taken = own.filter(({ status }) => status !== 'free');
    return {
      wave: at + 1,
      from,
      to,
      seats: own,
      taken: taken.length,
      finished: taken.filter((seat) => isDone(seat, sheets)).length,
      standing:
        at + 1 < waves.called ? 'called before' : at + 1 === waves.called ? 'called now' : 'not called yet',
    };
  });
}

/** 'seats 5 to 8', 'seat 9'. */
export const seatsInWords = ({ from, to }: { from: number; to: number }): string =>
  from === to ? `seat ${from}` : `seats ${from} to ${to}`;

/** 'Wave 2, seats 5 to 8: 3 of 4 finished.' */
export function waveWords({ wave, from, to, taken, finished, standing }: BoardWave): string {
  const how =
    standing === 'not called yet'
      ? standing
      : taken === 0
        ? 'nobody has sat down'
        : `${finished} of ${taken} finished`;
  return `Wave ${wave}, ${seatsInWords({ from, to })}: ${how}`;
}

/** Everybody who sat down in the wave called now has finished, and somebody did. */
export function isOver(waves: readonly BoardWave[]): boolean {
  const now = waves.find(({ standing }) => standing === 'called now');
  return now !== undefined && now.taken > 0 && now.finished === now.taken;
}

/** Who of the waves called so far is still at it, and who has not come; null where nobody is missing. */
export function stillAtIt(waves: readonly BoardWave[], sheets: number): string | null {
  const called = waves.filter(({ standing }) => standing !== 'not called yet').flatMap(({ seats }) => seats);
  const tasting = called.filter((seat) => seat.status !== 'free' && !isDone(seat, sheets));
  const free = called.filter(({ status, spare }) => status === 'free' && !spare);
  const said = [
    tasting.length > 0 ? `${seatsListed(tasting)} not finished` : '',
    free.length > 0 ? `${seatsListed(free)} not been taken` : '',
  ].filter(Boolean);
  return said.length > 0 ? `${said.join('. ')}.` : null;
}

const seatsListed = (seats: readonly BoardSeat[]): string =>
  `${seats.length === 1 ? 'Seat' : 'Seats'} ${listed(seats.map(({ number }) => number))} ${seats.length === 1 ? 'has' : 'have'}`;
