import { listBallotsOfSeat } from '@oddglass/db/queries/ballot.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import { listEntriesOfSeat } from '@oddglass/db/queries/paper.ts';
import { hasOpenedKey } from '@oddglass/db/queries/key-opening.ts';
import { freeSeat as makeFree, listSeats, offerMove } from '@oddglass/db/queries/seat.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { MoveOffer } from '@oddglass/shared/contracts/session.ts';
import { sessionFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import { hashToken, newToken } from '../../access/tokens.ts';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { MOVE_LASTS_MS } from '../../session-data/seat-moves.ts';
import { refuseAway } from '../../session-data/sites-away.ts';
import { act } from './session.service.ts';

/**
 * A way to a seat whose tablet has to be replaced. The seat stays with its tablet until another one comes by it; what was
 * answered before is not told there, and whoever made the way cannot go it.
 */
export async function handOver(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  seat: number,
): Promise<MoveOffer> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  if (panel.role === 'host' && session.blinding === 'single') {
    throw problem('not-allowed', {
      detail:
        'In a single-blind tasting whoever hosts can read the key, and could answer by it: no seat is handed over. Let the person take a free seat.',
    });
  }
  if (await hasOpenedKey(deps.db, sessionId, actor.id)) {
    throw problem('not-allowed', {
      detail: 'You have opened the key of this tasting: let another host hand the seat over.',
    });
  }
  const moveToken = newToken(deps.random);
  const moveUntil = new Date(deps.clock().getTime() + MOVE_LASTS_MS);
  await act(deps, actor, sessionId, 'hand-over', async (tx, { id }) => {
    await refuseAway(tx, session, seat);
    const way = { moveHash: hashToken(moveToken), moveUntil, moveBy: 'host' as const };
    if (!(await offerMove(tx, id, seat, way))) throw nobodyThere();
  });
  deps.security.note('seat-handed-over', { account: actor.id, session: sessionId, seat });
  return { seat, moveToken, until: moveUntil.toISOString() };
}

/** Makes a seat free that was taken by mistake. One that has answered keeps its answers, and cannot be freed. */
export async function freeSeat(deps: Deps, actor: Actor, sessionId: string, number: number): Promise<void> {
  await act(deps, actor, sessionId, 'free-seat', async (tx, session) => {
    const { id } = session;
    await refuseAway(tx, session, number);
    const seat = (await listSeats(tx, id)).find((one) => one.number === number);
    if (!seat || seat.takenAt === null) throw nobodyThere();
    const answered = seat.withdrawnAt !== null || (await hasAnswered(tx, seat.id));
    if (answered) throw problem('seat-answered');
    await makeFree(tx, seat.id);
    await appendEvent(tx, id, { kind: 'seat-freed', seat: number }, deps.clock());
  });
}

const hasAnswered = async (tx: Db, seatId: string): Promise<boolean> =>
  (await listBallotsOfSeat(tx, seatId)).length + (await listEntriesOfSeat(tx, seatId)).length > 0;

const nobodyThere = () => problem('not-found', { detail: 'Nobody has taken this seat yet.' });
