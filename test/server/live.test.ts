import { setTimeout as wait } from 'node:timers/promises';
import { buildApp } from '@oddglass/server/app.ts';
import {
  benchMessage,
  pulse,
  seatMessage,
  type BenchMessage,
  type SeatMessage,
} from '@oddglass/shared/contracts/live.ts';
import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { MoveOffer, SessionView } from '@oddglass/shared/contracts/session.ts';
import { applyEvent } from '@oddglass/shared/rules/board.ts';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import {
  draft,
  firstHost,
  moved,
  movedTo,
  newTrial,
  seated,
  startServer,
  type Caller,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor, trianglePart } from '../support/factories.ts';
import { until } from '../support/until.ts';
import { Wire } from '../support/wire.ts';
import { openPool } from '@oddglass/db/pool.ts';

// Two server processes' worth of app on one database: whatever one takes in, the other's boards show.

let here: TestServer;
let there: FastifyInstance;
let addresses: { here: string; there: string };
let host: Hosted;
let open: SessionView;

beforeAll(async () => {
  here = await startServer();
  there = await buildApp({ pool: here.database.pool, databaseUrl: here.database.url });
  addresses = {
    here: await here.app.listen({ port: 0, host: '127.0.0.1' }),
    there: await there.listen({ port: 0, host: '127.0.0.1' }),
  };
  host = await firstHost(here.app);
  const trial = await newTrial(host);
  open = await moved(host, await draft(host, trial, { assessors: 9 }), 'seal', 'open');
});
afterAll(async () => {
  await there.close();
  await here.close();
});

class BoardClient {
  board: Board | undefined;
  readonly messages: BenchMessage[] = [];
  readonly socket: WebSocket;

  constructor(base: string, after?: number) {
    const query = after === undefined ? '' : `?after=${after}`;
    this.socket = new WebSocket(`${base.replace('http', 'ws')}/api/sessions/${open.id}/live${query}`, {
      headers: { cookie: host.caller.cookie ?? '' },
    });
    this.socket.on('message', (data) => {
      const value: unknown = JSON.parse(String(data));
      if (pulse.safeParse(value).success) return;
      const message = benchMessage.parse(value);
      this.messages.push(message);
      if (message.type === 'snapshot') this.board = message.board;
      else if (message.type === 'event' && this.board) this.board = applyEvent(this.board, message.event);
    });
  }

  async until(done: (board: Board) => boolean): Promise<Board> {
    await until(`the board is as expected: ${done}`, () => this.board !== undefined && done(this.board));
    return this.board!;
  }
}

/** Process ids of the database connections that listen for news, one of each server process. */
async function listeners(): Promise<number[]> {
  const { rows } = await here.database.pool.query<{ pid: number }>(
    `select pid from pg_stat_activity where datname = current_database() and query like 'listen %'`,
  );
  return rows.map(({ pid }) => pid);
}

/** A tablet's socket and the messages it heard, pulses aside. */
function seatSocket(base: string, tablet: Caller): { socket: WebSocket; heard: SeatMessage[] } {
  const heard: SeatMessage[] = [];
  const socket = new WebSocket(`${base.replace('http', 'ws')}/api/seat/live`, [
    'oddglass',
    `seat.${tablet.seatToken}`,
  ]);
  socket.on('message', (data) => {
    const value: unknown = JSON.parse(String(data));
    if (!pulse.safeParse(value).success) heard.push(seatMessage.parse(value));
  });
  return { socket, heard };
}

const answered = (board: Board) => board.seats.reduce((sum, seat) => sum + seat.answered, 0);

test('both processes show the same evening', async () => {
  const boards = [new BoardClient(addresses.here), new BoardClient(addresses.there)];
  for (const board of boards) await board.until(({ state }) => state === 'open');
  for (const [seat, app] of [here.app, there, here.app].entries()) {
    const tablet = await seated(app, open, seat + 1);
    const [tray] = (await tablet.ok<SeatView>('GET', '/api/seat')).trays;
    await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray!, tray!.servings[0]!.code));
  }
  const shown = await Promise.all(boards.map((board) => board.until((state) => answered(state) === 3)));
  expect(shown[0]).toEqual(shown[1]);
  const fromLog = await host.caller.ok<Board>('GET', `/api/sessions/${open.id}/board`);
  expect(shown[0]).toEqual(fromLog);
  for (const board of boards) board.socket.close();
});

