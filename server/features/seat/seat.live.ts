import { appendEvent } from '@oddglass/db/queries/event.ts';
import { findSeatByToken, type Seat } from '@oddglass/db/queries/seat.ts';
import { findSession } from '@oddglass/db/queries/session.ts';
import { seatMessage, type SeatMessage, type SessionEvent } from '@oddglass/shared/contracts/live.ts';
import type { WebSocket } from '@fastify/websocket';
import { inSession, type Deps } from '../../deps.ts';
import { keepPulse } from '../../live/pulse.ts';
import { sessionAtSeat } from '../../session-data/seat-session.ts';

// A tablet that reloads is back within seconds; only a longer silence is told to the host.
const GONE_AFTER_MS = 4_000;
const STATE_EVENTS: readonly SessionEvent['event']['kind'][] = [
  'opened',
  'closed',
  'revealed',
  'tasting-stopped',
  'tasting-resumed',
];

/** After these another device may have the seat, or none. */
const LOST_EVENTS: readonly SessionEvent['event']['kind'][] = [
  'seat-handed-over',
  'seat-moved',
  'seat-freed',
  'tablet-passed-on',
];

/** Which seats have a socket in this process, and how many. */
export class Presence {
  readonly #sockets = new Map<string, number>();
  readonly #leaving = new Map<string, NodeJS.Timeout>();

  arrive(deps: Deps, seat: Seat): void {
    clearTimeout(this.#leaving.get(seat.id));
    const back = this.#leaving.delete(seat.id);
    const count = this.#sockets.get(seat.id) ?? 0;
    this.#sockets.set(seat.id, count + 1);
    if (count === 0 && !back) void this.#tell(deps, seat, 'seat-online');
  }

  leave(deps: Deps, seat: Seat): void {
    const count = (this.#sockets.get(seat.id) ?? 1) - 1;
    if (count > 0) {
      this.#sockets.set(seat.id, count);
      return;
    }
    this.#sockets.delete(seat.id);
    const timer = setTimeout(() => {
      this.#leaving.delete(seat.id);
      void this.#tell(deps, seat, 'seat-offline');
    }, GONE_AFTER_MS);
    timer.unref();
    this.#leaving.set(seat.id, timer);
  }

  close(): void {
    for (const timer of this.#leaving.values()) clearTimeout(timer);
  }

  async #tell(deps: Deps, seat: Seat, kind: 'seat-online' | 'seat-offline'): Promise<void> {
    // Presence is a courtesy to the host: while the database is away it is simply not told.
    await inSession(deps, seat.sessionId, async (tx, session) => {
      if (session.state !== 'open') return;
      await appendEvent(tx, session.id, { kind, seat: seat.number }, deps.clock());
    }).catch(() => undefined);
  }
}

/** Tells one seat how the session stands, and when another device took the seat over. */
export async function feedSeat(deps: Deps, presence: Presence, seat: Seat, socket: WebSocket): Promise<void> {
  const send = (message: SeatMessage): void => {
    if (socket.readyState === socket.OPEN) socket.send(JSON.stringify(seatMessage.parse(message)));
  };
  const tellSession = async (): Promise<void> => {
    const session = await findSession(deps.db, seat.sessionId);
    if (session) send({ type: 'session', session: await sessionAtSeat(deps.db, session) });
  };
  const hear = async (events: SessionEvent[]): Promise<void> => {
    const elsewhere = events.some(
      ({ event }) => LOST_EVENTS.includes(event.kind) && 'seat' in event && event.seat === seat.number,
    );
    if (elsewhere && !(await findSeatByToken(deps.db, seat.tokenHash ?? ''))) {
      send({ type: 'seat-lost' });
      socket.close(1000);
      return;
    }
    if (events.some(({ event }) => STATE_EVENTS.includes(event.kind))) await tellSession();
  };

  const session = await findSession(deps.db, seat.sessionId);
  if (!session || socket.readyState !== socket.OPEN) return;
  const stop = deps.live.listen(
    seat.sessionId,
    (events) => void hear(events).catch(() => socket.close(1011)),
    session.lastSeq,
  );
  presence.arrive(deps, seat);
  keepPulse(socket);
  let left = false;
  const leave = (): void => {
    if (left) return;
    left = true;
    stop();
    presence.leave(deps, seat);
  };
  socket.on('close', leave);
  socket.on('error', leave);
  await tellSession();
}
