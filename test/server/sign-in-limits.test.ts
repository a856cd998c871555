import { buildApp } from '@oddglass/server/app.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { draft, firstHost, invited, moved, newTrial, startServer, type TestServer } from '../support/app.ts';
import { PASSPHRASE } from '../support/factories.ts';

// Guessing is slow wherever it is done, and nobody's guesses keep somebody else out. The point is taken before the guess
// is looked at, in the database: neither a burst nor a second process gets further than one guess after another.

const MINUTE = 60_000;
let server: TestServer;
let second: FastifyInstance;
let open: SessionView;

beforeAll(async () => {
  server = await startServer();
  second = await buildApp({
    pool: server.database.pool,
    databaseUrl: server.database.url,
    clock: () => server.clock.now,
  });
  await second.ready();
  const host = await firstHost(server.app, 'Host');
  await invited(host, 'steward', 'Steward');
  open = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
});
afterAll(async () => {
  await second.close();
  await server.close();
});
// Every test begins with nothing counted.
beforeEach(() => void (server.clock.now = new Date(server.clock.now.getTime() + 60 * MINUTE)));

interface Guess {
  name?: string;
  passphrase?: string;
  from?: string;
  app?: FastifyInstance;
}
const signIn = ({ name = 'Host', passphrase = 'not the one', from = '192.0.2.1', app = server.app }: Guess) =>
  app.inject({
    method: 'POST',
    url: '/api/sign-in',
    payload: { name, passphrase },
    remoteAddress: from,
  });
const statuses = async (guesses: readonly ReturnType<typeof signIn>[]) =>
  (await Promise.all(guesses)).map(({ statusCode }) => statusCode);
const many = (count: number, guess: (index: number) => Guess) =>
  statuses(Array.from({ length: count }, (_, index) => signIn(guess(index))));

test('of a thousand guesses at once ten are tried, whichever of them is right', async () => {
  const found = await many(1_000, (index) => ({ passphrase: index === 280 ? PASSPHRASE : `guess ${index}` }));
  expect(found.filter((status) => status !== 429).length).toBeLessThanOrEqual(10);
  expect(found.filter((status) => status === 429).length).toBeGreaterThanOrEqual(990);
});

test('guesses from many addresses at a name do not keep its owner out', async () => {
  for (let guesser = 1; guesser <= 30; guesser++) await signIn({ from: `198.51.100.${guesser}` });
  expect((await signIn({ passphrase: PASSPHRASE })).statusCode).toBe(200);
});

test('an owner whose address has guessed too often gets in from another', async () => {
  for (let guess = 0; guess < 10; guess++) expect((await signIn({})).statusCode).toBe(401);
  const refused = await signIn({ passphrase: PASSPHRASE });
  expect(refused.json()).toMatchObject({ type: '/problems/too-many-attempts', status: 429 });
  expect(Number(refused.headers['retry-after'])).toBe(600);
  expect(refused.json<ProblemDocument>().detail).not.toContain('QR');
  expect((await signIn({ passphrase: PASSPHRASE, from: '192.0.2.2' })).statusCode).toBe(200);
  // Others behind that address, and the name in another spelling.
  expect((await signIn({ name: 'Steward', passphrase: PASSPHRASE })).statusCode).toBe(200);
  expect((await signIn({ name: ' hOST', passphrase: PASSPHRASE })).statusCode).toBe(429);
  server.clock.now = new Date(server.clock.now.getTime() + 10 * MINUTE);
  expect((await signIn({ passphrase: PASSPHRASE })).statusCode).toBe(200);
});

test('two processes share the count', async () => {
  const apps = [server.app, second];
  const found = await many(40, (index) => ({ app: apps[index % 2]! }));
  expect(found.filter((status) => status === 401)).toHaveLength(10);
  expect((await signIn({ app: second, passphrase: PASSPHRASE })).statusCode).toBe(429);
});

