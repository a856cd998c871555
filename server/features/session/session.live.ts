import { listEvents } from '@oddglass/db/queries/event.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { benchMessage, type BenchMessage, type SessionEvent } from '@oddglass/shared/contracts/live.ts';
import { type Board } from '@oddglass/shared/contracts/board.ts';
import { emptyBoard, foldBoard } from '@oddglass/shared/rules/board.ts';
import type { WebSocket } from '@fastify/websocket';
import type { Deps } from '../../deps.ts';
import { keepPulse } from '../../live/pulse.ts';

// Further behind than this a snapshot is shorter than what was missed.
const MAX_MISSED = 500;
// A board that does not read is let go before its backlog weighs on everybody else.
const MAX_BUFFERED_BYTES = 1_000_000;

/** The board as it stands: a fold of the log. */
export async function readBoard(deps: Deps, session: Session): Promise<Board> {
  return foldBoard(emptyBoard(session.settings), await listEvents(deps.db, session.id));
}

/**
 * Feeds one board: what it missed after `after` (or a snapshot), then every event as it comes.
 * Events that arrive while the past is read wait, and what is told twice is dropped by its number. `holds` is asked now
 * and then whether the viewer may still look; one who `pours` hears of every tick too.
 */
export async function feedBoard(
  deps: Deps,
  session: Session,
  socket: WebSocket,
  after: number | undefined,
  { pours, holds }: { pours: boolean; holds: () => Promise<boolean> },
): Promise<void> {
  let told = -1;
  let waiting: SessionEvent[] | null = [];
  const send = (message: BenchMessage): void => {
    if (socket.bufferedAmount > MAX_BUFFERED_BYTES) socket.terminate();
    else socket.send(JSON.stringify(benchMessage.parse(message)));
  };
  const tell = (events: SessionEvent[]): void => {
    for (const event of events) {
      if (event.seq <= told) continue;
      told = event.seq;
      send({ type: 'event', event });
    }
  };
  const stop = deps.live.listen(
    session.id,
    (events) => {
      if (waiting) waiting.push(...events);
      else tell(events);
    },
    session.lastSeq,
  );
  socket.on('close', stop);
  socket.on('error', stop);
  if (pours)
    socket.on(
      'close',
      deps.live.onNudge(session.id, () => send({ type: 'pour-list' })),
    );
  keepPulse(socket, holds);

  const missed = after === undefined ? null : await listEvents(deps.db, session.id, after, MAX_MISSED + 1);
  if (missed && after !== undefined && missed.length <= MAX_MISSED) {
    told = after;
    tell(missed);
  } else {
    const board = await readBoard(deps, session);
    told = board.seq;
    send({ type: 'snapshot', board });
  }
  const early = waiting;
  waiting = null;
  tell(early);
}
