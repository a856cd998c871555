import { listBallotsOfSeat } from '@oddglass/db/queries/ballot.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import { findSeatByToken, leaveSeat, type Seat } from '@oddglass/db/queries/seat.ts';
import type { PassedOn } from '@oddglass/shared/contracts/seat.ts';
import { workloadPerSeat } from '@oddglass/shared/rules/parts.ts';
import { wavesOf } from '@oddglass/shared/rules/waves.ts';
import { inSession, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';

/**
 * Whoever has finished hands the tablet to the next person: what the tablet knew the seat by opens nothing any more, on
 * whatever page or copy of it, and it gets the way in for the next. Nothing is lost: every answer of the seat is here.
 */
export async function passOn(deps: Deps, seat: Seat): Promise<PassedOn> {
  return inSession(deps, seat.sessionId, async (tx, session) => {
    const current = seat.tokenHash ? await findSeatByToken(tx, seat.tokenHash) : undefined;
    if (!current) throw problem('seat-unknown');
    const { settings, wave, joinToken } = session;
    if (wavesOf(settings, wave) === null || session.state !== 'open' || joinToken === null) {
      throw problem('wrong-state', { detail: 'Tablets are handed on while people sit down in waves.' });
    }
    const { sheets } = workloadPerSeat(settings.parts);
    const answered = (await listBallotsOfSeat(tx, current.id)).length;
    if (current.withdrawnAt === null && answered < sheets) {
      throw problem('wrong-state', {
        detail:
          'The host does not have every answer of this seat yet: finish here before the tablet is handed on.',
      });
    }
    await leaveSeat(tx, current.id);
    await appendEvent(tx, session.id, { kind: 'tablet-passed-on', seat: current.number }, deps.clock());
    return { token: joinToken };
  });
}
