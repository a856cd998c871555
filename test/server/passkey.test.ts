import { buildApp } from '@oddglass/server/app.ts';
import { openDb } from '@oddglass/db/client.ts';
import { issuePassphraseToken } from '@oddglass/server/features/account/sign-in.service.ts';
import { passkeyPlaceOf } from '@oddglass/server/access/passkey-place.ts';
import type { SignInViews } from '@oddglass/shared/contracts/account.ts';
import type { PasskeyCreation, PasskeyRequest, SecondFactors } from '@oddglass/shared/contracts/passkey.ts';
import type { FastifyInstance } from 'fastify';
import { randomBytes } from 'node:crypto';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { Caller, firstHost, invited, startServer, type Hosted, type TestServer } from '../support/app.ts';
import { Authenticator } from '../support/authenticator.ts';
import { PASSPHRASE } from '../support/factories.ts';

// A passkey or a recovery code is asked for after a right passphrase, where the owner wants it so. Every check that Web
// Authentication Level 3 (W3C, 7.1 and 7.2) asks of a server is bent once: challenge, origin, type, owner, counter.

const ORIGIN = 'https://tasting.example';
const MINUTE = 60_000;
const lines: Record<string, unknown>[] = [];
let server: TestServer;
let second: FastifyInstance;
let host: Hosted;
let steward: Hosted;

beforeAll(async () => {
  const stream = { write: (line: string) => void lines.push(JSON.parse(line) as Record<string, unknown>) };
  server = await startServer({ publicUrl: ORIGIN, logger: { level: 'warn', stream } });
  second = await buildApp({
    pool: server.database.pool,
    databaseUrl: server.database.url,
    clock: () => server.clock.now,
    publicUrl: ORIGIN,
  });
  await second.ready();
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Steward');
});
afterAll(async () => {
  await second.close();
  await server.close();
});
// Nothing counted, nobody's passkeys from the test before.
beforeEach(async () => {
  server.clock.now = new Date(server.clock.now.getTime() + 60 * MINUTE);
  await server.database.pool.query('delete from passkey; delete from recovery_code');
});

const events = (kind: string) => lines.filter(({ security }) => security === kind);
const offer = (who: Hosted) =>
  who.caller.ok<PasskeyCreation>('POST', '/api/me/passkeys/offer', { passphrase: PASSPHRASE });
const add = (who: Hosted, made: unknown, name = 'Phone') =>
  who.caller.call<{ secondFactors: SecondFactors; codes: string[] | null }>('POST', '/api/me/passkeys', {
    name,
    made,
  });

async function withPasskey(who: Hosted): Promise<{ authenticator: Authenticator; codes: string[] }> {
  const authenticator = new Authenticator(ORIGIN);
  const { status, body } = await add(who, authenticator.make(await offer(who)));
  expect(status).toBe(200);
  return { authenticator, codes: body.codes ?? [] };
}

async function knowsPassphrase(name = 'Host', app = server.app): Promise<Caller> {
  const caller = new Caller(app);
  const { status, body } = await caller.call('POST', '/api/sign-in', { name, passphrase: PASSPHRASE });
  expect([status, body]).toMatchObject([202, { secondFactor: { passkey: true } }]);
  return caller;
}
const asked = (caller: Caller) => caller.ok<PasskeyRequest>('POST', '/api/sign-in/passkey/offer');
const show = async (caller: Caller, signed: unknown) =>
  (await caller.call('POST', '/api/sign-in/passkey', { signed })).status;
const tell = async (caller: Caller, code: string) =>
  (await caller.call('POST', '/api/sign-in/recovery-code', { code })).status;
const isIn = async (caller: Caller) => (await caller.call('GET', '/api/me')).status === 200;

test('an account without passkeys signs in as before', async () => {
  const caller = new Caller(server.app);
  const answer = await caller.call('POST', '/api/sign-in', { name: 'Host', passphrase: PASSPHRASE });
  expect(answer.status).toBe(200);
  expect(Object.keys(answer.body).sort()).toEqual(['id', 'name', 'panels']);
  expect(String(answer.headers['set-cookie'])).not.toContain('pending');
});

