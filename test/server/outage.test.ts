import { connect } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { buildApp } from '@oddglass/server/app.ts';
import { Analyst } from '@oddglass/server/analyst/analyst.ts';
import { openPool } from '@oddglass/db/pool.ts';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import pg from 'pg';
import { afterEach, beforeEach, expect, test } from 'vitest';
import {
  draft,
  firstHost,
  moved,
  newTrial,
  seated,
  startServer,
  type Caller,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor } from '../support/factories.ts';

// A connection that breaks under a request refuses that request and nothing else: the process stays, what was
// acknowledged is stored, and what was not may be sent again.

let server: TestServer;
let host: Hosted;
let open: SessionView;
let tablet: Caller;
let outside: pg.Client;
/** Errors that would have ended the process. */
let unheard: unknown[];
const hear = (error: unknown): number => unheard.push(error);

beforeEach(async () => {
  unheard = [];
  process.on('uncaughtException', hear);
  server = await startServer();
  host = await firstHost(server.app);
  open = await moved(host, await draft(host, await newTrial(host), { assessors: 3 }), 'seal', 'open');
  tablet = await seated(server.app, open, 1);
  outside = new pg.Client({ connectionString: server.database.url });
  outside.on('error', () => undefined);
  await outside.connect();
});
afterEach(async () => {
  await outside.end();
  await server.close();
  process.off('uncaughtException', hear);
});

/** Waits until a statement of another connection stands at a lock. */
async function somebodyWaits(): Promise<void> {
  for (let tries = 0; tries < 500; tries++) {
    const { rows } = await outside.query(
      `select pid from pg_stat_activity where datname = current_database() and wait_event_type = 'Lock'`,
    );
    if (rows.length > 0) return;
    await wait(10);
  }
  throw new Error('nobody waits for the lock');
}

const terminateOthers = (): Promise<unknown> =>
  outside.query(
    `select pg_terminate_backend(pid) from pg_stat_activity where datname = current_database() and pid <> pg_backend_pid()`,
  );

/** As a tablet does: other connections of the pool may have been ended too, and not be missed yet. */
async function sentUntilAnswered(ballot: unknown): Promise<unknown> {
  for (let tries = 0; tries < 20; tries++) {
    const { status, body } = await tablet.call('POST', '/api/seat/ballots', ballot);
    if (status === 200) return body;
    expect(status).toBe(503);
    await wait(20);
  }
  throw new Error('never answered');
}

async function firstBallot(): Promise<ReturnType<typeof ballotFor>> {
  const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
  const [tray] = trays;
  if (!tray) throw new Error('no tray');
  return ballotFor(tray, tray.servings[0]?.code ?? '');
}

test('a connection lost inside a transaction refuses that ballot, and the same ballot counts once afterwards', async () => {
  const ballot = await firstBallot();
  await outside.query('begin');
  await outside.query('select 1 from session where id = $1 for update', [open.id]);
  const sending = tablet.call('POST', '/api/seat/ballots', ballot);
  await somebodyWaits();
  await terminateOthers();
  const refused = await sending;
  expect(refused).toMatchObject({ status: 503, body: { type: '/problems/database-away' } });
  expect(Number(refused.headers['retry-after'])).toBeGreaterThan(0);
  await outside.query('rollback');
  const first = await sentUntilAnswered(ballot);
  const again = await sentUntilAnswered(ballot);
  expect(again).toEqual(first);
  const { rows } = await outside.query('select count(*)::int as ballots from ballot');
  expect(rows).toEqual([{ ballots: 1 }]);
  expect(unheard).toEqual([]);
});

test('all connections lost while nobody uses them: the next request is answered', async () => {
  await terminateOthers();
  await wait(50);
  const answers = await Promise.all(Array.from({ length: 12 }, () => tablet.call('GET', '/api/seat')));
  expect(answers.every(({ status }) => status === 200 || status === 503)).toBe(true);
  for (let tries = 0; tries < 20 && (await tablet.call('GET', '/api/seat')).status !== 200; tries++)
    await wait(20);
  expect((await tablet.call('GET', '/api/seat')).status).toBe(200);
  expect(unheard).toEqual([]);
});

