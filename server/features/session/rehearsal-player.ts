import type { Db } from '@oddglass/db/client.ts';
import { findSession, setRehearsal, type Session } from '@oddglass/db/queries/session.ts';
import type { RehearsalRecord } from '@oddglass/shared/contracts/rehearsal.ts';
import type { FastifyBaseLogger } from 'fastify';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { playEvening, type Send } from './rehearsal-evening.ts';

interface Running {
  panelId: string;
  controller: AbortController;
  /** Over when everybody has left the table. */
  over: Promise<void>;
}

/**
 * Plays rehearsals in this process, one at a time for each panel. What it does not finish because the process ends stays
 * marked as being played, which whoever reads it takes for interrupted.
 */
export class PanelPlayer {
  readonly #deps: Deps;
  readonly #send: Send;
  readonly #log: FastifyBaseLogger;
  readonly #running = new Map<string, Running>();
  #closing = false;

  constructor({ deps, send, log }: { deps: Deps; send: Send; log: FastifyBaseLogger }) {
    this.#deps = deps;
    this.#send = send;
    this.#log = log;
  }

  plays(sessionId: string): boolean {
    return this.#running.has(sessionId);
  }

  /** Marks it as being played, under the lock of the session; `go` starts it once that is on disk. */
  async begin(tx: Db, session: Session): Promise<void> {
    if (!session.rehearsal) throw problem('wrong-state');
    const busy = [...this.#running.values()].some(({ panelId }) => panelId === session.panelId);
    if (busy || this.#closing) throw problem(busy ? 'rehearsal-plays' : 'closing');
    this.#running.set(session.id, {
      panelId: session.panelId,
      controller: new AbortController(),
      over: Promise.resolve(),
    });
    try {
      await setRehearsal(tx, session.id, { ...session.rehearsal, play: 'playing' });
    } catch (reason) {
      this.#running.delete(session.id);
      throw reason;
    }
  }

  go(sessionId: string): void {
    const running = this.#running.get(sessionId);
    if (running) running.over = this.#play(sessionId, running.controller.signal);
  }

  /** It was begun, and never came to be on disk. */
  forget(sessionId: string): void {
    this.#running.delete(sessionId);
  }

  async stop(sessionId: string): Promise<void> {
    const running = this.#running.get(sessionId);
    running?.controller.abort();
    await running?.over;
  }

  async close(): Promise<void> {
    this.#closing = true;
    await Promise.all([...this.#running.keys()].map((sessionId) => this.stop(sessionId)));
  }

  async #play(sessionId: string, signal: AbortSignal): Promise<void> {
    let play: RehearsalRecord['play'] = 'stopped';
    const note = (err: unknown): void => this.#log.warn({ err }, 'a simulated person was turned away');
    try {
      const session = await findSession(this.#deps.db, sessionId);
      const done = session && (await playEvening(this.#deps, { send: this.#send, note }, session, signal));
      if (done) play = 'played';
    } catch (err) {
      this.#log.warn({ err }, 'playing a rehearsal failed');
    }
    // A process that ends leaves the mark: nobody came to an end here.
    if (!this.#closing) await this.#mark(sessionId, play);
    this.#running.delete(sessionId);
  }

  async #mark(sessionId: string, play: RehearsalRecord['play']): Promise<void> {
    try {
      const session = await findSession(this.#deps.db, sessionId);
      if (session?.rehearsal) await setRehearsal(this.#deps.db, sessionId, { ...session.rehearsal, play });
    } catch (err) {
      this.#log.warn({ err }, 'a rehearsal could not be marked as over');
    }
  }
}