test('a board that was away hears every event it missed, once and in order', async () => {
  const first = new BoardClient(addresses.here);
  const known = await first.until(() => true);
  first.socket.terminate();
  const tablets = await Promise.all([4, 5].map((seat) => seated(there, open, seat)));
  for (const tablet of tablets) {
    const [tray] = (await tablet.ok<SeatView>('GET', '/api/seat')).trays;
    for (const position of [1, 2, 3]) {
      await tablet.ok('POST', '/api/seat/progress', {
        trayNumber: 1,
        part: 1,
        sheet: 1,
        step: 'tasting',
        position,
      });
    }
    await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray!, tray!.servings[0]!.code));
  }
  const back = new BoardClient(addresses.there, known.seq);
  back.board = known;
  const board = await back.until((state) => answered(state) === 5);
  const seqs = back.messages.map((message) => (message.type === 'event' ? message.event.seq : -1));
  expect(seqs).toEqual(Array.from({ length: board.seq - known.seq }, (_, index) => known.seq + 1 + index));
  expect(board).toEqual(await host.caller.ok<Board>('GET', `/api/sessions/${open.id}/board`));
  back.socket.close();
});

test('a board survives the loss of every database connection', async () => {
  const board = new BoardClient(addresses.there);
  await board.until(() => true);
  const before = await listeners();
  expect(before).toHaveLength(2);
  await here.database.pool
    .query(
      'select pg_terminate_backend(pid) from pg_stat_activity where datname = current_database() and pid <> pg_backend_pid()',
    )
    .catch(() => undefined);
  await until('both processes listen again', async () => {
    const now = await listeners().catch(() => []);
    return now.length === 2 && !now.some((pid) => before.includes(pid));
  });
  const tablet = await seated(here.app, open, 6);
  const [tray] = (await tablet.ok<SeatView>('GET', '/api/seat')).trays;
  await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray!, tray!.servings[0]!.code));
  await board.until((state) => answered(state) === 6);
  board.socket.close();
});

/** Connections that listen, over all processes. */
async function listening(): Promise<number> {
  const { rows } = await here.database.pool.query<{ n: number }>(
    "select count(*)::int as n from pg_stat_activity where datname = current_database() and application_name = 'oddglass-live' and query ilike 'listen %'",
  );
  return rows[0]!.n;
}

test('a connection that listens and is ended, then refused, comes back by itself; the board misses nothing', async () => {
  const wire = await Wire.to(here.database.url);
  const pool = openPool(wire.url);
  const far = await buildApp({ pool, databaseUrl: wire.url });
  const before = await listening();
  const board = new BoardClient(await far.listen({ port: 0, host: '127.0.0.1' }));
  const known = await board.until(() => true);
  try {
    await here.database.pool.query(
      "select pg_terminate_backend(pid) from pg_stat_activity where datname = current_database() and application_name = 'oddglass-live'",
    );
    const tablet = await seated(here.app, open, 9);
    await expect.poll(listening, { timeout: 10_000 }).toBe(before);
    wire.refuse();
    const [tray] = (await tablet.ok<SeatView>('GET', '/api/seat')).trays;
    await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray!, tray!.servings[0]!.code));
    // Several tries to listen again fail meanwhile.
    await wait(1_500);
    expect(await listening()).toBe(before - 1);
    wire.restore();
    const shown = await board.until((state) => answered(state) === answered(known) + 1);
    const seqs = board.messages.flatMap((message) => (message.type === 'event' ? message.event.seq : []));
    expect(seqs).toEqual(Array.from({ length: shown.seq - known.seq }, (_, index) => known.seq + 1 + index));
    // One, not one for every try.
    await expect.poll(listening, { timeout: 10_000 }).toBe(before);
    await wait(1_000);
    expect(await listening()).toBe(before);
  } finally {
    board.socket.close();
    wire.restore();
    await far.close();
    await pool.end();
    await wire.close();
  }
});

