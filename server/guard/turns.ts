import { Pace, type PaceOptions } from './pace.ts';

/** Whose turn it is: a seat and a sign-in that were let in before have turns of their own, everybody else those of a network. */
export interface Caller {
  who: 'seat' | 'signIn' | 'network';
  /** Hash of a token, or the network's address. */
  id: string;
}

/** What is asked for: a page drawn for it, a built file, a socket, or anything else of the API. */
export type Errand = 'page' | 'asset' | 'socket' | 'call';

// Our own numbers, held by `npm run load -- 3 6 guest`. A page takes some 15 ms of the process, a call one or two. People
// never notice: the bursts let a room come in and reload at once behind one address, what is above them is a program.
const SOON = 10_000;
const FILES: PaceOptions = { perSecond: 100, burst: 3_000, longestMs: SOON };
const PACES: Record<Errand, Record<Caller['who'], PaceOptions>> = {
  page: {
    seat: { perSecond: 2, burst: 10, peakPerSecond: 6, longestMs: SOON },
    signIn: { perSecond: 3, burst: 20, peakPerSecond: 6, longestMs: SOON },
    network: { perSecond: 3, burst: 20, peakPerSecond: 6, longestMs: SOON },
  },
  call: {
    seat: { perSecond: 5, burst: 30, peakPerSecond: 10, longestMs: SOON },
    signIn: { perSecond: 30, burst: 200, longestMs: SOON },
    network: { perSecond: 20, burst: 60, peakPerSecond: 40, longestMs: SOON },
  },
  // A file lies ready: a tablet fetches some thirty, once.
  asset: { seat: FILES, signIn: FILES, network: FILES },
  // Never waits: whoever opens sockets without a pause does not wait for the last one either.
  socket: {
    seat: { perSecond: 0.5, burst: 10, longestMs: 0 },
    signIn: { perSecond: 2, burst: 60, longestMs: 0 },
    network: { perSecond: 10, burst: 60, longestMs: 0 },
  },
};

// Each holds a few numbers; the one unused for longest is forgotten, which is as good as a quiet while.
const MOST = 20_000;

/**
 * How often somebody may ask for something. One who asks without a pause waits, and what waits costs next to nothing: the
 * time of the process stays with those who taste.
 */
export class Turns {
  readonly #paces = new Map<string, Pace>();
  readonly #known = new Map<string, true>();
  readonly #now: () => number;

  constructor(now: () => number = () => performance.now()) {
    this.#now = now;
  }

  /** Who came with this token was let in: it is nobody's invention. */
  letIn(tokenHash: string): void {
    touch(this.#known, tokenHash, true);
  }

  isKnown(tokenHash: string): boolean {
    return this.#known.has(tokenHash);
  }

  /** How long to wait, in ms; null: too many wait already, and no turn is taken. */
  take(errand: Errand, { who, id }: Caller): number | null {
    const key = `${errand} ${who} ${id}`;
    const pace = this.#paces.get(key) ?? new Pace(PACES[errand][who], this.#now);
    touch(this.#paces, key, pace);
    return pace.take();
  }
}

/** Newest last, and no more than there is room for. */
function touch<T>(map: Map<string, T>, key: string, value: T): void {
  map.delete(key);
  map.set(key, value);
  const [oldest] = map.keys();
  if (map.size > MOST && oldest !== undefined) map.delete(oldest);
}
