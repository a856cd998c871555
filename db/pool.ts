import pg from 'pg';

/** How long each step may take before a request is told to come again. */
export interface PoolBounds {
  /** Connections at the same time. */
  connections: number;
  /** Waiting for a connection, or for a new one to be made. */
  acquireMs: number;
  /** Waiting for a row that somebody else holds; told by the database. */
  lockMs: number;
  /** One statement at work; told by the database. */
  statementMs: number;
  /** Waiting for the answer to one statement; told without the database, which may be frozen. */
  answerMs: number;
  /** An open transaction whose process says nothing more: the database takes its locks away. */
  silenceMs: number;
}

// Acquiring and then waiting for a row stays below the 15 s a tablet waits, so that it hears why. A single statement
// takes well below a second here; ten leave room for a small machine with a slow disk.
const BOUNDS: PoolBounds = {
  connections: 20,
  acquireMs: 8_000,
  lockMs: 5_000,
  statementMs: 10_000,
  answerMs: 12_000,
  silenceMs: 30_000,
};

/** Connections on which nothing waits without limit, and of which none ends the process when it breaks. */
export function openPool(databaseUrl: string, bounds: Partial<PoolBounds> = {}): pg.Pool {
  const { connections, acquireMs, lockMs, statementMs, answerMs, silenceMs } = { ...BOUNDS, ...bounds };
  const pool = new pg.Pool({
    connectionString: databaseUrl,
    application_name: 'oddglass',
    max: connections,
    connectionTimeoutMillis: acquireMs,
    lock_timeout: lockMs,
    statement_timeout: statementMs,
    query_timeout: answerMs,
    idle_in_transaction_session_timeout: silenceMs,
    keepAlive: true,
  });
  // An idle connection that breaks is replaced by the pool. Of one in use the pool says nothing: who uses it hears of
  // it by the statement that fails. Either event, unheard, would end the process.
  pool.on('error', () => undefined);
  pool.on('connect', (client) => client.on('error', () => undefined));
  return pool;
}

// Class 08, 53300, 57P01 to 57P05: no connection, or the server ended it; 55P03, 57014, 25P03, 25P04: one of the
// bounds above was reached. The others are the socket's and the resolver's.
const AWAY =
  /^(08\w{3}|53300|57P0[1-5]|55P03|57014|25P0[34]|ECONNREFUSED|ECONNRESET|ECONNABORTED|EPIPE|ETIMEDOUT|EHOSTUNREACH|ENETUNREACH|ENOTFOUND|EAI_AGAIN)$/;
// What pg and its pool say without a code.
const AWAY_WORDS =
  /Connection terminated|timeout exceeded when trying to connect|timeout expired|Query read timeout|Client was closed|Client has encountered a connection error/;

/** Is this error the database's being away or held up, so that the same request may go through a little later? */
export function databaseIsAway(error: unknown): boolean {
  for (let cause = error, depth = 0; cause instanceof Error && depth < 5; cause = cause.cause, depth++) {
    const code = 'code' in cause && typeof cause.code === 'string' ? cause.code : '';
    if (AWAY.test(code) || AWAY_WORDS.test(cause.message)) return true;
  }
  return false;
}