test('after the passphrase a passkey signs in, once for each challenge, on any process', async () => {
  const { authenticator } = await withPasskey(host);
  const caller = await knowsPassphrase();
  expect(await isIn(caller)).toBe(false);
  const other = new Caller(second);
  other.cookie = caller.cookie;
  const signed = authenticator.sign(await asked(caller));
  expect(await show(other, signed)).toBe(200);
  expect(await isIn(other)).toBe(true);
  const { signIns } = await other.ok<SignInViews>('GET', '/api/me/sign-ins');
  expect(signIns.find(({ here }) => here)?.by).toBe('passkey');
  // The same once more: the pending sign-in is used up, and so is the challenge in a new one.
  expect(await show(caller, signed)).toBe(401);
  expect(await show(await knowsPassphrase(), signed)).toBe(401);
  const { passkeys } = await other.ok<SecondFactors>('GET', '/api/me/passkeys');
  expect(passkeys).toMatchObject([{ name: 'Phone', here: true, lastUsedAt: server.clock.now.toISOString() }]);
});

test('whoever has the passphrase only learns that a second factor is asked for', async () => {
  await withPasskey(host);
  const wrong = await new Caller(server.app).call('POST', '/api/sign-in', { name: 'Host', passphrase: 'no' });
  const nobody = await new Caller(server.app).call('POST', '/api/sign-in', { name: 'No', passphrase: 'no' });
  const said = ({ status, body, headers }: typeof wrong) => [
    status,
    { ...body, instance: '' },
    headers['set-cookie'],
  ];
  expect(said(wrong)).toEqual(said(nobody));
  const stranger = new Caller(server.app);
  expect((await stranger.call('POST', '/api/sign-in/passkey/offer')).status).toBe(401);
  expect(await tell(stranger, 'AAAA-CCCC-DDDD')).toBe(401);
  const { rows } = await server.database.pool.query<{ token_hash: string }>('select * from pending_sign_in');
  const caller = await knowsPassphrase();
  expect(caller.cookie).toMatch(/oddglass-pending=[\w-]{22}$/);
  for (const { token_hash } of rows) expect(caller.cookie).not.toContain(token_hash);
});

test.each<[string, (it: Authenticator, request: PasskeyRequest) => unknown]>([
  ['another site', (it, request) => it.sign(request, { origin: 'https://tasting.example.net' })],
  ['plain http', (it, request) => it.sign(request, { origin: 'http://tasting.example' })],
  ['another name', (it, request) => it.sign({ ...request, rpId: 'example.net' })],
  ['a challenge of its own', (it, request) => it.sign(request, { challenge: 'A'.repeat(43) })],
  ['the making of a passkey', (it, request) => it.sign(request, { type: 'webauthn.create' })],
  [
    'another key',
    (it, request) => ({ ...new Authenticator(ORIGIN).sign(request), id: named(it), rawId: named(it) }),
  ],
])('what was signed for or by %s is refused, and its challenge is gone', async (_what, bend) => {
  const { authenticator } = await withPasskey(host);
  const caller = await knowsPassphrase();
  const request = await asked(caller);
  expect(await show(caller, bend(authenticator, request))).toBe(401);
  expect(events('second-factor-refused').at(-1)).toMatchObject({ account: 'Host', by: 'passkey' });
  expect(await isIn(caller)).toBe(false);
  expect(await show(caller, authenticator.sign(await asked(caller)))).toBe(200);
});
const named = (it: Authenticator) => it.id.toString('base64url');

test('a passkey of somebody else does not open the account, nor one asked for elsewhere', async () => {
  const { authenticator } = await withPasskey(host);
  const { authenticator: others } = await withPasskey(steward);
  const caller = await knowsPassphrase();
  expect(await show(caller, others.sign(await asked(caller)))).toBe(401);
  // The owner's own signature, made in another browser for another pending sign-in.
  const elsewhere = await knowsPassphrase();
  const signed = authenticator.sign(await asked(elsewhere));
  expect(await show(caller, signed)).toBe(401);
  expect(await show(elsewhere, signed)).toBe(200);
});

test('a counter that goes back or stands still is refused', async () => {
  const { authenticator } = await withPasskey(host);
  for (const [counter, status] of [
    [7, 200],
    [7, 401],
    [3, 401],
    [8, 200],
  ] as const) {
    authenticator.counter = counter;
    const caller = await knowsPassphrase();
    expect(await show(caller, authenticator.sign(await asked(caller))), String(counter)).toBe(status);
  }
});

