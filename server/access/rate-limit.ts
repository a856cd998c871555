import { RateLimiterMemory, RateLimiterRes } from 'rate-limiter-flexible';
import { problem } from '../refusal/problem.ts';

/** Counts failures only: a full room behind one address joins without being slowed. */
export class FailureLimit {
  readonly #limiter: RateLimiterMemory;

  /** `allowed` failures in `seconds`; the next one, and everything after it until the time is over, is refused. */
  constructor(allowed: number, seconds: number) {
    this.#limiter = new RateLimiterMemory({ points: allowed, duration: seconds });
  }

  /** Throws when the key has failed too often. */
  async check(key: string): Promise<void> {
    const standing = await this.#limiter.get(key);
    if (standing !== null && standing.remainingPoints <= 0) throw tooMany(standing);
  }

  /** Notes a failure; throws when it was one too many. */
  async fail(key: string): Promise<void> {
    try {
      await this.#limiter.consume(key);
    } catch (reason) {
      if (reason instanceof RateLimiterRes) throw tooMany(reason);
      throw reason;
    }
  }
}

function tooMany(standing: RateLimiterRes): Error {
  const seconds = Math.max(1, Math.ceil(standing.msBeforeNext / 1000));
  return problem('too-many-attempts', {
    detail: `Too many wrong attempts from here. Try again in ${seconds} seconds; a QR link still works.`,
    retryAfterSeconds: seconds,
  });
}
