import { findSeatByToken, type Seat } from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import { problem } from '../../refusal/problem.ts';

export const isOn = (
  sheet: { part: number; sheet: number },
  ballot: { part: number; sheet: number },
): boolean => sheet.part === ballot.part && sheet.sheet === ballot.sheet;

/** The session in hand is open and this device still holds the seat; both looked at under the lock. */
export async function seatInHand(tx: Db, seat: Seat, state: string): Promise<Seat> {
  if (state !== 'open') {
    throw problem('wrong-state', { detail: 'The tasting is not open: nothing more can be taken in.' });
  }
  const current = seat.tokenHash ? await findSeatByToken(tx, seat.tokenHash) : undefined;
  if (!current) throw problem('seat-unknown');
  if (current.withdrawnAt !== null) throw problem('seat-withdrawn');
  return current;
}

/** Which arm it is, is not told to people who taste. */
export function refuseWhenStopped(session: Session): void {
  if (session.stoppedAt === null) return;
  throw problem('unsafe-to-taste', {
    detail: 'The host has stopped the tasting: something on the table is not fit to taste.',
  });
}
