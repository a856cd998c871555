import { listBallotsOfSeat } from '@oddglass/db/queries/ballot.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import { findPanelFor } from '@oddglass/db/queries/panel.ts';
import { findSeatByMove, moveSeat, offerMove, type Seat } from '@oddglass/db/queries/seat.ts';
import type { MoveInput, SeatTaken } from '@oddglass/shared/contracts/seat.ts';
import type { MoveOffer } from '@oddglass/shared/contracts/session.ts';
import { hashToken, newToken } from '../../access/tokens.ts';
import { inSession, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { MOVE_LASTS_MS } from '../../session-data/seat-moves.ts';
import { refuseAtDoor, type Guest } from './door.ts';
import { seatInHand } from './seat-in-hand.ts';

/** The person at the seat goes on on another tablet: a way for it, that ends with being gone once. */
export async function offerOwnMove(deps: Deps, seat: Seat): Promise<MoveOffer> {
  const moveToken = newToken(deps.random);
  const moveUntil = new Date(deps.clock().getTime() + MOVE_LASTS_MS);
  await inSession(deps, seat.sessionId, async (tx, session) => {
    await seatInHand(tx, seat, session.state);
    const way = { moveHash: hashToken(moveToken), moveUntil, moveBy: 'seat' as const };
    await offerMove(tx, session.id, seat.number, way);
  });
  return { seat: seat.number, moveToken, until: moveUntil.toISOString() };
}

/**
 * A device comes by the way that was left for it, and has the seat by a token that nobody saw before; the device before
 * loses it. By a host's leave it is another holder: what was answered before stays closed to it, and so does the receipt,
 * unless nothing was. A browser that is signed in to the panel cannot come that way.
 */
export async function moveHere(deps: Deps, guest: Guest, { token }: MoveInput): Promise<SeatTaken> {
  const moveHash = hashToken(token);
  const found = await findSeatByMove(deps.db, moveHash);
  if (!found) throw problem('move-refused');
  const seatToken = newToken(deps.random);
  await inSession(deps, found.sessionId, async (tx, session) => {
    const now = deps.clock();
    const seat = await findSeatByMove(tx, moveHash);
    if (!seat || seat.takenAt === null || !seat.moveUntil || seat.moveUntil <= now)
      throw problem('move-refused');
    if (session.state !== 'open' || seat.withdrawnAt !== null) throw problem('move-refused');
    const { actor, deviceHash } = guest;
    const byHost = seat.moveBy === 'host';
    // A way that was left before the key was taken would lead somebody who knows it to a seat.
    if (byHost && session.blinding === 'single') throw problem('move-refused');
    if (byHost && actor && (await findPanelFor(tx, session.panelId, actor.id))) {
      throw problem('not-allowed', {
        detail:
          'This browser is signed in to the panel. Open the link on the tablet of the person at the seat, or sign out there first.',
      });
    }
    await refuseAtDoor(tx, session, guest);
    const empty = (await listBallotsOfSeat(tx, seat.id)).length === 0;
    await moveSeat(tx, seat.id, {
      tokenHash: hashToken(seatToken),
      deviceHash,
      holder: byHost ? seat.holder + 1 : seat.holder,
      receiptHash: byHost && empty ? null : seat.receiptHash,
    });
    const kind = byHost ? ('seat-handed-over' as const) : ('seat-moved' as const);
    await appendEvent(tx, session.id, { kind, seat: seat.number }, now);
  });
  return { seat: found.number, seatToken };
}
