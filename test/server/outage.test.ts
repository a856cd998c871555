import { once } from 'node:events';
import { connect } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { openDb } from '@oddglass/db/client.ts';
import { databaseIsAway, openPool, type PoolBounds } from '@oddglass/db/pool.ts';
import { lockSession } from '@oddglass/db/queries/session.ts';
import { buildApp } from '@oddglass/server/app.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { FastifyInstance } from 'fastify';
import pg from 'pg';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { draft, firstHost, moved, newTrial, seated, type Answer, type Caller } from '../support/app.ts';
import { createTestDatabase, type TestDatabase } from '../support/database.ts';
import { ballotFor } from '../support/factories.ts';
import { Wire } from '../support/wire.ts';

// The database goes away in the middle of a statement, does not answer, or has no connection left: whoever asked is
// told to come again, the process goes on, and a ballot sent twice is stored once.

const BOUNDS: Partial<PoolBounds> = { connections: 4, acquireMs: 2_000, lockMs: 5_000, answerMs: 8_000 };

type Ballot = ReturnType<typeof ballotFor>;

let database: TestDatabase;
let wire: Wire;
let pool: pg.Pool;
let app: FastifyInstance;
let outside: pg.Client;
let open: SessionView;
let tablets: Caller[];
let log: { level: number; msg: string }[];
let uncaught: unknown[];
const onUncaught = (error: unknown): void => void uncaught.push(error);

async function start(bounds: Partial<PoolBounds> = {}): Promise<void> {
  pool = openPool(wire.url, { ...BOUNDS, ...bounds });
  const stream = {
    write: (line: string) => void log.push(JSON.parse(line) as { level: number; msg: string }),
  };
  app = await buildApp({ pool, databaseUrl: wire.url, logger: { level: 'warn', stream } });
  const host = await firstHost(app);
  open = await moved(host, await draft(host, await newTrial(host), { assessors: 6 }), 'seal', 'open');
  tablets = await Promise.all([1, 2, 3, 4, 5, 6].map((seat) => seated(app, open, seat)));
  // Who came in is told too, and is not what these look at.
  log.length = 0;
}

beforeEach(async () => {
  log = [];
  uncaught = [];
  process.on('uncaughtException', onUncaught);
  database = await createTestDatabase();
  wire = await Wire.to(database.url);
  outside = new pg.Client({ connectionString: database.url });
  outside.on('error', () => undefined);
  await outside.connect();
});

afterEach(async () => {
  process.off('uncaughtException', onUncaught);
  await outside.end();
  wire.restore();
  wire.thaw();
  await app.close();
  await pool.end();
  await wire.close();
  await database.drop();
});

async function firstBallot(tablet: Caller): Promise<Ballot> {
  const [tray] = (await tablet.ok<SeatView>('GET', '/api/seat')).trays;
  return ballotFor(tray!, tray!.servings[0]!.code);
}

const send = (tablet: Caller, ballot: Ballot) => tablet.call('POST', '/api/seat/ballots', ballot);

async function holdSession(): Promise<void> {
  await outside.query('begin');
  await outside.query('select 1 from session where id = $1 for update', [open.id]);
}

/** Backends of this test's database that wait for a lock. */
async function waiting(count: number): Promise<number[]> {
  for (let waited = 0; waited < 10_000; waited += 20) {
    const { rows } = await outside.query<{ pid: number }>(
      "select pid from pg_stat_activity where datname = current_database() and wait_event_type = 'Lock'",
    );
    if (rows.length >= count) return rows.map(({ pid }) => pid);
    await wait(20);
  }
  throw new Error('nobody waits for the lock');
}

function expectAway(answer: Answer<unknown>): void {
  expect(answer.status).toBe(503);
  expect(answer.headers).toMatchObject({
    'retry-after': '2',
    'content-type': 'application/problem+json; charset=utf-8',
  });
  expect(answer.body).toMatchObject({ type: '/problems/database-away', status: 503 });
}

async function stored(ballot: Ballot): Promise<number> {
  const { rows } = await outside.query<{ n: number }>('select count(*)::int as n from ballot where id = $1', [
    ballot.id,
  ]);
  return rows[0]!.n;
}

/** Every connection is back in the pool, and none in the middle of something. */
async function expectPoolWhole(): Promise<void> {
  await expect.poll(() => pool.totalCount - pool.idleCount).toBe(0);
  expect(pool.waitingCount).toBe(0);
  const { rows } = await outside.query(
    "select pid from pg_stat_activity where datname = current_database() and state like 'idle in transaction%' and pid <> pg_backend_pid()",
  );
  expect(rows).toEqual([]);
}

