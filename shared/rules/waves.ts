import type { SessionSettings } from '../contracts/session.ts';
import type { Waves } from '../contracts/waves.ts';

// More people than tablets or chairs: seats are called in waves, by their numbers. The draw knows nothing of it. Its orders
// are dealt over the seats 1 to s in whole sets, so that any number of waves from the first on is as balanced as a plan of
// so many seats; a single wave is the difference of two such counts, and lies within twice what they lie within.

export type Seating = Pick<SessionSettings, 'assessors' | 'spareSeats' | 'seatsAtOnce'>;

/**
 * How a tasting of this plan is called in waves; null where everybody sits down at once. Spare seats come last, so that they
 * belong to the last waves.
 * @param called the wave called last, from 1; null or 0 before the opening.
 * Example: `wavesOf({ assessors: 15, spareSeats: 0, seatsAtOnce: 4 }, null)` is
 * `{ seatsAtOnce: 4, seats: 15, called: 0 }`
 */
export function wavesOf(
  { assessors, spareSeats, seatsAtOnce }: Seating,
  called: number | null,
): Waves | null {
  const seats = assessors + spareSeats;
  return seatsAtOnce === undefined || seatsAtOnce >= seats
    ? null
    : { seatsAtOnce, seats, called: called ?? 0 };
}

/**
 * How many waves the seats make.
 * Example: `waveCount({ seatsAtOnce: 4, seats: 15 })` is 4
 */
export function waveCount({ seatsAtOnce, seats }: Pick<Waves, 'seatsAtOnce' | 'seats'>): number {
  return Math.ceil(seats / seatsAtOnce);
}

/**
 * The wave of a seat, by its number, both from 1.
 * Example: `waveOfSeat({ seatsAtOnce: 4 }, 5)` is 2
 */
export function waveOfSeat({ seatsAtOnce }: Pick<Waves, 'seatsAtOnce'>, seat: number): number {
  return Math.ceil(seat / seatsAtOnce);
}

/**
 * First and last seat of a wave, by number.
 * Example: `seatsOfWave({ seatsAtOnce: 4, seats: 15 }, 4)` is `{ from: 13, to: 15 }`
 */
export function seatsOfWave(
  { seatsAtOnce, seats }: Pick<Waves, 'seatsAtOnce' | 'seats'>,
  wave: number,
): { from: number; to: number } {
  return { from: (wave - 1) * seatsAtOnce + 1, to: Math.min(wave * seatsAtOnce, seats) };
}

/** The wave that is called next; null when all are called. */
export function nextWave(waves: Waves): number | null {
  return waves.called < waveCount(waves) ? waves.called + 1 : null;
}

/** May somebody sit down here by now? Seats of waves called earlier stay open to latecomers. */
export function isCalled(waves: Waves | null, seat: number): boolean {
  return waves === null || waveOfSeat(waves, seat) <= waves.called;
}
