interface Log {
  warn(details: object, message: string): void;
}

const SAY_EVERY_MS = 60_000;

/**
 * Tells what fails for as long as the database is away once a minute, not every time: a room full of tablets that try
 * again writes thousands of lines with the same cause.
 */
export class OutageLog {
  readonly #log: Log;
  readonly #clock: () => Date;
  readonly #message: string;
  #saidAt = -Infinity;
  #times = 0;

  constructor({ log, clock, message }: { log: Log; clock: () => Date; message: string }) {
    this.#log = log;
    this.#clock = clock;
    this.#message = message;
  }

  failed(err: unknown): void {
    const now = this.#clock().getTime();
    this.#times += 1;
    // A clock that was set back must not silence it.
    if (Math.abs(now - this.#saidAt) < SAY_EVERY_MS) return;
    this.#log.warn({ err, times: this.#times }, this.#message);
    this.#saidAt = now;
    this.#times = 0;
  }
}
