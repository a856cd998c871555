import type { FastifyBaseLogger } from 'fastify';

export interface OutageOptions {
  /** Asks the database something small; rejects while it is away. */
  probe: () => Promise<unknown>;
  log: Pick<FastifyBaseLogger, 'warn' | 'error'>;
  /** Milliseconds that only go forward. */
  now: () => number;
}

const PROBE_EVERY_MS = 1_000;
const TELL_EVERY_MS = 60_000;
// Quiet for this long and the probe answered: over. Several locks in a row are one outage.
const QUIET_MS = 3_000;

/** Tells the log of an outage of the database when it begins, once a minute, and when it is over. */
export class Outage {
  readonly #options: OutageOptions;
  #timer: NodeJS.Timeout | null = null;
  #since = 0;
  #newest = 0;
  #told = 0;
  #failures = 0;
  #probing = false;

  constructor(options: OutageOptions) {
    this.#options = options;
  }

  /** Something could not be done for want of the database. */
  note(error: unknown): void {
    const now = this.#options.now();
    this.#newest = now;
    this.#failures += 1;
    if (this.#timer) return;
    this.#since = this.#told = now;
    this.#timer = setInterval(() => void this.#look(), PROBE_EVERY_MS);
    this.#timer.unref();
    this.#options.log.error(
      { err: error },
      'the database is away or held up: what needs it is answered 503 until it is back',
    );
  }

  close(): void {
    if (this.#timer) clearInterval(this.#timer);
    this.#timer = null;
  }

  async #look(): Promise<void> {
    if (this.#probing) return;
    this.#probing = true;
    const back = await this.#options.probe().then(
      () => true,
      () => false,
    );
    this.#probing = false;
    if (!this.#timer) return;
    const now = this.#options.now();
    const facts = { seconds: Math.round((now - this.#since) / 1000), failures: this.#failures };
    if (back && now - this.#newest >= QUIET_MS) {
      this.close();
      this.#failures = 0;
      this.#options.log.warn(facts, 'the database is back');
    } else if (now - this.#told >= TELL_EVERY_MS) {
      this.#told = now;
      this.#options.log.warn(facts, 'the database is still away or held up');
    }
  }
}