test('challenge and pending sign-in end after five minutes', async () => {
  const { authenticator, codes } = await withPasskey(host);
  const creation = await offer(host);
  const caller = await knowsPassphrase();
  const request = await asked(caller);
  server.clock.now = new Date(server.clock.now.getTime() + 5 * MINUTE);
  expect(await show(caller, authenticator.sign(request))).toBe(401);
  expect(await tell(caller, codes[0]!)).toBe(401);
  expect((await add(host, new Authenticator(ORIGIN).make(creation))).status).toBe(409);
});

test('a passkey is made once for each offer, for this site, in the browser that asked', async () => {
  const bent = new Authenticator(ORIGIN);
  expect((await add(host, bent.make(await offer(host), { origin: 'https://evil.example' }))).status).toBe(
    409,
  );
  const creation = await offer(host);
  expect((await add(steward, bent.make(creation))).status).toBe(409);
  const made = bent.make(creation);
  expect((await add(host, made)).status).toBe(200);
  expect((await add(host, made)).status).toBe(409);
  // A challenge to sign in with makes none; a known passkey is nobody else's.
  const caller = await knowsPassphrase();
  const { challenge } = await asked(caller);
  expect((await add(host, new Authenticator(ORIGIN).make({ ...creation, challenge }))).status).toBe(409);
  expect((await add(steward, bent.make(await offer(steward)))).status).toBe(409);
  expect(creation).toMatchObject({ rp: { id: 'tasting.example' }, attestation: 'none' });
});

test('ten recovery codes come with the first passkey; each works once, and drawn anew the old ones end', async () => {
  const { codes } = await withPasskey(host);
  expect(new Set(codes).size).toBe(10);
  const { rows } = await server.database.pool.query('select * from recovery_code');
  for (const code of codes) expect(JSON.stringify(rows)).not.toContain(code.replaceAll('-', ''));
  expect((await add(host, new Authenticator(ORIGIN).make(await offer(host)), 'Key')).body.codes).toBeNull();

  const caller = await knowsPassphrase();
  expect(await tell(caller, codes[3]!.toLowerCase().replaceAll('-', ' '))).toBe(200);
  const { signIns } = await caller.ok<SignInViews>('GET', '/api/me/sign-ins');
  expect(signIns.find(({ here }) => here)?.by).toBe('recovery-code');
  expect(events('recovery-code-used').at(-1)).toMatchObject({ account: 'Host', left: 9 });
  expect(await tell(await knowsPassphrase(), codes[3]!)).toBe(401);

  // Of two browsers that use one at once, one gets in.
  const both = [await knowsPassphrase(), await knowsPassphrase()];
  expect((await Promise.all(both.map((one) => tell(one, codes[4]!)))).sort()).toEqual([200, 401]);

  const path = '/api/me/recovery-codes';
  expect((await host.caller.call('POST', path, { passphrase: 'not this one' })).status).toBe(400);
  const drawn = await host.caller.ok<{ codes: string[] }>('POST', path, { passphrase: PASSPHRASE });
  expect(await tell(await knowsPassphrase(), codes[0]!)).toBe(401);
  expect(await tell(await knowsPassphrase(), drawn.codes[0]!)).toBe(200);
  expect((await host.caller.ok<SecondFactors>('GET', '/api/me/passkeys')).recoveryCodesLeft).toBe(9);
  const log = JSON.stringify(lines);
  for (const code of [...codes, ...drawn.codes]) expect(log).not.toContain(code);
});

test('wrong codes and passkeys are counted together, and a new pending sign-in does not help', async () => {
  const { authenticator, codes } = await withPasskey(host);
  const guesses = Array.from({ length: 20 }, (_, guess) => guess);
  const first = await knowsPassphrase();
  const found = await Promise.all(guesses.map(() => tell(first, 'AAAA-CCCC-DDDD')));
  expect(found.filter((status) => status === 401)).toHaveLength(10);
  expect(found.filter((status) => status === 429)).toHaveLength(10);
  const again = await knowsPassphrase();
  expect(await tell(again, codes[0]!)).toBe(429);
  expect(await show(again, authenticator.sign(await asked(again)))).toBe(429);
});

