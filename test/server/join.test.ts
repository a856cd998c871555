import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { JoinOffer } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  draft,
  firstHost,
  moved,
  newTrial,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { until } from '../support/until.ts';

// The way to a seat: a code that can be read aloud is short, so that guessing it has to be slow.

let server: TestServer;
let host: Hosted;
let open: SessionView;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app);
  open = await tasting();
});
afterAll(() => server.close());

const tasting = async () =>
  moved(host, await draft(host, await newTrial(host), { assessors: 3, spareSeats: 0 }), 'seal', 'open');
const post = (path: string, body: object, from: string) =>
  server.app.inject({ method: 'POST', url: path, payload: body, remoteAddress: from });
const knock = (way: object, from: string) => post('/api/join', way, from);
/** A code of the right form that is nobody's. */
const wrong = (number: number) => ({ code: `AAAAAA${'ACDEFGHJKMNPQRTVWXY'[number]}9` });

test('after nineteen wrong codes from an address no code opens there, not even the right one', async () => {
  const guesser = '192.0.2.7';
  for (let guess = 0; guess < 19; guess++) {
    expect((await knock(wrong(guess), guesser)).statusCode).toBe(403);
    // Whoever holds the right code is not slowed by the wrong ones before it.
    if (guess === 17) expect((await knock({ code: open.join!.code }, guesser)).statusCode).toBe(200);
  }
  for (const body of [{ code: open.join!.code }, wrong(0)]) {
    const refused = await knock(body, guesser);
    expect(refused.json()).toMatchObject({ type: '/problems/too-many-attempts', status: 429 });
    // What is left of the minute since the first wrong code.
    const wait = Number(refused.headers['retry-after']);
    expect(wait).toBeGreaterThan(1);
    expect(wait).toBeLessThanOrEqual(60);
    expect(refused.json<ProblemDocument>().detail).toContain(`Try again in ${wait} seconds`);
    const seat = await post('/api/join/seat', { ...body, seat: 1 }, guesser);
    expect(seat.json()).toMatchObject({ type: '/problems/too-many-attempts', status: 429 });
  }
  // A QR link cannot be guessed, and another address has guessed nothing.
  const byLink = await knock({ token: open.join!.token }, guesser);
  expect(byLink.statusCode).toBe(200);
  expect(byLink.json<JoinOffer>().seats.every(({ free }) => free)).toBe(true);
  expect((await knock({ code: open.join!.code }, '192.0.2.8')).statusCode).toBe(200);
});

test('right codes are not counted: a full room joins from one address', async () => {
  for (let tablet = 0; tablet < 40; tablet++) {
    expect((await knock({ code: open.join!.code }, '192.0.2.9')).statusCode).toBe(200);
  }
});

const sit = (session: SessionView, seat: number) =>
  post('/api/join/seat', { token: session.join!.token, seat }, '192.0.2.10');
const seatsOf = async (session: SessionView) =>
  (await knock({ token: session.join!.token }, '192.0.2.10')).json<JoinOffer>().seats;

test('the offer says which seats are free, and a seat that was taken is told once', async () => {
  const session = await tasting();
  expect(await seatsOf(session)).toEqual([1, 2, 3].map((number) => ({ number, free: true })));
  const taken = await sit(session, 2);
  expect(taken.json()).toEqual({ seat: 2, seatToken: expect.stringMatching(/^[\w-]{22}$/) });
  expect((await sit(session, 2)).json()).toMatchObject({ type: '/problems/seat-taken', status: 409 });
  expect((await sit(session, 4)).json()).toMatchObject({ type: '/problems/seat-taken', status: 409 });
  expect(await seatsOf(session)).toEqual([1, 2, 3].map((number) => ({ number, free: number !== 2 })));
  const events = await listEvents(openDb(server.database.pool), session.id);
  expect(events.map(({ event }) => event)).toEqual([
    expect.objectContaining({ kind: 'sealed' }),
    expect.objectContaining({ kind: 'opened' }),
    { kind: 'seat-taken', seat: 2 },
  ]);
});

test('nobody sits down at a tasting that was stopped', async () => {
  const session = await tasting();
  await server.database.pool.query('update session set stopped_at = now() where id = $1', [session.id]);
  expect((await sit(session, 1)).json()).toMatchObject({ type: '/problems/unsafe-to-taste', status: 409 });
  expect((await seatsOf(session)).every(({ free }) => free)).toBe(true);
});

test('a seat that is asked for while the tasting closes is not given', async () => {
  const session = await tasting();
  // Whoever closes has the row; the guest found the tasting open and waits for it.
  const closing = await server.database.pool.connect();
  try {
    await closing.query('begin');
    await closing.query(`update session set state = 'closed' where id = $1`, [session.id]);
    const asked = sit(session, 1).then((answer) => answer.json<ProblemDocument>());
    await until('the guest waits', async () => {
      const { rows } = await server.database.pool.query<{ waiting: number }>(
        `select count(*)::int as waiting from pg_stat_activity
         where datname = current_database() and wait_event_type = 'Lock'`,
      );
      return rows[0]!.waiting > 0;
    });
    await closing.query('commit');
    expect(await asked).toMatchObject({ type: '/problems/join-refused', status: 403 });
  } finally {
    closing.release();
  }
  const { rows } = await server.database.pool.query(
    'select 1 from seat where session_id = $1 and taken_at is not null',
    [session.id],
  );
  expect(rows).toEqual([]);
});
