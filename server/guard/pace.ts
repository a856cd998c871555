import { setTimeout as wait } from 'node:timers/promises';
import { problem } from '../refusal/problem.ts';

export interface PaceOptions {
  /** Turns a second once the burst is used up. */
  perSecond: number;
  /** Turns that may come at once after a quiet while. */
  burst: number;
  /** Turns of a burst come no closer than this allows, a second; as close as may be when left out. */
  peakPerSecond?: number;
  /** Whoever would have to wait longer is sent away. */
  longestMs: number;
}

/**
 * Lets readers in one after another at a steady pace. A program that reads without a pause waits for its turn, which costs
 * next to nothing; the time of the process stays with those who taste.
 */
export class Pace {
  readonly #gapMs: number;
  readonly #burst: number;
  readonly #closestMs: number;
  readonly #longestMs: number;
  readonly #now: () => number;
  #next = -Infinity;
  #last = -Infinity;

  constructor(
    { perSecond, burst, peakPerSecond = Infinity, longestMs }: PaceOptions,
    now: () => number = () => performance.now(),
  ) {
    this.#gapMs = 1000 / perSecond;
    this.#burst = burst;
    this.#closestMs = 1000 / peakPerSecond;
    this.#longestMs = longestMs;
    this.#now = now;
  }

  /** How long the next one has to wait, in ms; the turn is taken. Null: too long, and no turn is taken. */
  take(): number | null {
    const now = this.#now();
    // When the steady pace alone would let it in, which after a quiet while lies in the past.
    const due = Math.max(this.#next, now - this.#burst * this.#gapMs);
    const at = Math.max(due, now, this.#last + this.#closestMs);
    if (at - now > this.#longestMs) return null;
    this.#next = due + this.#gapMs;
    this.#last = at;
    return at - now;
  }

  /** @throws Problem `busy` when too many wait already. */
  async turn(): Promise<void> {
    const ms = this.take();
    if (ms === null) throw problem('busy', { retryAfterSeconds: Math.ceil(this.#longestMs / 1000) });
    if (ms >= 1) await wait(ms);
  }
}
