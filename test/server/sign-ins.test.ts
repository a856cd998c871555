import { buildApp } from '@oddglass/server/app.ts';
import { PULSE_EVERY_MS, SIGN_IN_ENDED } from '@oddglass/shared/contracts/live.ts';
import type { SignInViews } from '@oddglass/shared/contracts/account.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import {
  Caller,
  draft,
  firstHost,
  invited,
  moved,
  newTrial,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { PASSPHRASE } from '../support/factories.ts';
import { until } from '../support/until.ts';

// A sign-in lasts while it is used, can be seen and ended by its owner, and takes along what was opened with it.

const DAY = 86_400_000;
const TABLET = 'Mozilla/5.0 (Android 15; Tablet; rv:140.0)';
let server: TestServer;
let there: FastifyInstance;
let addresses: { here: string; there: string };
let host: Hosted;
let steward: Hosted;
let open: SessionView;
const sockets: WebSocket[] = [];

beforeAll(async () => {
  server = await startServer();
  there = await buildApp({
    pool: server.database.pool,
    databaseUrl: server.database.url,
    clock: () => server.clock.now,
  });
  addresses = {
    here: await server.app.listen({ port: 0, host: '127.0.0.1' }),
    there: await there.listen({ port: 0, host: '127.0.0.1' }),
  };
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Steward');
  open = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
});
afterAll(async () => {
  for (const socket of sockets) socket.terminate();
  await there.close();
  await server.close();
});
beforeEach(async () => {
  host = { ...host, caller: await signedIn('Host') };
});

async function signedIn(name: string, userAgent?: string): Promise<Caller> {
  const answer = await server.app.inject({
    method: 'POST',
    url: '/api/sign-in',
    payload: { name, passphrase: PASSPHRASE },
    ...(userAgent !== undefined && { headers: { 'user-agent': userAgent } }),
  });
  expect(answer.statusCode).toBe(200);
  const caller = new Caller(server.app);
  caller.cookie = String(answer.headers['set-cookie']).split(';')[0];
  return caller;
}

interface Watching {
  /** Code it closed with; null while it is open. */
  closed: () => number | null;
  heard: string[];
}

/** A board that has been told how the evening stands. */
async function watching(caller: Caller, base = addresses.here): Promise<Watching> {
  const socket = new WebSocket(`${base.replace('http', 'ws')}/api/sessions/${open.id}/live`, {
    headers: { cookie: caller.cookie ?? '' },
  });
  sockets.push(socket);
  let closed: number | null = null;
  const heard: string[] = [];
  socket.on('close', (code) => (closed = code));
  socket.on('message', (data) => void heard.push(String(data)));
  await until('the board is told', () => heard.length > 0);
  return { closed: () => closed, heard };
}

const later = (ms: number) => void (server.clock.now = new Date(server.clock.now.getTime() + ms));

test('a sign-in that is not used for three days has ended; one that is used lasts fourteen', async () => {
  const idle = await signedIn('Host');
  const used = await signedIn('Host');
  for (let day = 1; day <= 13; day++) {
    later(DAY);
    expect((await used.call('GET', '/api/me')).status).toBe(200);
    if (day === 2) expect((await server.app.inject('/api/health')).statusCode).toBe(200);
  }
  expect((await idle.call('GET', '/api/me')).status).toBe(401);
  later(DAY);
  expect((await used.call('GET', '/api/me')).status).toBe(401);
});

test('how long is the operator’s to say', async () => {
  const app = await buildApp({
    pool: server.database.pool,
    databaseUrl: server.database.url,
    clock: () => server.clock.now,
    signInLasts: { days: 2, idleDays: 1 },
  });
  const answer = await app.inject({
    method: 'POST',
    url: '/api/sign-in',
    payload: { name: 'Host', passphrase: PASSPHRASE },
  });
  expect(String(answer.headers['set-cookie'])).toContain(`Max-Age=${2 * 86_400}`);
  const caller = new Caller(app);
  caller.cookie = String(answer.headers['set-cookie']).split(';')[0];
  later(DAY - 1);
  expect((await caller.call('GET', '/api/me')).status).toBe(200);
  later(DAY);
  expect((await caller.call('GET', '/api/me')).status).toBe(401);
  await app.close();
});

