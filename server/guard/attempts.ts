import { createHash } from 'node:crypto';
import { isIPv6 } from 'node:net';
import type { Db } from '@oddglass/db/client.ts';
import { givePointBack, sweepAttempts, takePoint } from '@oddglass/db/queries/attempt.ts';
import type { ProblemName } from '@oddglass/shared/contracts/problem.ts';
import { problem, Problem } from '../refusal/problem.ts';

export interface AttemptRule {
  /** What is tried; counts of the same name are shared by all processes on a database. */
  name: string;
  /** Attempts in vain before the next one is refused. */
  allowed: number;
  /** How long these count, from the first of them on. */
  seconds: number;
  /**
   * One after another for each key, so that right ones that come together, such as a full room, never look like as many
   * wrong ones.
   */
  inTurn?: boolean;
  /** What else there is to do, told to whoever is refused. */
  otherwise?: string;
  /** Which problem it is, and what is said of it, where it is no guessing. */
  refusal?: ProblemName;
  says?: string;
}

// More than sit in the largest room; whoever sends more at once is not a room.
const LONGEST_QUEUE = 500;

/**
 * Slows guessing: a point is taken before an attempt is looked at and given back when it succeeds, so that neither a burst
 * nor a second process gets further than one attempt after another. What failed for want of the database counts nothing.
 */
export class AttemptLimit {
  readonly #db: Db;
  readonly #clock: () => Date;
  readonly #rule: AttemptRule;
  readonly #queues = new Map<string, { length: number; last: Promise<unknown> }>();

  constructor(db: Db, clock: () => Date, rule: AttemptRule) {
    this.#db = db;
    this.#clock = clock;
    this.#rule = rule;
  }

  /** @throws Problem `too-many-attempts` when this key has none left; else whatever the work throws. */
  async attempt<T>(key: string, work: () => Promise<T>): Promise<T> {
    const hashed = this.#hashed(key);
    return this.#rule.inTurn
      ? this.#inTurn(hashed, () => this.#counted(hashed, work))
      : this.#counted(hashed, work);
  }

  /** Does what is had so often: a point is kept by what succeeds, and given back by what was not to be had. */
  async spend<T>(key: string, work: () => Promise<T>): Promise<T> {
    const giveBack = await this.#take(this.#hashed(key));
    try {
      return await work();
    } catch (reason) {
      await giveBack().catch(() => undefined);
      throw reason;
    }
  }

  /** Of bounded length, and nobody's name or address lies in the database. */
  #hashed(key: string): string {
    return createHash('sha256').update(`${this.#rule.name} ${key}`).digest('base64url');
  }

  async #counted<T>(key: string, work: () => Promise<T>): Promise<T> {
    const giveBack = await this.#take(key);
    let result: T;
    try {
      result = await work();
    } catch (reason) {
      // Another limit refused, or nothing was found out: there was no guess.
      const guessed = reason instanceof Problem && reason.status < 500 && reason.kind !== 'too-many-attempts';
      if (!guessed) await giveBack().catch(() => undefined);
      throw reason;
    }
    await giveBack();
    return result;
  }

  /** Takes a point; what comes back gives it back. */
  async #take(key: string): Promise<() => Promise<void>> {
    const { allowed, seconds } = this.#rule;
    const now = this.#clock();
    const ends = new Date(now.getTime() + seconds * 1_000);
    const { taken, endsAt } = await takePoint(this.#db, { key, allowed, now, endsAt: ends });
    if (!taken) throw this.#refusal(endsAt.getTime() - now.getTime());
    // The first of a new count.
    if (endsAt.getTime() === ends.getTime()) await sweepAttempts(this.#db, now);
    return () => givePointBack(this.#db, key, endsAt);
  }

  async #inTurn<T>(key: string, work: () => Promise<T>): Promise<T> {
    const queue = this.#queues.get(key) ?? { length: 0, last: Promise.resolve() };
    if (queue.length >= LONGEST_QUEUE) throw this.#refusal(1_000);
    this.#queues.set(key, queue);
    queue.length += 1;
    const mine = queue.last.then(work);
    queue.last = mine
      .catch(() => undefined)
      .then(() => {
        queue.length -= 1;
        if (queue.length === 0) this.#queues.delete(key);
      });
    return mine;
  }

  #refusal(ms: number): Problem {
    const seconds = Math.max(1, Math.ceil(ms / 1_000));
    const {
      otherwise = '',
      refusal = 'too-many-attempts',
      says = 'Too many wrong attempts from here.',
    } = this.#rule;
    return problem(refusal, {
      detail: `${says} Try again in ${seconds} seconds${otherwise}.`,
      retryAfterSeconds: seconds,
    });
  }
}

