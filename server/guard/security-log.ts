import type { FastifyBaseLogger } from 'fastify';

/** What an operator should hear of without asking. */
export type SecurityEvent =
  | 'sign-in-failed'
  | 'sign-in-ended'
  | 'too-many-attempts'
  | 'invitation-made'
  | 'invitation-accepted'
  | 'invitation-revoked'
  | 'member-removed'
  | 'passphrase-changed'
  | 'second-factor-added'
  | 'second-factor-removed'
  | 'second-factor-refused'
  | 'recovery-code-used'
  | 'recovery-codes-drawn'
  | 'role-refused'
  | 'foreign-request'
  | 'key-read'
  | 'seat-handed-over'
  | 'desk-offered';

/** Ids, names of accounts, roles, routes and addresses; never what opens something. */
export type SecurityFacts = Readonly<Record<string, string | number | null>>;

const TOLD_A_MINUTE = 10;
const MINUTE_MS = 60_000;

interface Minute {
  told: number;
  more: number;
}

/**
 * Tells the log of what concerns security, at the level that is on by default. Of each kind some lines a minute are
 * written and the rest is counted, so that whoever guesses cannot fill the disk.
 */
export class SecurityLog {
  readonly #log: Pick<FastifyBaseLogger, 'warn'>;
  readonly #minutes = new Map<SecurityEvent, Minute>();
  readonly #timer: NodeJS.Timeout;

  constructor(log: Pick<FastifyBaseLogger, 'warn'>) {
    this.#log = log;
    this.#timer = setInterval(() => this.tellRest(), MINUTE_MS);
    this.#timer.unref();
  }

  note(security: SecurityEvent, facts: SecurityFacts): void {
    const minute = this.#minutes.get(security) ?? { told: 0, more: 0 };
    this.#minutes.set(security, minute);
    if (minute.told >= TOLD_A_MINUTE) {
      minute.more += 1;
      return;
    }
    minute.told += 1;
    this.#log.warn({ security, ...facts }, security.replaceAll('-', ' '));
  }

  /** The minute is over: what was only counted is told. */
  tellRest(): void {
    for (const [security, { more }] of this.#minutes) {
      if (more > 0)
        this.#log.warn(
          { security, more },
          `${security.replaceAll('-', ' ')}, ${more} times more in this minute`,
        );
    }
    this.#minutes.clear();
  }

  close(): void {
    clearInterval(this.#timer);
    this.tellRest();
  }
}
