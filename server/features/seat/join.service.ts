import { appendEvent } from '@oddglass/db/queries/event.ts';
import { listSeats, takeSeat as takeFreeSeat } from '@oddglass/db/queries/seat.ts';
import { findSessionByJoin, type Session } from '@oddglass/db/queries/session.ts';
import type { JoinInput, JoinOffer, SeatTaken, TakeSeatInput } from '@oddglass/shared/contracts/seat.ts';
import { inSession, type Deps } from '../../deps.ts';
import type { FailureLimit } from '../../access/rate-limit.ts';
import { problem } from '../../refusal/problem.ts';
import { hashToken, newToken } from '../../access/tokens.ts';
import { refuseWhenStopped } from './seat-in-hand.ts';
import { sessionAtSeat } from './seat-session.ts';

/** The open session a token or code leads to. Guessing codes is limited by failures; a QR token is too long to guess. */
async function sessionToJoin(
  deps: Deps,
  limit: FailureLimit,
  from: string,
  input: JoinInput,
): Promise<Session> {
  if ('code' in input) await limit.check(from);
  const session = await findSessionByJoin(deps.db, input);
  if (!session) {
    await limit.fail(from);
    throw problem('join-refused');
  }
  return session;
}

export async function offerSeats(
  deps: Deps,
  limit: FailureLimit,
  from: string,
  input: JoinInput,
): Promise<JoinOffer> {
  const session = await sessionToJoin(deps, limit, from, input);
  const seats = await listSeats(deps.db, session.id);
  return {
    session: await sessionAtSeat(deps.db, session),
    seats: seats.map(({ number, takenAt }) => ({ number, free: takenAt === null })),
  };
}

export async function takeSeat(
  deps: Deps,
  limit: FailureLimit,
  from: string,
  input: TakeSeatInput,
): Promise<SeatTaken> {
  const { id } = await sessionToJoin(deps, limit, from, input);
  const seatToken = newToken(deps.random);
  await inSession(deps, id, async (tx, session) => {
    if (session.state !== 'open') throw problem('join-refused');
    refuseWhenStopped(session);
    const now = deps.clock();
    const taken = await takeFreeSeat(tx, session.id, input.seat, hashToken(seatToken), now);
    if (!taken) throw problem('seat-taken');
    await appendEvent(tx, session.id, { kind: 'seat-taken', seat: taken.number }, now);
  });
  return { seat: input.seat, seatToken };
}