test('a session held by somebody else is told as busy, and other sessions go on', async () => {
  const pool = openPool({ connectionString: server.database.url, max: 3, lockMs: 200 });
  const hasty = await startServer({ pool, databaseUrl: server.database.url });
  try {
    const ballot = await firstBallot();
    await outside.query('begin');
    await outside.query('select 1 from session where id = $1 for update', [open.id]);
    const { statusCode, headers, payload } = await hasty.app.inject({
      method: 'POST',
      url: '/api/seat/ballots',
      headers: { authorization: `Bearer ${tablet.seatToken}` },
      payload: ballot,
    });
    expect(statusCode).toBe(503);
    expect(JSON.parse(payload)).toMatchObject({ type: '/problems/busy' });
    expect(headers['retry-after']).toBe('2');
    expect((await hasty.app.inject('/api/health')).statusCode).toBe(200);
    await outside.query('rollback');
    expect((await tablet.call('POST', '/api/seat/ballots', ballot)).status).toBe(200);
  } finally {
    await hasty.close();
    await pool.end();
  }
});

test('with no connection free a request is refused in bounded time, and answered once one is', async () => {
  const pool = openPool({ connectionString: server.database.url, max: 1, acquireMs: 200 });
  const full = await startServer({ pool, databaseUrl: server.database.url });
  try {
    const taken = await pool.connect();
    const refused = await full.app.inject('/api/health');
    expect(refused.statusCode).toBe(503);
    expect(refused.headers['retry-after']).toBe('2');
    taken.release();
    expect((await full.app.inject('/api/health')).statusCode).toBe(200);
  } finally {
    await full.close();
    await pool.end();
  }
});

test('a database that says nothing is given up, and the connection with it', async () => {
  const pool = openPool({
    connectionString: server.database.url,
    max: 1,
    statementMs: 60_000,
    silenceMs: 200,
  });
  try {
    await expect(pool.query('select pg_sleep(30)')).rejects.toThrow(
      /Query read timeout|Connection terminated/,
    );
    // The only connection would still sleep: this one is new.
    expect((await pool.query('select 1 as one')).rows).toEqual([{ one: 1 }]);
    const client = await pool.connect();
    await expect(client.query('select pg_sleep(30)')).rejects.toThrow('Query read timeout');
    client.release();
    expect((await pool.query('select 1 as one')).rows).toEqual([{ one: 1 }]);
    expect(unheard).toEqual([]);
  } finally {
    await pool.end();
    await outside.query(
      `select pg_terminate_backend(pid) from pg_stat_activity where query like 'select pg_sleep%'`,
    );
  }
});

test('boards hear again after their listening connection was ended', async () => {
  const listening = `select pid from pg_stat_activity
    where datname = current_database() and application_name = 'oddglass listening'`;
  const before = (await outside.query<{ pid: number }>(listening)).rows;
  expect(before.length).toBe(1);
  await outside.query('select pg_terminate_backend($1)', [before[0]?.pid]);
  for (let tries = 0; tries < 500; tries++) {
    const now = (await outside.query<{ pid: number }>(listening)).rows;
    if (now.length === 1 && now[0]?.pid !== before[0]?.pid) break;
    await wait(20);
  }
  const heard: string[] = [];
  const { last_seq: seq } = (
    await outside.query<{ last_seq: number }>('select last_seq from session where id = $1', [open.id])
  ).rows[0] ?? { last_seq: 0 };
  // Another process's news comes by NOTIFY alone: this app has no board of the session yet.
  const socket = await server.app.injectWS(`/api/sessions/${open.id}/live?after=${seq}`, {
    headers: { cookie: host.caller.cookie ?? '' },
  });
  socket.on('message', (data) => heard.push(String(data)));
  await tablet.ok('POST', '/api/seat/ballots', await firstBallot());
  for (let tries = 0; tries < 500 && !heard.some((text) => text.includes('ballot-received')); tries++)
    await wait(20);
  expect(heard.some((text) => text.includes('ballot-received'))).toBe(true);
  socket.terminate();
  expect(unheard).toEqual([]);
});