test('one sees where one is signed in, and ends what is not wanted', async () => {
  later(20 * DAY);
  const here = await signedIn('Host');
  later(3_600_000);
  const tablet = await signedIn('Host', TABLET);
  const { signIns } = await here.ok<SignInViews>('GET', '/api/me/sign-ins');
  expect(signIns.map(({ device, here: mine }) => [device, mine])).toEqual([
    ['', true],
    ['a tablet', false],
  ]);
  const [mine, other] = signIns;
  expect(Date.parse(other!.endsAt) - Date.parse(other!.lastUsedAt)).toBe(3 * DAY);
  // Nobody else's can be ended, and nothing in the list is a token.
  const strange = await steward.caller.call('GET', '/api/me');
  expect(strange.status).toBe(401);
  const stranger = await signedIn('Steward');
  expect((await stranger.call('DELETE', `/api/me/sign-ins/${other!.id}`)).status).toBe(404);
  expect((await tablet.call('GET', '/api/me')).status).toBe(200);
  const left = await here.ok<SignInViews>('DELETE', `/api/me/sign-ins/${other!.id}`);
  expect(left.signIns.map(({ id }) => id)).toEqual([mine!.id]);
  expect((await tablet.call('GET', '/api/me')).status).toBe(401);
  expect((await here.call('DELETE', `/api/me/sign-ins/${other!.id}`)).status).toBe(404);
});

test('signing in again in the same browser replaces what it held', async () => {
  const caller = await signedIn('Host');
  const before = caller.cookie;
  await caller.ok('POST', '/api/sign-in', { name: 'Host', passphrase: PASSPHRASE });
  expect(caller.cookie).not.toBe(before);
  const old = new Caller(server.app);
  old.cookie = before;
  expect((await old.call('GET', '/api/me')).status).toBe(401);
});

test('a board hears nothing more once its browser has signed out', async () => {
  const caller = await signedIn('Host');
  const board = await watching(caller);
  await caller.ok('POST', '/api/sign-out', {});
  await until('the board is closed', () => board.closed() !== null);
  expect(board.closed()).toBe(SIGN_IN_ENDED);
  const told = board.heard.length;
  await host.caller.ok('POST', `/api/sessions/${open.id}/join-code`, {});
  expect(board.heard).toHaveLength(told);
});

test('boards of other browsers end with a new passphrase, the own one stays', async () => {
  const mine = await signedIn('Host');
  const [here, other] = await Promise.all([watching(mine), watching(await signedIn('Host'))]);
  const next = 'five other words this time';
  await mine.ok('POST', '/api/me/passphrase', { current: PASSPHRASE, next });
  await until('the other board is closed', () => other.closed() !== null);
  expect([other.closed(), here.closed()]).toEqual([SIGN_IN_ENDED, null]);
  await mine.ok('POST', '/api/me/passphrase', { current: next, next: PASSPHRASE });
});

test('a board ends with a sign-in that its owner ends from the list', async () => {
  const board = await watching(await signedIn('Host', TABLET));
  const { signIns } = await host.caller.ok<SignInViews>('GET', '/api/me/sign-ins');
  const { id } = signIns.find(({ device }) => device !== '')!;
  await host.caller.ok('DELETE', `/api/me/sign-ins/${id}`);
  await until('the board is closed', () => board.closed() !== null);
});

test(
  'what ends in another process, by idleness, or by leaving the panel, ends at the next pulse',
  async () => {
    const gone = await signedIn('Host');
    const idle = await signedIn('Host');
    const leaver = await signedIn('Steward');
    later(2 * DAY);
    expect((await gone.call('GET', '/api/me')).status).toBe(200);
    expect((await leaver.call('GET', '/api/me')).status).toBe(200);
    const elsewhere = await watching(gone, addresses.there);
    const idling = await watching(idle);
    const left = await watching(leaver);
    const staying = await watching(host.caller);
    expect((await host.caller.call('GET', '/api/me')).status).toBe(200);
    await gone.ok('POST', '/api/sign-out', {});
    later(DAY + 1);
    expect((await leaver.call('GET', '/api/me')).status).toBe(200);
    await server.database.pool.query("delete from membership where role = 'steward'");
    const all = [elsewhere, idling, left];
    await expect
      .poll(() => all.map(({ closed }) => closed()), { timeout: 3 * PULSE_EVERY_MS })
      .toEqual(all.map(() => SIGN_IN_ENDED));
    expect(staying.closed()).toBeNull();
  },
  5 * PULSE_EVERY_MS,
);

test('a seat has a few sockets; past that its oldest is let go', async () => {
  const { join } = await host.caller.ok<SessionView>('GET', `/api/sessions/${open.id}`);
  const { seatToken } = await new Caller(server.app).ok<{ seatToken: string }>('POST', '/api/join/seat', {
    code: join?.code,
    seat: 1,
  });
  const opened = Array.from({ length: 40 }, () => {
    const socket = new WebSocket(`${addresses.here.replace('http', 'ws')}/api/seat/live`, [
      'oddglass',
      `seat.${seatToken}`,
    ]);
    socket.on('error', () => undefined);
    sockets.push(socket);
    return socket;
  });
  const alive = () => opened.filter(({ readyState }) => readyState === WebSocket.OPEN).length;
  const settled = () => opened.every(({ readyState }) => readyState !== WebSocket.CONNECTING);
  await until('eight are left', () => settled() && alive() === 8);
});
