import { pulse, PULSE_SILENCE_MS, SIGN_IN_ENDED } from '@oddglass/shared/contracts/live.ts';
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
  /** The server let nobody stay who is not signed in: there is no coming back. */
  onSignInEnded?: () => void;
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
  const line = new Line(options);
  const reconnect = (): void => line.reconnect();
  const onOffline = (): void => line.lost();
  const onVisible = (): void => line.seen(document.visibilityState);
  addEventListener('online', reconnect);
  addEventListener('offline', onOffline);
  document.addEventListener('visibilitychange', onVisible);
  line.connect();
  return {
    reconnect,
    end() {
      removeEventListener('online', reconnect);
      removeEventListener('offline', onOffline);
      document.removeEventListener('visibilitychange', onVisible);
      line.end();
    },
  };
}

/** The way to the server: one socket at a time, a new one when it is lost. */
class Line<Message> {
  readonly #options: LiveSocketOptions<Message>;
  #socket: WebSocket | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #silence: ReturnType<typeof setTimeout> | undefined;
  #attempt = 0;
  #ended = false;
  #hiddenAt: number | null = null;

  constructor(options: LiveSocketOptions<Message>) {
    this.#options = options;
  }

  connect(): void {
    this.#drop();
    if (this.#ended) return;
    this.#tell('connecting');
    const { url, protocols } = this.#options;
    const address = addressOf(url);
    let mine: WebSocket;
    try {
      mine = new WebSocket(address, protocols);
    } catch {
      this.lost();
      return;
    }
    this.#socket = mine;
    mine.onopen = () => {
      if (this.#socket !== mine) return;
      this.#heard();
      this.#tell('open');
    };
    mine.onclose = ({ code }) => {
      if (this.#socket !== mine) return;
      if (code !== SIGN_IN_ENDED) return this.lost();
      this.end();
      this.#options.onSignInEnded?.();
    };
    mine.onmessage = ({ data }: MessageEvent<unknown>) => {
      if (this.#socket === mine) this.#take(String(data));
    };
  }

  reconnect(): void {
    if (this.#ended) return;
    this.#attempt = 0;
    this.connect();
  }

  lost(): void {
    this.#drop();
    if (this.#ended) return;
    this.#tell('away');
    this.#timer = setTimeout(() => this.connect(), retryDelay(this.#attempt, Math.random()));
    this.#attempt += 1;
  }

  /** The page was hidden, or is looked at again. */
  seen(visibility: DocumentVisibilityState): void {
    if (visibility === 'hidden') {
      this.#hiddenAt = Date.now();
      return;
    }
    const asleep = this.#hiddenAt === null ? 0 : Date.now() - this.#hiddenAt;
    this.#hiddenAt = null;
    if (this.#socket?.readyState !== WebSocket.OPEN || asleep > STALE_AFTER_HIDDEN_MS) this.reconnect();
  }

  end(): void {
    this.#ended = true;
    this.#drop();
    this.#tell('ended');
  }

  #take(data: string): void {
    this.#heard();
    let message: Message;
    try {
      const value: unknown = JSON.parse(data);
      if (pulse.safeParse(value).success) {
        this.#attempt = 0;
        return;
      }
      message = this.#options.parse(value);
    } catch {
      this.lost();
      return;
    }
    // Only a message proves the way: a socket that opens and falls at once must not be tried without pause.
    this.#attempt = 0;
    this.#options.onMessage(message);
  }

  #tell(state: LiveState): void {
    this.#options.onState?.(state);
  }

  #drop(): void {
    clearTimeout(this.#timer);
    clearTimeout(this.#silence);
    const old = this.#socket;
    this.#socket = null;
    old?.close();
  }

  /** The server is heard from at least every ten seconds; a way that is silent for longer is broken. */
  #heard(): void {
    clearTimeout(this.#silence);
    this.#silence = setTimeout(() => this.lost(), PULSE_SILENCE_MS);
  }
}

function addressOf(url: string | (() => string)): URL {
  const address = new URL(typeof url === 'string' ? url : url(), location.href);
  address.protocol = address.protocol === 'https:' ? 'wss:' : 'ws:';
  return address;
}
