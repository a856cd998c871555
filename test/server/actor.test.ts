import cookie from '@fastify/cookie';
import { openDb } from '@oddglass/db/client.ts';
import { actorCookie, actorPlugin, type Access } from '@oddglass/server/access/actor.ts';
import { hashToken } from '@oddglass/server/access/tokens.ts';
import type { Deps } from '@oddglass/server/deps.ts';
import { SecurityLog } from '@oddglass/server/guard/security-log.ts';
import { Turns } from '@oddglass/server/guard/turns.ts';
import { problemPlugin } from '@oddglass/server/plugins/problem.ts';
import { Outage } from '@oddglass/server/refusal/outage.ts';
import Fastify, { type FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { createTestDatabase, type TestDatabase } from '../support/database.ts';

// Who a request comes from, and whether it may: a service with one route for each kind of access, each telling whom it took
// its caller for.

const START = new Date('2031-05-01T18:00:00Z');
const MINUTE = 60_000;
const SIGN_IN = 'sign-in-of-the-host-01';
const SEAT = 'token_of-seat-number-7';
const OTHER_SEAT = 'token_of-seat-number-8';
const RECEIPT = 'receipt-of-seat-numb-7';
const ID = '00000000-0000-4000-8000-00000000000';

let database: TestDatabase;
let app: FastifyInstance;
let now: Date;
let turns: Turns;
let fullFrom: string | null;
const routes: Record<string, Access> = {
  '/api/open': 'public',
  '/api/own': 'signed-in',
  '/api/seat': 'seat',
  '/api/receipt': 'receipt',
};

async function serviceWith(secure: boolean): Promise<FastifyInstance> {
  const service = Fastify();
  const deps = {
    db: openDb(database.pool),
    clock: () => now,
    signInLasts: { days: 14, idleDays: 3 },
    sockets: { full: (network: string) => network === fullFrom },
    turns: { letIn: (hash: string) => turns.letIn(hash) },
  };
  const log = { warn: () => undefined, error: () => undefined };
  const outage = new Outage({ probe: async () => undefined, log, now: () => 0 });
  await service.register(cookie);
  await service.register(problemPlugin, { outage, security: new SecurityLog(log) });
  // The hooks use these of it alone.
  await service.register(actorPlugin, {
    deps: deps as unknown as Deps,
    publicHost: 'tasting.example',
    secure,
  });
  for (const [url, access] of Object.entries(routes)) {
    service.route({
      method: ['GET', 'POST', 'DELETE'],
      url,
      config: { access },
      handler: async ({ actorOrNull, seatOrNull }) => ({
        actor: actorOrNull,
        seat: seatOrNull?.number ?? null,
      }),
    });
  }
  service.get('/api/open/actor', { config: { access: 'public' } }, async ({ actor }) => actor);
  service.get('/api/open/seat', { config: { access: 'public' } }, async ({ seat }) => seat);
  service.get('/api/seat/own', { config: { access: 'seat' } }, async ({ seat }) => seat.number);
  service.get('/page', async ({ actorOrNull, seatOrNull }) => ({ actor: actorOrNull, seat: seatOrNull }));
  return service;
}

beforeAll(async () => {
  database = await createTestDatabase();
  const client = await database.pool.connect();
  // Seats without a session: nothing of one is asked here.
  await client.query('set session_replication_role = replica');
  await client.query(`insert into account values ($1, 'Host', 'x', $2)`, [`${ID}1`, START]);
  for (const [number, token, receipt] of [
    [7, SEAT, RECEIPT],
    [8, OTHER_SEAT, 'receipt-of-seat-numb-8'],
  ] as const) {
    await client.query(
      `insert into seat (id, session_id, number, spare, token_hash, receipt_hash) values ($1, $2, $3, false, $4, $5)`,
      [`${ID}${number}`, `${ID}2`, number, hashToken(token), hashToken(receipt)],
    );
  }
  await client.query('set session_replication_role = origin');
  client.release();
  app = await serviceWith(false);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  now = START;
  fullFrom = null;
  turns = new Turns();
  await database.pool.query('delete from signed_in');
  await database.pool.query(
    `insert into signed_in (token_hash, account_id, created_at, last_used_at, expires_at) values ($1, $2, $3, $3, $4)`,
    [hashToken(SIGN_IN), `${ID}1`, START, new Date(START.getTime() + 14 * 24 * 60 * MINUTE)],
  );
});

type Sent = Record<string, string>;
type Method = 'GET' | 'POST' | 'HEAD' | 'DELETE';
/** What the route told, or the name of the refusal. */
async function ask(url: string, headers: Sent = {}, method: Method = 'GET', service = app): Promise<unknown> {
  const answer = await service.inject({ method, url, headers: { host: 'cellar.local:3000', ...headers } });
  if (answer.statusCode === 200) return answer.body === '' ? 'nothing' : answer.json();
  return `${answer.statusCode} ${answer.json<{ type: string }>().type.replace('/problems/', '')}`;
}
const signedIn: Sent = { cookie: `oddglass=${SIGN_IN}` };
const bearer = (token: string): Sent => ({ authorization: `Bearer ${token}` });
const protocols = (value: string): Sent => ({ 'sec-websocket-protocol': value });
const host = { actor: { id: `${ID}1`, name: 'Host', tokenHash: hashToken(SIGN_IN) }, seat: null };
const nobody = { actor: null, seat: null };
const seat = (number: number) => ({ actor: null, seat: number });

describe('a route takes what it asks for, and nothing else', () => {
  const all: Sent = { ...signedIn, ...bearer(SEAT) };
  test.each([
    ['/api/open', {}, nobody],
    ['/api/open', signedIn, host],
    ['/api/open', { cookie: 'oddglass=' }, nobody],
    ['/api/open', { cookie: 'oddglass=somebody-elses-token-0' }, nobody],
    ['/api/open', { cookie: `other=${SIGN_IN}` }, nobody],
    ['/api/open', bearer(SEAT), nobody],
    ['/api/own', {}, '401 not-signed-in'],
    ['/api/own', signedIn, host],
    ['/api/own', { cookie: 'oddglass=' }, '401 not-signed-in'],
    ['/api/own', { cookie: 'oddglass=somebody-elses-token-0' }, '401 not-signed-in'],
    ['/api/own', bearer(SEAT), '401 not-signed-in'],
    ['/api/own', bearer(SIGN_IN), '401 not-signed-in'],
    ['/api/own', all, host],
    ['/api/seat', {}, '401 seat-unknown'],
    ['/api/seat', signedIn, '401 seat-unknown'],
    ['/api/seat', bearer(SEAT), seat(7)],
    ['/api/seat', bearer(OTHER_SEAT), seat(8)],
    ['/api/seat', bearer(RECEIPT), '401 seat-unknown'],
    ['/api/seat', bearer('token_of-nobody-at-all'), '401 seat-unknown'],
    ['/api/seat', all, seat(7)],
    ['/api/receipt', {}, '401 receipt-unknown'],
    ['/api/receipt', signedIn, '401 receipt-unknown'],
    ['/api/receipt', bearer(RECEIPT), seat(7)],
    ['/api/receipt', bearer(SEAT), '401 receipt-unknown'],
    ['/api/receipt', bearer('receipt-nobody-ever-had'), '401 receipt-unknown'],
    ['/api/receipt', protocols(`oddglass, seat.${RECEIPT}`), '401 receipt-unknown'],
    ['/page', all, nobody],
  ])('%s with %o', async (url, headers: Sent, answer) => {
    expect(await ask(url, headers)).toEqual(answer);
  });

  test('who is asked for where nobody has to be, is refused, not made up', async () => {
    expect(await ask('/api/open/actor')).toBe('401 not-signed-in');
    expect(await ask('/api/open/actor', signedIn)).toEqual(host.actor);
    expect(await ask('/api/open/seat', bearer(SEAT))).toBe('401 seat-unknown');
    expect(await ask('/api/seat/own', bearer(SEAT))).toBe(7);
  });
});

test.each([
  ['/api/unsaid', {}, true],
  ['/api/unsaid', { access: 'public' as const }, false],
  ['/api/docs/json', {}, false],
  ['/unsaid', {}, false],
])('%s with %o: refused at the start: %s', async (url, config, refused) => {
  const service = await serviceWith(false);
  const register = () => service.get(url, { config }, async () => null);
  if (refused) expect(register).toThrow(`GET ${url} does not say who may call it`);
  else expect(register).not.toThrow();
  expect(() => service.get('/api/nothing', async () => null)).toThrow('does not say who may call it');
  await service.close();
});

describe('a token is taken in one form only', () => {
  const long = (length: number) => 'a'.repeat(length);
  beforeAll(async () => {
    const client = await database.pool.connect();
    await client.query('set session_replication_role = replica');
    for (const [at, token] of [long(21), long(22), long(64), long(65)].entries()) {
      await client.query(
        'insert into seat (id, session_id, number, spare, token_hash) values ($1, $2, $3, false, $4)',
        [`${ID.slice(0, -1)}${30 + at}`, `${ID}2`, 30 + at, hashToken(token)],
      );
    }
    await client.query('set session_replication_role = origin');
    client.release();
  });

  test.each([
    ['22 letters', bearer(long(22)), seat(31)],
    ['64 letters', bearer(long(64)), seat(32)],
    ['too short, though a seat has it', bearer(long(21)), '401 seat-unknown'],
    ['too long, though a seat has it', bearer(long(65)), '401 seat-unknown'],
    ['something before', { authorization: `x Bearer ${SEAT}` }, '401 seat-unknown'],
    ['something after', { authorization: `Bearer ${SEAT} x` }, '401 seat-unknown'],
    ['another scheme', { authorization: `Basic ${SEAT}` }, '401 seat-unknown'],
    ['a subprotocol by itself', protocols(`seat.${SEAT}`), seat(7)],
    ['a subprotocol among others', protocols(`oddglass, seat.${SEAT} , x`), seat(7)],
    ['a subprotocol without blanks', protocols(`oddglass,seat.${SEAT},x`), seat(7)],
    ['a subprotocol of 64', protocols(`seat.${long(64)}`), seat(32)],
    ['a subprotocol of 65', protocols(`seat.${long(65)}`), '401 seat-unknown'],
    ['a subprotocol of 21', protocols(`seat.${long(21)}`), '401 seat-unknown'],
    ['the end of a longer name', protocols(`myseat.${SEAT}`), '401 seat-unknown'],
    ['the beginning of a longer one', protocols(`seat.${SEAT}!`), '401 seat-unknown'],
    ['another word', protocols(`seatX${SEAT}`), '401 seat-unknown'],
    ['both: the header counts', { ...bearer(OTHER_SEAT), ...protocols(`seat.${SEAT}`) }, seat(8)],
  ])('%s', async (_name, headers: Sent, answer) => {
    expect(await ask('/api/seat', headers)).toEqual(answer);
  });
});

describe('from which site', () => {
  const upgrade: Sent = { connection: 'upgrade', upgrade: 'websocket' };
  const refused = '403 foreign-origin';
  const origins: [string, Sent, boolean][] = [
    ['none', {}, true],
    ['this host', { origin: 'http://cellar.local:3000' }, true],
    ['the public host', { origin: 'https://tasting.example' }, true],
    ['another host', { origin: 'https://elsewhere.example' }, false],
    ['another port', { origin: 'http://cellar.local:3001' }, false],
    ['a host that begins alike', { origin: 'http://cellar.local:3000.example' }, false],
    ['null', { origin: 'null' }, false],
    ['no address', { origin: 'cellar.local:3000' }, false],
    [
      'this host, called cross-site',
      { origin: 'http://cellar.local:3000', 'sec-fetch-site': 'cross-site' },
      false,
    ],
    ['none, called cross-site', { 'sec-fetch-site': 'cross-site' }, false],
    ['none, called same-origin', { 'sec-fetch-site': 'same-origin' }, true],
  ];
  test.each(origins)('%s', async (_name, headers, allowed) => {
    for (const method of ['POST', 'DELETE'] as const) {
      expect(await ask('/api/own', { ...signedIn, ...headers }, method)).toEqual(allowed ? host : refused);
    }
    // A socket tells as much as a reader may hear; reading without one is kept from other sites by the browser itself.
    expect(await ask('/api/own', { ...signedIn, ...headers, ...upgrade })).toEqual(allowed ? host : refused);
    expect(await ask('/api/own', { ...signedIn, ...headers })).toEqual(host);
    expect(await ask('/api/own', { ...signedIn, ...headers }, 'HEAD')).toBe('nothing');
  });

  test('no further socket is taken from where there are too many; everything else is', async () => {
    fullFrom = '127.0.0.1';
    expect(await ask('/api/own', { ...signedIn, ...upgrade })).toBe('429 too-many-sockets');
    expect(await ask('/api/own', signedIn)).toEqual(host);
    fullFrom = '192.0.2.1';
    expect(await ask('/api/own', { ...signedIn, ...upgrade })).toEqual(host);
  });
});

describe('a sign-in', () => {
  const lastUsed = async (): Promise<number> => {
    const { rows } = await database.pool.query('select last_used_at from signed_in');
    return rows[0].last_used_at.getTime() - START.getTime();
  };
  const later = (ms: number) => void (now = new Date(START.getTime() + ms));

  test('is noted as used after five minutes, not before, and not by a socket that comes back by itself', async () => {
    later(5 * MINUTE - 1);
    await ask('/api/own', signedIn);
    expect(await lastUsed()).toBe(0);
    later(5 * MINUTE);
    await ask('/api/own', { ...signedIn, connection: 'upgrade', upgrade: 'websocket' });
    expect(await lastUsed()).toBe(0);
    await ask('/api/own', signedIn);
    expect(await lastUsed()).toBe(5 * MINUTE);
  });

  test('that has ended is nobody’s', async () => {
    later(3 * 24 * 60 * MINUTE);
    expect(await ask('/api/own', signedIn)).toBe('401 not-signed-in');
    expect(await ask('/api/open', signedIn)).toEqual(nobody);
  });

  test('over https goes by a name that no other host can set', async () => {
    expect([actorCookie(true), actorCookie(false)]).toEqual(['__Host-oddglass', 'oddglass']);
    const secure = await serviceWith(true);
    expect(await ask('/api/own', signedIn, 'GET', secure)).toBe('401 not-signed-in');
    expect(await ask('/api/own', { cookie: `__Host-oddglass=${SIGN_IN}` }, 'GET', secure)).toEqual(host);
    await secure.close();
  });
});

test('who was let in has turns of their own from then on; who was not has none', async () => {
  for (const [url, headers, token] of [
    ['/api/own', signedIn, SIGN_IN],
    ['/api/seat', bearer(SEAT), SEAT],
  ] as const) {
    expect(turns.isKnown(hashToken(token))).toBe(false);
    await ask(url, headers);
    expect(turns.isKnown(hashToken(token))).toBe(true);
  }
  await ask('/api/seat', bearer('token_of-nobody-at-all'));
  await ask('/api/own', { cookie: 'oddglass=somebody-elses-token-0' });
  expect(turns.isKnown(hashToken('token_of-nobody-at-all'))).toBe(false);
  expect(turns.isKnown(hashToken('somebody-elses-token-0'))).toBe(false);
});
