import { appendEvent } from '@oddglass/db/queries/event.ts';
import { listSeats, takeSeat as takeFreeSeat } from '@oddglass/db/queries/seat.ts';
import { findSessionByJoin, type Session } from '@oddglass/db/queries/session.ts';
import type { JoinInput, JoinOffer, SeatTaken, TakeSeatInput } from '@oddglass/shared/contracts/seat.ts';
import { runsOf } from '@oddglass/shared/rules/sites.ts';
import { isCalled, seatsOfWave, waveCount, wavesOf } from '@oddglass/shared/rules/waves.ts';
import { inSession, type Deps } from '../../deps.ts';
import { isOwnMachine, networkOf } from '../../guard/attempts.ts';
import { problem } from '../../refusal/problem.ts';
import { hashToken, newToken } from '../../access/tokens.ts';
import { refuseAtDoor, type Guest } from './door.ts';
import { refuseWhenStopped } from './seat-in-hand.ts';
import { sessionAtSeat } from '../../session-data/seat-session.ts';
import { refuseAway, seatsAway } from '../../session-data/sites-away.ts';

/** The open session a token or code leads to. Guesses at codes are counted; a QR token is too long to guess. */
async function sessionToJoin(deps: Deps, from: string, input: JoinInput): Promise<Session> {
  const find = async (): Promise<Session> => {
    const session = await findSessionByJoin(deps.db, input);
    if (!session) throw problem('join-refused');
    return session;
  };
  return 'code' in input ? deps.limits.join.attempt(networkOf(from), find) : find();
}

export async function offerSeats(deps: Deps, from: string, input: JoinInput): Promise<JoinOffer> {
  const session = await sessionToJoin(deps, from, input);
  const seats = await listSeats(deps.db, session.id);
  const waves = wavesOf(session.settings, session.wave);
  const away = await seatsAway(deps.db, session);
  return {
    session: await sessionAtSeat(deps.db, session),
    seats: seats
      // Seats that answer on another server are not to be had here, nor taken by anybody.
      .filter(({ number }) => isCalled(waves, number) && !away.has(number))
      .map(({ number, takenAt }) => ({ number, free: takenAt === null })),
    ...runsOf(session.settings),
    ...(waves && {
      wave: {
        called: waves.called,
        of: waveCount(waves),
        from: seatsOfWave(waves, Math.max(1, waves.called)).from,
      },
    }),
  };
}

/** A seat of a wave that is still to come. A number that is no seat is nobody's to wait for. */
function refuseBeforeCall(session: Session, seat: number): void {
  const waves = wavesOf(session.settings, session.wave);
  if (waves === null || seat > waves.seats || isCalled(waves, seat)) return;
  throw problem('wave-not-called', {
    detail: `Seat ${seat} is not called yet. Wave ${waves.called} of ${waveCount(waves)} sits down now.`,
  });
}

export async function takeSeat(deps: Deps, guest: Guest, input: TakeSeatInput): Promise<SeatTaken> {
  const { from, deviceHash } = guest;
  const { id } = await sessionToJoin(deps, from, input);
  const seatToken = newToken(deps.random);
  const take = () =>
    inSession(deps, id, async (tx, session) => {
      if (session.state !== 'open') throw problem('join-refused');
      refuseWhenStopped(session);
      await refuseAtDoor(tx, session, guest);
      refuseBeforeCall(session, input.seat);
      await refuseAway(tx, session, input.seat);
      const now = deps.clock();
      const device = { tokenHash: hashToken(seatToken), deviceHash, now };
      const taken = await takeFreeSeat(tx, session.id, input.seat, device);
      if (!taken) throw problem('seat-taken');
      await appendEvent(tx, session.id, { kind: 'seat-taken', seat: taken.number }, now);
    });
  await (isOwnMachine(from) ? take() : deps.limits.seats.spend(`${id} ${networkOf(from)}`, take));
  return { seat: input.seat, seatToken };
}