test('a seat whose last ballot to come in is one of an earlier tray has finished', async () => {
  const trial = await newTrial(host);
  const parts = [trianglePart(trial, { replicates: 2 })];
  const session = await moved(host, await draft(host, trial, { assessors: 2, parts }), 'seal', 'open');
  const tablet = await seated(here.app, session, 1);
  const [first, second] = (await tablet.ok<SeatView>('GET', '/api/seat')).trays;
  const on = { part: 1, sheet: 1, position: null };
  await tablet.ok('POST', '/api/seat/progress', { ...on, trayNumber: 2, step: 'reviewing' });
  await tablet.ok('POST', '/api/seat/ballots', ballotFor(second!, second!.servings[0]!.code));
  await tablet.ok('POST', '/api/seat/ballots', ballotFor(first!, first!.servings[0]!.code));
  const board = await host.caller.ok<Board>('GET', `/api/sessions/${session.id}/board`);
  expect(board.seats[0]).toMatchObject({ status: 'finished', trayNumber: 2, answered: 2 });
});

test('a seat hears that the session closes', async () => {
  const trial = await newTrial(host);
  const session = await moved(host, await draft(host, trial, { assessors: 2 }), 'seal', 'open');
  const { socket, heard } = seatSocket(addresses.there, await seated(here.app, session, 1));
  const states = () => heard.map((message) => message.type === 'session' && message.session.state);
  await until('the seat is told how the session stands', () => heard.length === 1);
  await moved(host, session, 'close');
  await until('the seat is told of the closing', () => heard.length === 2);
  expect(states()).toEqual(['open', 'closed']);
  socket.terminate();
});

test('a seat hears that another tablet took it over', async () => {
  const tablet = await seated(here.app, open, 7);
  const { socket, heard } = seatSocket(addresses.there, tablet);
  // From its first message on the seat hears whatever happens.
  await until('the seat is told how the session stands', () => heard.length === 1);
  const way = await host.caller.ok<MoveOffer>('POST', `/api/sessions/${open.id}/seats/7/hand-over`, {});
  const taken = await movedTo(here.app, way);
  await new Promise((resolve) => socket.once('close', resolve));
  expect(heard.map(({ type }) => type)).toEqual(['session', 'seat-lost']);
  expect((await tablet.call('GET', '/api/seat')).status).toBe(401);
  expect((await taken.ok<SeatView>('GET', '/api/seat')).seat).toBe(7);
});

test('a host hears of a seat once that it is online, and once that it has left', async () => {
  const trial = await newTrial(host);
  const session = await moved(host, await draft(host, trial, { assessors: 2 }), 'seal', 'open');
  const tablet = await seated(here.app, session, 1);
  const told = async () => {
    const { rows } = await here.database.pool.query<{ kind: string }>(
      `select event->>'kind' as kind from session_event
       where session_id = $1 and event->>'kind' in ('seat-online', 'seat-offline') order by seq`,
      [session.id],
    );
    return rows.map(({ kind }) => kind);
  };
  const connect = async () => {
    const { socket, heard } = seatSocket(addresses.here, tablet);
    await until('the socket is fed', () => heard.length > 0);
    return socket;
  };
  const leave = async (socket: WebSocket) => {
    socket.close();
    await new Promise((resolve) => socket.once('close', resolve));
  };
  const online = async () =>
    (await host.caller.ok<Board>('GET', `/api/sessions/${session.id}/board`)).seats[0]!.online;

  const first = await connect();
  await until('the seat is online', async () => (await told()).length > 0);
  // A second page of the seat, one page left, and a reload: the seat was there throughout.
  const second = await connect();
  await leave(first);
  await leave(second);
  const last = await connect();
  expect(await online()).toBe(true);
  await leave(last);
  await until('the seat is offline', async () => (await told()).includes('seat-offline'));
  expect(await told()).toEqual(['seat-online', 'seat-offline']);
  expect(await online()).toBe(false);
  // Back after it was told gone: that is news again.
  const back = await connect();
  await until('the seat is online again', async () => (await told()).length > 2);
  expect(await told()).toEqual(['seat-online', 'seat-offline', 'seat-online']);
  await leave(back);
});

test('a socket without a sign-in is refused before the upgrade', async () => {
  const socket = new WebSocket(`${addresses.here.replace('http', 'ws')}/api/sessions/${open.id}/live`);
  const status = await new Promise((resolve) =>
    socket.once('unexpected-response', (_request, response) => resolve(response.statusCode)),
  );
  expect(status).toBe(401);
  socket.on('error', () => undefined);
  socket.terminate();
});