test('a right passphrase gives its point back', async () => {
  for (let guess = 0; guess < 9; guess++) await signIn({});
  for (let again = 0; again < 12; again++)
    expect((await signIn({ passphrase: PASSPHRASE })).statusCode).toBe(200);
  expect((await signIn({})).statusCode).toBe(401);
  expect((await signIn({ passphrase: PASSPHRASE })).statusCode).toBe(429);
});

test('an address that guesses at many names is refused in the end; others are not', async () => {
  const found = await many(130, (index) => ({ name: `nobody ${index}`, from: '203.0.113.9' }));
  expect(found.filter((status) => status === 401)).toHaveLength(100);
  expect((await signIn({ passphrase: PASSPHRASE, from: '203.0.113.9' })).statusCode).toBe(429);
  expect((await signIn({ passphrase: PASSPHRASE, from: '203.0.113.10' })).statusCode).toBe(200);
});

test('who is refused for one name spends nothing of what the address has left', async () => {
  await many(300, () => ({}));
  expect((await signIn({ name: 'Steward', passphrase: PASSPHRASE })).statusCode).toBe(200);
});

test('addresses of one IPv6 network count as one', async () => {
  for (let guess = 0; guess < 10; guess++) await signIn({ from: `2001:db8:1:2:${guess}::7` });
  expect((await signIn({ passphrase: PASSPHRASE, from: '2001:db8:1:2::ffff' })).statusCode).toBe(429);
  expect((await signIn({ passphrase: PASSPHRASE, from: '2001:db8:1:3::7' })).statusCode).toBe(200);
  // The same IPv4 address, as a socket of the newer kind has it.
  for (let guess = 0; guess < 10; guess++) await signIn({ from: '::ffff:192.0.2.77' });
  expect((await signIn({ passphrase: PASSPHRASE, from: '192.0.2.77' })).statusCode).toBe(429);
});

test('wrong join codes at once: nineteen are looked up, and a full room of right ones is let in', async () => {
  const knock = (code: string, from: string) =>
    server.app.inject({ method: 'POST', url: '/api/join', payload: { code }, remoteAddress: from });
  const wrong = await Promise.all(Array.from({ length: 300 }, () => knock('AAAA3333', '192.0.2.50')));
  expect(wrong.filter(({ statusCode }) => statusCode === 403)).toHaveLength(19);
  expect(wrong.filter(({ statusCode }) => statusCode === 429)).toHaveLength(281);
  const right = await Promise.all(Array.from({ length: 120 }, () => knock(open.join!.code, '192.0.2.51')));
  expect(right.every(({ statusCode }) => statusCode === 200)).toBe(true);
});

test('a passphrase is changed with the one now, which cannot be tried out', async () => {
  const cookie = String((await signIn({ passphrase: PASSPHRASE })).headers['set-cookie']).split(';')[0]!;
  const change = (current: string) =>
    server.app.inject({
      method: 'POST',
      url: '/api/me/passphrase',
      headers: { cookie },
      payload: { current, next: 'some other words entirely' },
    });
  const found = await Promise.all(Array.from({ length: 30 }, (_, index) => change(`guess ${index}`)));
  expect(found.filter(({ statusCode }) => statusCode === 400)).toHaveLength(10);
  expect((await change(PASSPHRASE)).statusCode).toBe(429);
});

test('nothing of who tried stays readable, and what is over is swept', async () => {
  const rows = async () =>
    (await server.database.pool.query<{ key: string }>('select * from attempt')).rows.map((row) =>
      JSON.stringify(row),
    );
  await signIn({ name: 'Steward', from: '203.0.113.77' });
  expect((await rows()).join()).not.toMatch(/steward|203\.0\.113/i);
  server.clock.now = new Date(server.clock.now.getTime() + 60 * MINUTE);
  await signIn({ name: 'Host', from: '203.0.113.78' });
  expect(await rows()).toHaveLength(2);
});
