import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import type { SessionEvent } from '@oddglass/shared/contracts/live.ts';
import pg from 'pg';
import type { Outage } from '../refusal/outage.ts';

interface Channel {
  /** Newest event this process has told its listeners. */
  seq: number;
  listeners: Set<(events: SessionEvent[]) => void>;
  reading: Promise<void> | null;
  again: boolean;
}

const CHANNEL = 'oddglass_session';
// A NOTIFY in the transaction of a fact would take a global lock at every commit; a few a second by a connection
// outside of it carry the same news.
const NOTIFY_EVERY_MS = 100;
const POLL_EVERY_MS = 1_000;
const RELISTEN_AFTER_MS = 250;
const RELISTEN_AT_MOST_MS = 4_000;
const ANSWER_MS = 8_000;
// A NOTIFY payload stays below 8,000 bytes; an id takes 37.
const IDS_PER_NOTIFY = 200;

/**
 * Tells listeners of this process what was appended to a session's log, by any process.
 * Three ways lead here: touched by an own transaction, a NOTIFY of another process, and a slow poll as the safety net.
 * Every event is read from the log, in order, so that none is lost whichever way was broken.
 */
export class LiveHub {
  readonly #pool: pg.Pool;
  readonly #databaseUrl: string;
  readonly #outage: Outage;
  readonly #channels = new Map<string, Channel>();
  readonly #dirty = new Set<string>();
  readonly #nudged = new Map<string, Set<() => void>>();
  #listening: pg.Client | null = null;
  #timers: NodeJS.Timeout[] = [];
  #notifying = false;
  #polling = false;
  #closed = false;

  constructor(options: { pool: pg.Pool; databaseUrl: string; outage: Outage }) {
    this.#pool = options.pool;
    this.#databaseUrl = options.databaseUrl;
    this.#outage = options.outage;
  }

  async start(): Promise<void> {
    await this.#listen();
    this.#timers.push(setInterval(() => void this.#notify(), NOTIFY_EVERY_MS));
    this.#timers.push(setInterval(() => void this.#poll(), POLL_EVERY_MS));
    for (const timer of this.#timers) timer.unref();
  }

  async close(): Promise<void> {
    this.#closed = true;
    for (const timer of this.#timers) clearInterval(timer);
    await this.#notify();
    const listening = this.#listening;
    this.#listening = null;
    await listening?.end().catch(() => undefined);
  }

  /** A transaction of ours wrote to this session's log and is on disk. */
  touch(sessionId: string): void {
    this.#dirty.add(sessionId);
    this.#wake(sessionId);
  }

  /**
   * Hears every event from the moment of the call on. `seq` tells where the channel stood; what lies before
   * has to be read from the log by the caller, who drops what arrives twice.
   */
  listen(sessionId: string, listener: (events: SessionEvent[]) => void, seq: number): () => void {
    let channel = this.#channels.get(sessionId);
    if (!channel) {
      channel = { seq, listeners: new Set(), reading: null, again: false };
      this.#channels.set(sessionId, channel);
    }
    channel.listeners.add(listener);
    this.#wake(sessionId);
    return () => {
      channel.listeners.delete(listener);
      if (channel.listeners.size === 0 && this.#channels.get(sessionId) === channel)
        this.#channels.delete(sessionId);
    };
  }

  /** Calls whoever waits for what the log does not tell. Other processes do not hear of it. */
  nudge(sessionId: string): void {
    for (const listener of this.#nudged.get(sessionId) ?? []) listener();
  }

  onNudge(sessionId: string, listener: () => void): () => void {
    const listeners = this.#nudged.get(sessionId) ?? new Set();
    this.#nudged.set(sessionId, listeners);
    listeners.add(listener);
    return () => {
      listeners.delete(listener);
      if (listeners.size === 0 && this.#nudged.get(sessionId) === listeners) this.#nudged.delete(sessionId);
    };
  }

  #wake(sessionId: string): void {
    const channel = this.#channels.get(sessionId);
    if (!channel) return;
    if (channel.reading) {
      channel.again = true;
      return;
    }
    channel.reading = this.#read(sessionId, channel)
      // The poll tries again.
      .catch((error: unknown) => this.#outage.note(error))
      .finally(() => {
        channel.reading = null;
        if (channel.again) {
          channel.again = false;
          this.#wake(sessionId);
        }
      });
  }

  async #read(sessionId: string, channel: Channel): Promise<void> {
    const events = await listEvents(openDb(this.#pool), sessionId, channel.seq);
    const newest = events.at(-1);
    if (!newest) return;
    channel.seq = newest.seq;
    for (const listener of channel.listeners) listener(events);
  }

  async #notify(): Promise<void> {
    // Against a database that does not answer, one waits and the others would only queue up behind it.
    if (this.#dirty.size === 0 || this.#notifying) return;
    this.#notifying = true;
    const ids = [...this.#dirty];
    this.#dirty.clear();
    try {
      for (let start = 0; start < ids.length; start += IDS_PER_NOTIFY) {
        await this.#pool.query('select pg_notify($1, $2)', [
          CHANNEL,
          ids.slice(start, start + IDS_PER_NOTIFY).join(' '),
        ]);
      }
    } catch (error) {
      // Other processes hear by their poll.
      this.#outage.note(error);
    } finally {
      this.#notifying = false;
    }
  }

  async #poll(): Promise<void> {
    const ids = [...this.#channels.keys()];
    if (ids.length === 0 || this.#polling) return;
    this.#polling = true;
    try {
      const { rows } = await this.#pool.query<{ id: string; last_seq: number }>(
        'select id, last_seq from session where id = any($1)',
        [ids],
      );
      for (const row of rows) {
        if (row.last_seq > (this.#channels.get(row.id)?.seq ?? Infinity)) this.#wake(row.id);
      }
    } catch (error) {
      this.#outage.note(error);
    } finally {
      this.#polling = false;
    }
  }

  /** One connection that listens, or the error that kept it from it. */
  async #listen(): Promise<void> {
    const client = new pg.Client({
      connectionString: this.#databaseUrl,
      application_name: 'oddglass-live',
      connectionTimeoutMillis: ANSWER_MS,
      query_timeout: ANSWER_MS,
      keepAlive: true,
    });
    let over = false;
    const end = (): void => {
      if (over) return;
      over = true;
      client.removeAllListeners('notification');
      void client.end().catch(() => undefined);
      if (this.#listening !== client) return;
      this.#listening = null;
      this.#relisten(0);
    };
    client.on('error', end);
    client.on('end', end);
    client.on('notification', ({ payload }) => {
      for (const id of payload?.split(' ') ?? []) this.#wake(id);
    });
    try {
      await client.connect();
      await client.query(`listen ${CHANNEL}`);
      if (over) throw new Error('Connection terminated');
    } catch (error) {
      end();
      throw error;
    }
    if (this.#closed) return end();
    this.#listening = client;
    // What was written while nobody listened.
    for (const id of this.#channels.keys()) this.#wake(id);
  }

  #relisten(failures: number): void {
    if (this.#closed) return;
    setTimeout(
      () => {
        if (this.#closed) return;
        this.#listen().catch((error: unknown) => {
          this.#outage.note(error);
          this.#relisten(failures + 1);
        });
      },
      Math.min(RELISTEN_AFTER_MS * 2 ** failures, RELISTEN_AT_MOST_MS),
    ).unref();
  }
}
