import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { JoinOffer } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { draft, firstHost, moved, newTrial, startServer, type TestServer } from '../support/app.ts';

// The way to a seat: a code that can be read aloud is short, so that guessing it has to be slow.

let server: TestServer;
let open: SessionView;

beforeAll(async () => {
  server = await startServer();
  const host = await firstHost(server.app);
  open = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
});
afterAll(() => server.close());

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
