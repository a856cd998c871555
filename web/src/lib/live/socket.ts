import { pulse, PULSE_SILENCE_MS } from '@oddglass/shared/contracts/live.ts';
import { retryDelay } from './retry-delay.ts';

/** open: news arrives. away: the connection was lost or refused and is tried again. ended: closed by us. */
export type LiveState = 'connecting' | 'open' | 'away' | 'ended';

export interface LiveSocketOptions<Message> {
  /** Path on this server; a function is asked at each attempt, for example to name the last event seen. */
  url: string | (() => string);
  protocols?: string[];
  /** Throws on what the contract does not know: `(value) => benchMessage.parse(value)`. */
  parse: (value: unknown) => Message;
  onMessage: (message: Message) => void;
  onState?: (state: LiveState) => void;
}

export interface LiveSocket {
  /** Connects anew at once, for example when the tablet wakes. */
  reconnect(): void;
  end(): void;
}

// After a sleep of this long a socket that looks open is often dead without knowing it.
const STALE_AFTER_HIDDEN_MS = 20_000;

/**
 * A socket that only listens, and comes back by itself: after a loss with growing, scattered waits, and at once
 * when the network or the page is back. A message outside the contract counts as a loss, since what follows a
 * gap cannot be trusted; whoever listens asks for a snapshot on the next connection.
 */
export function liveSocket<Message>(options: LiveSocketOptions<Message>): LiveSocket {
  let socket: WebSocket | null = null;
  let timer: ReturnType<typeof setTimeout> | undefined;
  let attempt = 0;
  let ended = false;
  let hiddenAt: number | null = null;
  let silence: ReturnType<typeof setTimeout> | undefined;

  const tell = (state: LiveState): void => options.onState?.(state);

  function drop(): void {
    clearTimeout(timer);
    clearTimeout(silence);
    const old = socket;
    socket = null;
    old?.close();
  }

  /** The server is heard from at least every ten seconds; a way that is silent for longer is broken. */
  function heard(): void {
    clearTimeout(silence);
    silence = setTimeout(lost, PULSE_SILENCE_MS);
  }

  function lost(): void {
    drop();
    if (ended) return;
    tell('away');
    timer = setTimeout(connect, retryDelay(attempt, Math.random()));
    attempt += 1;
  }

  function connect(): void {
    drop();
    if (ended) return;
    tell('connecting');
    const path = typeof options.url === 'string' ? options.url : options.url();
    const address = new URL(path, location.href);
    address.protocol = address.protocol === 'https:' ? 'wss:' : 'ws:';
    let mine: WebSocket;
    try {
      mine = new WebSocket(address, options.protocols);
    } catch {
      lost();
      return;
    }
    socket = mine;
    mine.onopen = () => {
      if (socket !== mine) return;
      heard();
      tell('open');
    };
    mine.onclose = () => {
      if (socket === mine) lost();
    };
    mine.onmessage = ({ data }: MessageEvent<unknown>) => {
      if (socket !== mine) return;
      heard();
      let message: Message;
      try {
        const value: unknown = JSON.parse(String(data));
        if (pulse.safeParse(value).success) {
          attempt = 0;
          return;
        }
        message = options.parse(value);
      } catch {
        lost();
        return;
      }
      // Only a message proves the way: a socket that opens and falls at once must not be tried without pause.
      attempt = 0;
      options.onMessage(message);
    };
  }

  function reconnect(): void {
    if (ended) return;
    attempt = 0;
    connect();
  }

  const onVisible = (): void => {
    if (document.visibilityState === 'hidden') {
      hiddenAt = Date.now();
      return;
    }
    const asleep = hiddenAt === null ? 0 : Date.now() - hiddenAt;
    hiddenAt = null;
    if (socket?.readyState !== WebSocket.OPEN || asleep > STALE_AFTER_HIDDEN_MS) reconnect();
  };
  const onOffline = (): void => lost();

  addEventListener('online', reconnect);
  addEventListener('offline', onOffline);
  document.addEventListener('visibilitychange', onVisible);
  connect();

  return {
    reconnect,
    end() {
      ended = true;
      removeEventListener('online', reconnect);
      removeEventListener('offline', onOffline);
      document.removeEventListener('visibilitychange', onVisible);
      drop();
      tell('ended');
    },
  };
}
