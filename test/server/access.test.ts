import { buildApp } from '@oddglass/server/app.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import {
  draft,
  firstHost,
  invited,
  moved,
  newTrial,
  seated,
  startServer,
  strangeHost,
  type Caller,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { trialInput } from '../support/factories.ts';

// Nobody gets in by an oversight: a route says who may call it, and a page of another site opens nothing.

let server: TestServer;
let host: Hosted;
let open: SessionView;
let tablet: Caller;
let address: string;

beforeAll(async () => {
  server = await startServer({ publicUrl: 'https://tasting.example' });
  address = await server.app.listen({ port: 0, host: '127.0.0.1' });
  host = await firstHost(server.app);
  open = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
  tablet = await seated(server.app, open, 1);
});
afterAll(() => server.close());

test('a route that does not say who may call it does not register', async () => {
  const app = await buildApp({ pool: server.database.pool, databaseUrl: server.database.url });
  const answer = async () => ({ ok: true });
  expect(() => app.get('/api/unsaid', answer)).toThrow('GET /api/unsaid does not say who may call it');
  expect(() => app.post('/api/unsaid', { config: {} }, answer)).toThrow('does not say who may call it');
  app.get('/api/said', { config: { access: 'signed-in' } }, answer);
  await app.ready();
  expect((await app.inject({ url: '/api/said' })).statusCode).toBe(401);
  await app.close();
});

const NOBODYS = '00000000-0000-4000-8000-000000000000';
test.each([
  ['GET', `/api/panels/${NOBODYS}`],
  ['GET', `/api/panels/${NOBODYS}/vocabulary`],
  ['GET', `/api/trials/${NOBODYS}`],
  ['GET', `/api/trials/${NOBODYS}/publications`],
  ['GET', `/api/trials/${NOBODYS}/pulls`],
  ['GET', `/api/trials/${NOBODYS}/readings.csv`],
  ['GET', `/api/panels/${NOBODYS}/pulls`],
  ['GET', `/api/panels/${NOBODYS}/calendar`],
  ['GET', `/api/photos/${NOBODYS}`],
  ['POST', `/api/pulls/${NOBODYS}/cancel`],
  ['GET', `/api/sessions/${NOBODYS}`],
  ['GET', `/api/sessions/${NOBODYS}/pour`],
  ['POST', `/api/publications/${NOBODYS}/withdraw`],
])('%s %s, which does not exist, is answered like what is another’s', async (method, path) => {
  const { status, body } = await host.caller.call(method, path, method === 'POST' ? {} : undefined);
  expect([status, body['type']]).toEqual([404, '/problems/not-found']);
});

test('what is another panel’s does not exist, whichever way leads to it, and hosts alone do what hosts do', async () => {
  const trial = await newTrial(host);
  const session = await draft(host, trial);
  const stranger = await strangeHost(host);
  const steward = await invited(host, 'steward', 'Steward');
  const doors = [
    ['GET', `/api/panels/${host.panel}`, undefined],
    ['GET', `/api/trials/${trial.id}`, undefined],
    ['GET', `/api/sessions/${session.id}`, undefined],
    ['POST', `/api/sessions/${session.id}/seal`, {}],
    ['POST', `/api/panels/${host.panel}/trials`, trialInput()],
  ] as const;
  for (const [method, path, body] of doors) {
    const { status, body: refused } = await stranger.caller.call(method, path, body);
    expect([path, status, refused['type']]).toEqual([path, 404, '/problems/not-found']);
    const { status: known } = await steward.caller.call(method, path, body);
    expect([path, known]).toEqual([path, method === 'POST' ? 403 : 200]);
  }
  // They are what they were said to be, and the host gets on.
  expect(await steward.caller.ok('GET', `/api/trials/${trial.id}`)).toMatchObject({ id: trial.id });
  expect(await moved(host, session, 'seal')).toMatchObject({ id: session.id, state: 'sealed' });
});

/** The status a socket is refused with, or 101 when it opens. */
function knock(path: string, protocols: string[], headers: Record<string, string>): Promise<number> {
  const socket = new WebSocket(address.replace('http', 'ws') + path, protocols, { headers });
  return new Promise((resolve, reject) => {
    socket.once('open', () => resolve(101));
    socket.once('unexpected-response', (_request, response) => resolve(response.statusCode ?? 0));
    socket.once('error', reject);
  }).finally(() => socket.on('error', () => undefined).terminate()) as Promise<number>;
}

test.each([
  ['none, as other programs send', undefined, 101],
  ['this server', () => address, 101],
  ['the public address', () => 'https://tasting.example', 101],
  ['another site', () => 'https://elsewhere.example', 403],
  ['another port of this machine', () => 'http://127.0.0.1:1', 403],
  ['a page without an origin', () => 'null', 403],
])('a live socket opened by a page of %s', async (_name, origin, status) => {
  const from: Record<string, string> = origin ? { origin: origin() } : {};
  const cookie = { cookie: host.caller.cookie ?? '' };
  expect(await knock(`/api/sessions/${open.id}/live`, [], { ...cookie, ...from })).toBe(status);
  expect(await knock('/api/seat/live', ['oddglass', `seat.${tablet.seatToken}`], from)).toBe(status);
});

test('a live socket that the browser calls cross-site is refused, whatever its origin', async () => {
  const headers = { cookie: host.caller.cookie ?? '', origin: address, 'sec-fetch-site': 'cross-site' };
  expect(await knock(`/api/sessions/${open.id}/live`, [], headers)).toBe(403);
});