const thread = (source: string): URL => new URL(`data:text/javascript,${encodeURIComponent(source)}`);
const input = {} as SessionInput;

test('an analysis thread that dies is replaced: its result is tried again, those behind it are worked out', async () => {
  const dying = new Analyst({
    thread: thread(`
      import { parentPort, threadId } from 'node:worker_threads';
      parentPort.on('message', ({ input }) => {
        if (input.poison) process.exit(3);
        parentPort.postMessage({ document: { thread: threadId }, gaps: [] });
      });`),
  });
  try {
    const [poisoned, first, second] = await Promise.allSettled([
      dying.analyse({ poison: true } as unknown as SessionInput),
      dying.analyse(input),
      dying.analyse(input),
    ]);
    expect(poisoned).toMatchObject({ status: 'rejected', reason: { kind: 'analysis-away', status: 503 } });
    expect([first?.status, second?.status]).toEqual(['fulfilled', 'fulfilled']);
  } finally {
    await dying.close();
  }
});

test('a result that does not come to an end is given up, and the next one is worked out', async () => {
  const endless = new Analyst({
    limitMs: 300,
    thread: thread(`
      import { parentPort } from 'node:worker_threads';
      parentPort.on('message', ({ input }) => {
        if (input.endless) for (;;);
        parentPort.postMessage({ document: {}, gaps: [] });
      });`),
  });
  try {
    const [lost, next] = await Promise.allSettled([
      endless.analyse({ endless: true } as unknown as SessionInput),
      endless.analyse(input),
    ]);
    expect(lost).toMatchObject({ status: 'rejected', reason: { kind: 'analysis-away' } });
    expect(next?.status).toBe('fulfilled');
  } finally {
    await endless.close();
  }
});

test('what comes while the server stops is refused as a problem that says when to try again', async () => {
  const app = await buildApp({ pool: server.database.pool, databaseUrl: server.database.url });
  const address = new URL(await app.listen({ port: 0, host: '127.0.0.1' }));
  // On its way when the stop begins: the last line of the request comes after.
  const socket = connect(Number(address.port), '127.0.0.1');
  let answer = '';
  socket.on('data', (data) => (answer += String(data)));
  socket.write('GET /api/health HTTP/1.1\r\nHost: oddglass\r\n');
  await wait(50);
  const closing = app.close();
  await wait(20);
  socket.write('\r\n');
  await new Promise((resolve) => socket.once('close', resolve));
  await closing;
  expect(answer).toMatch(/^HTTP\/1\.1 503 /);
  expect(answer).toMatch(/retry-after: 2\r\n/i);
  expect(answer).toContain('application/problem+json');
  expect(answer).toContain('/problems/stopping');
});

test('an outage is logged by the minute, not by the request', async () => {
  const log: string[] = [];
  const now = { at: new Date('2031-03-04T18:00:00Z') };
  const pool = openPool({ connectionString: 'postgres://nobody@127.0.0.1:1/none', max: 2 });
  const app = await buildApp({
    pool: server.database.pool,
    databaseUrl: server.database.url,
    clock: () => now.at,
    logger: { level: 'warn', stream: { write: (line: string) => void log.push(line) } },
  });
  const outages = () => log.filter((line) => line.includes('requests are refused')).length;
  server.database.pool.query = pool.query.bind(pool) as typeof pool.query;
  for (let request = 0; request < 50; request++)
    expect((await app.inject('/api/health')).statusCode).toBe(503);
  expect(outages()).toBe(1);
  now.at = new Date('2031-03-04T18:01:01Z');
  await app.inject('/api/health');
  expect(outages()).toBe(2);
  expect(log.join('')).toContain('"times":50');
  await app.close();
  await pool.end();
});
