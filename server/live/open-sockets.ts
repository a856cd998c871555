import type { WebSocket } from '@fastify/websocket';
import { SIGN_IN_ENDED } from '@oddglass/shared/contracts/live.ts';

export interface SocketCaps {
  /** Of one seat: a tablet that lost its network leaves a few behind until no pulse is answered. */
  seat: number;
  /** Of one sign-in: boards and pour lists in as many tabs. */
  signIn: number;
  /** From one network: the largest tasting and its hosts sit behind one address. */
  network: number;
}

const CAPS: SocketCaps = { seat: 8, signIn: 40, network: 1_000 };
// RFC 6455 and its registry: 1008 policy violation, 1013 try again later.
const TOO_MANY = 1008;
const LATER = 1013;

export type SocketOwner = { seat: string } | { signIn: string };

/** The sockets of this process: whose they are, so that they end with what they stand on, and how many. */
export class OpenSockets {
  readonly #caps: SocketCaps;
  /** Oldest first. */
  readonly #owned = new Map<string, Set<WebSocket>>();
  readonly #from = new Map<string, number>();
  /** The panel that a board is of. */
  readonly #panels = new WeakMap<WebSocket, string>();

  constructor(caps: SocketCaps = CAPS) {
    this.#caps = caps;
  }

  /** No further one is taken from there. */
  full(network: string): boolean {
    return (this.#from.get(network) ?? 0) >= this.#caps.network;
  }

  /** Takes a socket in; when there are too many of its owner, the oldest, most likely a dead one, is let go. */
  add(owner: SocketOwner, network: string, socket: WebSocket): void {
    const key = keyOf(owner);
    const mine = this.#owned.get(key) ?? new Set();
    this.#owned.set(key, mine);
    const full = this.full(network);
    mine.add(socket);
    this.#from.set(network, (this.#from.get(network) ?? 0) + 1);
    socket.once('close', () => {
      mine.delete(socket);
      if (mine.size === 0 && this.#owned.get(key) === mine) this.#owned.delete(key);
      const left = (this.#from.get(network) ?? 1) - 1;
      if (left > 0) this.#from.set(network, left);
      else this.#from.delete(network);
    });
    const cap = 'seat' in owner ? this.#caps.seat : this.#caps.signIn;
    const [oldest] = mine;
    if (full) drop(socket, LATER);
    else if (mine.size > cap && oldest) {
      mine.delete(oldest);
      drop(oldest, TOO_MANY);
    }
  }

  /** Says which panel is looked at by a socket. */
  ofPanel(socket: WebSocket, panelId: string): void {
    this.#panels.set(socket, panelId);
  }

  /** A sign-in has ended, or its place in one panel: nothing more is told to its sockets, or to those of that panel. */
  endSignIn(tokenHash: string, panelId?: string): void {
    for (const socket of this.#owned.get(keyOf({ signIn: tokenHash })) ?? []) {
      if (panelId === undefined || this.#panels.get(socket) === panelId) socket.close(SIGN_IN_ENDED);
    }
  }
}

const keyOf = (owner: SocketOwner): string =>
  'seat' in owner ? `seat ${owner.seat}` : `sign-in ${owner.signIn}`;

/** Says why, and does not wait for an answer: one that lost its network gives none. */
function drop(socket: WebSocket, code: number): void {
  socket.close(code);
  setTimeout(() => socket.terminate(), 1_000).unref();
}
