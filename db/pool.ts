import pg from 'pg';

export interface PoolOptions {
  connectionString: string;
  /** Connections at the most; who finds none free waits for one. */
  max: number;
  /** How long a request waits for a free connection before it is refused. */
  acquireMs?: number;
  /** How long a statement may wait for a row that somebody else has locked. */
  lockMs?: number;
  /** How long one statement may take on the server. */
  statementMs?: number;
  /** How long an answer of the server is waited for: longer than a statement may take, so that only silence exceeds it. */
  silenceMs?: number;
}

/**
 * The pool all queries go through. A connection that breaks, in use or idle, fails the statements on it and is replaced:
 * unheard, its event would end the process. Nothing is waited for without limit: a database that is stopped in its tracks
 * keeps its connections open and says nothing, so a statement without an answer ends its connection.
 */
export function openPool({
  connectionString,
  max,
  acquireMs = 10_000,
  lockMs = 8_000,
  statementMs = 15_000,
  silenceMs = 20_000,
}: PoolOptions): pg.Pool {
  const pool = new pg.Pool({
    connectionString,
    max,
    connectionTimeoutMillis: acquireMs,
    lock_timeout: lockMs,
    statement_timeout: statementMs,
    query_timeout: silenceMs,
    // Drawing a plan holds a session for seconds; a process that hangs must not hold it for good.
    idle_in_transaction_session_timeout: 60_000,
    keepAlive: true,
    application_name: 'oddglass',
  });
  pool.on('error', () => undefined);
  pool.on('connect', (client) => {
    client.on('error', () => undefined);
    endWhenSilent(client);
  });
  return pool;
}

/**
 * Ends a connection whose server gave no answer in time: what is still under way on it belongs to nobody. Told only once it
 * has ended, so that the pool replaces it. Both ways of asking are heard, a promise and the callback of the pool itself.
 */
function endWhenSilent(client: pg.PoolClient): void {
  const ask = client.query.bind(client) as (...given: unknown[]) => unknown;
  const onceEnded = async (error: unknown): Promise<void> => {
    if (!(error instanceof Error) || error.message !== 'Query read timeout') return;
    // Not by events.once: the error that comes first would reject it.
    const ended = new Promise((resolve) => client.once('end', resolve));
    (client as pg.PoolClient & { connection: pg.Connection }).connection.stream.destroy();
    await ended;
  };
  const watched = (...given: unknown[]): unknown => {
    const callback = given.at(-1);
    if (typeof callback === 'function') {
      const tell = callback as (error: unknown, result: unknown) => void;
      return ask(...given.slice(0, -1), (error: unknown, result: unknown) => {
        void onceEnded(error).finally(() => tell(error, result));
      });
    }
    const answer = ask(...given);
    if (!(answer instanceof Promise)) return answer;
    return answer.catch(async (error: unknown) => {
      await onceEnded(error);
      throw error;
    });
  };
  client.query = watched as typeof client.query;
}
