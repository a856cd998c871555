import type { BenchMessage } from '@oddglass/shared/contracts/live.ts';
import type { Board } from '@oddglass/shared/contracts/board.ts';
import { applyEvent } from '@oddglass/shared/rules/board.ts';

// After these the session itself reads differently: its state, its actions, its join code.
const STEPS: ReadonlySet<string> = new Set([
  'opened',
  'closed',
  'revealed',
  'key-taken',
  'tasting-stopped',
  'tasting-resumed',
  'join-code-changed',
  'wave-called',
]);

export interface BoardFeed {
  board: Board;
  /** Nothing is missing between the first and the last event the board holds. */
  whole: boolean;
}

export interface Heard extends BoardFeed {
  /** The session took a step: read it again. */
  stepped: boolean;
}

/** The board after one more message. What comes after a gap is not taken: only a snapshot mends it. */
export function hear(feed: BoardFeed, message: BenchMessage): Heard {
  if (message.type === 'snapshot') {
    const { board } = message;
    return { board, whole: true, stepped: board.state !== feed.board.state };
  }
  // Of pour lists.
  if (message.type === 'pour-list') return { ...feed, stepped: false };
  const { event } = message;
  if (event.seq <= feed.board.seq) return { ...feed, stepped: false };
  if (!feed.whole || event.seq > feed.board.seq + 1)
    return { board: feed.board, whole: false, stepped: false };
  return { board: applyEvent(feed.board, event), whole: true, stepped: STEPS.has(event.event.kind) };
}

/** Where to listen: on from the last event, or with a snapshot first when something is missing. */
export function liveAddress(session: string, { board, whole }: BoardFeed): string {
  const path = `/api/sessions/${session}/live`;
  return whole ? `${path}?after=${board.seq}` : path;
}