test('removing and adding ask for the passphrase; with the last passkey the codes go', async () => {
  await withPasskey(host);
  const path = '/api/me/passkeys';
  const [one] = (await host.caller.ok<SecondFactors>('GET', path)).passkeys;
  const wrong = { passphrase: 'not this one' };
  for (const route of [`${path}/offer`, `${path}/${one!.id}/remove`])
    expect((await host.caller.call('POST', route, wrong)).body).toMatchObject({
      errors: [{ pointer: '#/passphrase' }],
    });
  const right = { passphrase: PASSPHRASE };
  expect((await steward.caller.call('POST', `${path}/${one!.id}/remove`, right)).status).toBe(404);
  expect((await steward.caller.call('PUT', `${path}/${one!.id}`, { name: 'Mine' })).status).toBe(404);
  expect(await host.caller.ok('PUT', `${path}/${one!.id}`, { name: 'Old phone' })).toMatchObject({
    passkeys: [{ name: 'Old phone' }],
  });
  expect(await host.caller.ok('POST', `${path}/${one!.id}/remove`, right)).toMatchObject({
    passkeys: [],
    recoveryCodesLeft: 0,
  });
  expect(events('second-factor-added')[0]).toMatchObject({ account: 'Host' });
  expect(events('second-factor-removed')[0]).toMatchObject({ account: 'Host', by: 'owner' });
  expect((await host.caller.call('POST', '/api/me/recovery-codes', right)).status).toBe(404);
});

test('a link from whoever runs the machine takes second factors away, once it is opened', async () => {
  await withPasskey(steward);
  const link = (await issuePassphraseToken(
    {
      db: openDb(server.database.pool),
      clock: () => server.clock.now,
      random: { bytes: (count) => new Uint8Array(randomBytes(count)) },
    },
    'Steward',
  ))!;
  const waiting = await knowsPassphrase('Steward');
  await new Caller(server.app).ok('POST', '/api/passphrase', { token: link, passphrase: PASSPHRASE });
  expect((await waiting.call('POST', '/api/sign-in/passkey/offer')).status).toBe(401);
  const caller = new Caller(server.app);
  await caller.ok('POST', '/api/sign-in', { name: 'Steward', passphrase: PASSPHRASE });
  expect(await caller.ok('GET', '/api/me/passkeys')).toMatchObject({ passkeys: [], recoveryCodesLeft: 0 });
  expect(events('second-factor-removed').at(-1)).toMatchObject({ account: 'Steward', by: 'link' });
});

test('a new passphrase ends sign-ins that wait for a second factor', async () => {
  const fresh = await invited(host, 'steward', 'Fresh');
  const { codes } = await withPasskey(fresh);
  const waiting = await knowsPassphrase('Fresh');
  const change = { current: PASSPHRASE, next: 'five other words this time' };
  await fresh.caller.ok('POST', '/api/me/passphrase', change);
  expect(await tell(waiting, codes[0]!)).toBe(401);
});

test('passkeys are offered where browsers have them: https or localhost, under a name', () => {
  expect(passkeyPlaceOf('https://tasting.example:8443')).toEqual({
    origin: 'https://tasting.example:8443',
    place: 'tasting.example',
  });
  expect(passkeyPlaceOf('http://localhost:8080')).toMatchObject({ place: 'localhost' });
  expect(passkeyPlaceOf('http://tasting.example')).toEqual({ lacks: 'https' });
  expect(passkeyPlaceOf('http://192.0.2.7:8080')).toEqual({ lacks: 'https' });
  expect(passkeyPlaceOf('https://192.0.2.7')).toEqual({ lacks: 'name' });
  expect(passkeyPlaceOf('https://[2001:db8::1]')).toEqual({ lacks: 'name' });
});

test('on plain http none can be added, and a recovery code still signs in', async () => {
  const { codes } = await withPasskey(host);
  const plain = await buildApp({
    pool: server.database.pool,
    databaseUrl: server.database.url,
    clock: () => server.clock.now,
    publicUrl: 'http://tasting.example',
  });
  await plain.ready();
  const caller = new Caller(plain);
  const answer = await caller.call('POST', '/api/sign-in', { name: 'Host', passphrase: PASSPHRASE });
  expect(answer).toMatchObject({ status: 202, body: { secondFactor: { passkey: false } } });
  expect((await caller.call('POST', '/api/sign-in/passkey/offer')).status).toBe(409);
  expect(await tell(caller, codes[0]!)).toBe(200);
  expect(await caller.ok('GET', '/api/me/passkeys')).toMatchObject({ origin: null, lacks: 'https' });
  const offered = await caller.call('POST', '/api/me/passkeys/offer', { passphrase: PASSPHRASE });
  expect(offered.body).toMatchObject({ type: '/problems/passkeys-elsewhere' });
  await plain.close();
});