test('a connection that is ended in a transaction: 503, the process goes on, the ballot is stored once', async () => {
  await start();
  const ballot = await firstBallot(tablets[0]!);
  await holdSession();
  const answer = send(tablets[0]!, ballot);
  const [pid] = await waiting(1);
  await outside.query('select pg_terminate_backend($1)', [pid]);
  expectAway(await answer);
  await outside.query('rollback');
  const again = await send(tablets[0]!, ballot);
  expect(again.status).toBe(200);
  expect((await send(tablets[0]!, ballot)).body).toEqual(again.body);
  expect(await stored(ballot)).toBe(1);
  await expectPoolWhole();
  expect(uncaught).toEqual([]);
});

test('an acknowledgement lost on the way: the ballot sent again is answered with what was stored', async () => {
  await start();
  const [tablet] = tablets;
  const ballot = await firstBallot(tablet!);
  // The commit reaches the database; its answer does not come back.
  await outside.query(`
    create function slow_commit() returns trigger language plpgsql as $$ begin perform pg_sleep(2); return null; end $$;
    create constraint trigger slow after insert on ballot deferrable initially deferred
      for each row execute function slow_commit()`);
  const answer = send(tablet!, ballot);
  await expect
    .poll(async () => {
      const { rows } = await outside.query(
        "select 1 from pg_stat_activity where datname = current_database() and query = 'commit' and state = 'active'",
      );
      return rows.length;
    })
    .toBe(1);
  wire.freeze();
  await expect.poll(() => stored(ballot)).toBe(1);
  wire.cut();
  expectAway(await answer);
  wire.thaw();
  // Other connections were cut too, and one of them may be tried before its end is known.
  await expect.poll(async () => (await send(tablet!, ballot)).body).toMatchObject({ id: ballot.id });
  expect(await stored(ballot)).toBe(1);
  expect(uncaught).toEqual([]);
});

test('a database that does not answer: everybody is told in bounded time, and it goes on by itself', async () => {
  await start({ answerMs: 2_000 });
  const ballots = await Promise.all(tablets.map(firstBallot));
  await holdSession();
  const answers = tablets.slice(0, 3).map((tablet, index) => send(tablet, ballots[index]!));
  await waiting(3);
  wire.freeze();
  answers.push(...tablets.slice(3).map((tablet, index) => send(tablet, ballots[index + 3]!)));
  for (const answer of await Promise.all(answers)) expectAway(answer);
  expectAway(await tablets[0]!.call('GET', '/api/health'));
  wire.thaw();
  await outside.query('rollback');
  // Twice as many as there are connections: none was kept by a `begin` that failed.
  for (let round = 0; round < 2; round++)
    for (const [index, tablet] of tablets.entries())
      expect((await send(tablet, ballots[index]!)).status).toBe(200);
  for (const ballot of ballots) expect(await stored(ballot)).toBe(1);
  await expectPoolWhole();
  expect(uncaught).toEqual([]);
});

test('a connection that breaks before the first statement of a transaction goes back as well', async () => {
  await start();
  const ballot = await firstBallot(tablets[0]!);
  // Handed out for the first, second, third ... time in the request, and broken before a statement got through.
  const refused: number[] = [];
  for (let nth = 1; nth <= 6; nth++) {
    let count = 0;
    const cut = (): void => {
      if (++count === nth) wire.cut();
    };
    pool.on('acquire', cut);
    const answer = await send(tablets[0]!, ballot);
    pool.off('acquire', cut);
    if (answer.status === 200) continue;
    expectAway(answer);
    refused.push(nth);
  }
  expect(refused.length).toBeGreaterThan(1);
  await expect.poll(async () => (await send(tablets[0]!, ballot)).status).toBe(200);
  await expectPoolWhole();
  expect(uncaught).toEqual([]);
});

test('no connection left, or a row held too long: both are told in time, and nothing hangs after it', async () => {
  await start({ lockMs: 4_000 });
  const ballots = await Promise.all(tablets.map(firstBallot));
  await holdSession();
  const answers = tablets.slice(0, 4).map((tablet, index) => send(tablet, ballots[index]!));
  await waiting(4);
  const health = await tablets[0]!.call('GET', '/api/health');
  expectAway(health);
  for (const answer of await Promise.all(answers)) expectAway(answer);
  await outside.query('rollback');
  expect((await tablets[0]!.call('GET', '/api/health')).status).toBe(200);
  for (const [index, tablet] of tablets.entries())
    expect((await send(tablet, ballots[index]!)).status).toBe(200);
  for (const ballot of ballots) expect(await stored(ballot)).toBe(1);
  await expectPoolWhole();
});

