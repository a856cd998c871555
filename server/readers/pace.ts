import { setTimeout as wait } from 'node:timers/promises';
import { problem } from '../refusal/problem.ts';

export interface PaceOptions {
  /** Turns a second once the burst is used up. */
  perSecond: number;
  /** Turns that may come at once after a quiet while. */
  burst: number;
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
  readonly #longestMs: number;
  readonly #now: () => number;
  #next = -Infinity;

  constructor({ perSecond, burst, longestMs }: PaceOptions, now: () => number = () => performance.now()) {
    this.#gapMs = 1000 / perSecond;
    this.#burst = burst;
    this.#longestMs = longestMs;
    this.#now = now;
  }

  /** How long the next one has to wait, in ms; the turn is taken. Null: too long, and no turn is taken. */
  take(): number | null {
    const now = this.#now();
    const at = Math.max(this.#next, now - this.#burst * this.#gapMs);
    if (at - now > this.#longestMs) return null;
    this.#next = at + this.#gapMs;
    return Math.max(0, at - now);
  }

  /** @throws Problem `busy` when too many wait already. */
  async turn(): Promise<void> {
    const ms = this.take();
    if (ms === null) throw problem('busy', { retryAfterSeconds: Math.ceil(this.#longestMs / 1000) });
    if (ms >= 1) await wait(ms);
  }
}
