import { benchMessage, type BenchMessage } from '@oddglass/shared/contracts/live.ts';
import type { SessionState } from '@oddglass/shared/contracts/session.ts';
import { liveSocket } from '#lib/live/socket.ts';

export interface PourNews {
  /** Cups or seats may have changed on another device. */
  onChange: () => void;
  onState: (state: SessionState) => void;
}

const STATE_AFTER: Partial<Record<string, SessionState>> = {
  opened: 'open',
  closed: 'closed',
  revealed: 'revealed',
};
// A steward ticks cup after cup: one look for several ticks is enough.
const GATHER_MS = 150;
// For the case that a message got lost on the way.
const SAFETY_MS = 30_000;

/** Listens to the session's log for what a pour list needs to know; returns how to stop. */
export function watchPour(session: string, { onChange, onState }: PourNews): () => void {
  let gathering: ReturnType<typeof setTimeout> | undefined;
  const change = (): void => {
    clearTimeout(gathering);
    gathering = setTimeout(onChange, GATHER_MS);
  };
  const hear = (message: BenchMessage): void => {
    if (message.type === 'snapshot') {
      onState(message.board.state);
      change();
      return;
    }
    if (message.type === 'pour-list') {
      change();
      return;
    }
    const { kind } = message.event.event;
    const state = STATE_AFTER[kind];
    if (state) onState(state);
    if (kind === 'seat-taken' || kind === 'opened' || kind === 'wave-called') change();
  };
  const socket = liveSocket<BenchMessage>({
    url: `/api/sessions/${session}/live`,
    parse: (value) => benchMessage.parse(value),
    onMessage: hear,
    // Leads to the sign-in page, and leaves nothing of this one.
    onSignInEnded: () => location.reload(),
  });
  const timer = setInterval(() => {
    if (document.visibilityState === 'visible') change();
  }, SAFETY_MS);
  return () => {
    socket.end();
    clearInterval(timer);
    clearTimeout(gathering);
  };
}