/** Everything that can be tried out, and how often. */
export interface Limits {
  /** A passphrase for a name, from one network: nobody locks an owner out from elsewhere. */
  signIn: AttemptLimit;
  /** Passphrases for any name, from one network. */
  signInFrom: AttemptLimit;
  /** The passphrase now, by somebody signed in. */
  passphrase: AttemptLimit;
  /** Passkeys and recovery codes after a right passphrase, for an account from one network. */
  secondFactor: AttemptLimit;
  /** Links for the first host, of invitations and for a new passphrase, from one network. */
  link: AttemptLimit;
  /** Join codes, from one network. */
  join: AttemptLimit;
  /** Digits of the slip of one ballot on paper, from anywhere. */
  slip: AttemptLimit;
  /** Seats of one tasting, to one network: a room sits down within a minute or two, and nobody takes the table at once. */
  seats: AttemptLimit;
}

export function openLimits(db: Db, clock: () => Date): Limits {
  const limit = (rule: AttemptRule) => new AttemptLimit(db, clock, rule);
  return {
    signIn: limit({ name: 'sign-in', allowed: 10, seconds: 600 }),
    signInFrom: limit({ name: 'sign-in-from', allowed: 100, seconds: 600 }),
    passphrase: limit({ name: 'passphrase', allowed: 10, seconds: 600 }),
    secondFactor: limit({ name: 'second-factor', allowed: 10, seconds: 600 }),
    link: limit({ name: 'link', allowed: 20, seconds: 600 }),
    // A million tries lead to half of all slips: at this pace that is years.
    slip: limit({ name: 'slip', allowed: 10, seconds: 3600 }),
    // The twentieth wrong code within a minute is refused, whatever it is.
    join: limit({
      name: 'join',
      allowed: 19,
      seconds: 60,
      inTurn: true,
      otherwise: '; a QR link still works',
    }),
    seats: limit({
      name: 'seats',
      allowed: 6,
      seconds: 15,
      refusal: 'seats-too-fast',
      says: 'Many sat down from here just now.',
    }),
  };
}

/** Is it the machine itself, or a program beside the server such as a proxy that forwards nobody's address? */
export function isOwnMachine(address: string): boolean {
  const network = networkOf(address);
  return network.startsWith('127.') || address === '::1';
}

/** Who calls, for counting: an IPv4 address, or the /64 that an IPv6 address shares with its whole household. */
export function networkOf(address: string): string {
  const mapped = /^::ffff:(\d+\.\d+\.\d+\.\d+)$/i.exec(address)?.[1];
  if (mapped !== undefined) return mapped;
  if (!isIPv6(address)) return address;
  const [head = '', tail] = (address.split('%')[0] ?? '').split('::');
  const left = head.split(':').filter(Boolean);
  const right = (tail ?? '').split(':').filter(Boolean);
  const zeros = tail === undefined ? 0 : Math.max(0, 8 - left.length - right.length);
  const groups = [...left, ...Array<string>(zeros).fill('0'), ...right].slice(0, 4);
  return `${groups.map((group) => Number.parseInt(group, 16).toString(16)).join(':')}::/64`;
}