test('a transaction that falls silent is ended, its locks with it, and its connection is not given out again', async () => {
  await start();
  // A pool of its own: what the service does in one transaction, such as sealing, may take longer on a busy machine.
  const quick = openPool(wire.url, { ...BOUNDS, silenceMs: 300 });
  let pid = 0;
  const silent = openDb(quick).transaction(async (tx) => {
    const { rows } = await tx.execute<{ pid: number }>('select pg_backend_pid() as pid');
    pid = rows[0]!.pid;
    await lockSession(tx, open.id);
    await wait(1_500);
    await lockSession(tx, open.id);
  });
  await expect(silent).rejects.toSatisfy(databaseIsAway);
  // What is ended takes a moment to be gone from the list.
  await expect
    .poll(async () => (await outside.query('select 1 from pg_stat_activity where pid = $1', [pid])).rows)
    .toEqual([]);
  await expect.poll(() => quick.totalCount).toBe(0);
  await quick.end();
  await expectPoolWhole();
  expect((await tablets[0]!.call('GET', '/api/seat')).status).toBe(200);
  expect(uncaught).toEqual([]);
});

test('a transaction that the database refuses keeps its connection', async () => {
  await start();
  const pids = await Promise.all(
    [1, 2, 3].map(async () => {
      const { rows } = await pool.query<{ pid: number }>('select pg_backend_pid() as pid');
      return rows[0]!.pid;
    }),
  );
  const refused = openDb(pool).transaction((tx) => tx.execute('select 1/0'));
  await expect(refused).rejects.toMatchObject({ cause: { code: '22012' } });
  const { rows } = await outside.query<{ pid: number }>(
    'select pid from pg_stat_activity where pid = any($1)',
    [pids],
  );
  expect(rows).toHaveLength(new Set(pids).size);
  await expectPoolWhole();
});

test('the log tells an outage by its beginning and its end, however many were refused', async () => {
  await start();
  wire.refuse();
  const answers = await Promise.all(
    Array.from({ length: 40 }, (_, index) => tablets[index % 6]!.call('GET', '/api/seat')),
  );
  answers.forEach(expectAway);
  await wait(1_500);
  expect(log.map(({ msg }) => msg)).toEqual([expect.stringContaining('the database is away')]);
  wire.restore();
  await expect.poll(() => log.at(-1), { timeout: 15_000 }).toMatchObject({ msg: 'the database is back' });
  expect(log).toHaveLength(2);
  expect(log[1]).toMatchObject({ failures: expect.any(Number) });
  expect((await tablets[0]!.call('GET', '/api/seat')).status).toBe(200);
});

test('a request that comes while the server closes is told so, and the one in hand is still answered', async () => {
  await start();
  const ballot = await firstBallot(tablets[0]!);
  const address = await app.listen({ port: 0, host: '127.0.0.1' });
  await holdSession();
  const socket = connect(Number(new URL(address).port), '127.0.0.1');
  let said = '';
  socket.on('data', (data) => (said += String(data)));
  const body = JSON.stringify(ballot);
  const head = `Host: localhost\r\nAuthorization: Bearer ${tablets[0]!.seatToken}\r\n`;
  const json = `Content-Type: application/json\r\nContent-Length: ${body.length}\r\n`;
  socket.write(`POST /api/seat/ballots HTTP/1.1\r\n${head}${json}\r\n${body}`);
  await waiting(1);
  const closed = app.close();
  await expect.poll(() => app.server.listening).toBe(false);
  // A second request on the way that is open already.
  socket.write(`GET /api/seat HTTP/1.1\r\n${head}\r\n`);
  await wait(200);
  await outside.query('rollback');
  await once(socket, 'close');
  await closed;
  const [first = '', second = ''] = said.split(/(?=HTTP\/1\.1 )/);
  expect(first).toMatch(/^HTTP\/1\.1 200 /);
  expect(second).toMatch(/^HTTP\/1\.1 503 /);
  expect(second).toMatch(/\r\nretry-after: 2\r\n/i);
  expect(second).toMatch(/\r\ncontent-type: application\/problem\+json/i);
  expect(second).toContain('"/problems/closing"');
  expect(await stored(ballot)).toBe(1);
});
