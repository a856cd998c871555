import type { ActorView } from '@oddglass/shared/contracts/account.ts';
import { expect, test } from 'vitest';
import { Caller, draft, moved, newTrial, usePanel, type Hosted, type TestServer } from '../support/app.ts';
import { PASSPHRASE } from '../support/factories.ts';

let server: TestServer;
let host: Hosted;

usePanel((panel) => ({ server, host } = panel));

const signIn = async (passphrase: string) => {
  const caller = new Caller(server.app);
  return {
    caller,
    answer: await caller.call<ActorView>('POST', '/api/sign-in', { name: 'host', passphrase }),
  };
};

test('a passphrase is stored as an argon2id hash, a session cookie is http-only and same-site', async () => {
  const { rows } = await server.database.pool.query<{ passphrase_hash: string }>(
    'select passphrase_hash from account',
  );
  expect(rows[0]?.passphrase_hash).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$/);
  const { answer } = await signIn(PASSPHRASE);
  expect(String(answer.headers['set-cookie'])).toMatch(/HttpOnly; SameSite=Lax/);
  expect(answer.text).not.toContain('hash');
});

test('names are taken without regard to case', async () => {
  const caller = new Caller(server.app);
  expect((await caller.call('POST', '/api/sign-in', { name: 'HOST', passphrase: PASSPHRASE })).status).toBe(
    200,
  );
});

test('a new passphrase signs every other browser out, and the old one no longer opens', async () => {
  const here = await signIn(PASSPHRASE);
  const there = await signIn(PASSPHRASE);
  const next = 'five other words this time';
  const wrong = await here.caller.call('POST', '/api/me/passphrase', {
    current: 'not this one at all',
    next,
  });
  expect(wrong.body).toMatchObject({ type: '/problems/invalid-input', errors: [{ pointer: '#/current' }] });
  await here.caller.ok('POST', '/api/me/passphrase', { current: PASSPHRASE, next });
  expect((await here.caller.call('GET', '/api/me')).status).toBe(200);
  expect((await there.caller.call('GET', '/api/me')).status).toBe(401);
  expect((await signIn(PASSPHRASE)).answer.status).toBe(401);
  await here.caller.ok('POST', '/api/me/passphrase', { current: next, next: PASSPHRASE });
  host.caller.cookie = here.caller.cookie;
});

test('signing out ends the session on the server, and a session ends by itself', async () => {
  const { caller } = await signIn(PASSPHRASE);
  const { cookie } = caller;
  await caller.ok('POST', '/api/sign-out', {});
  caller.cookie = cookie;
  expect((await caller.call('GET', '/api/me')).status).toBe(401);
  const later = await signIn(PASSPHRASE);
  server.clock.now = new Date(server.clock.now.getTime() + 15 * 86_400_000);
  expect((await later.caller.call('GET', '/api/me')).status).toBe(401);
  host = { ...host, caller: (await signIn(PASSPHRASE)).caller };
});

test('a new join code shuts the old one, and closing shuts every way in', async () => {
  const open = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
  const knock = (way: object) => new Caller(server.app).call('POST', '/api/join', way);
  expect(open.join?.code).toMatch(/^[ACDEFGHJKMNPQRTVWXY34679]{8}$/);
  expect(Buffer.from(open.join!.token, 'base64url').length).toBe(16);
  expect((await knock({ code: open.join!.code.toLowerCase().replace(/^(.{4})/, '$1 · ') })).status).toBe(200);
  const fresh = await moved(host, open, 'join-code');
  expect((await knock({ code: open.join!.code })).status).toBe(403);
  expect((await knock({ token: open.join!.token })).status).toBe(403);
  expect((await knock({ code: fresh.join!.code })).status).toBe(200);
  const closed = await moved(host, fresh, 'close');
  expect(closed.join).toBeNull();
  expect((await knock({ token: fresh.join!.token })).status).toBe(403);
});

test('the demo is marked as invented wherever it is read', async () => {
  const panel = await host.caller.ok<{ demo: boolean; sessions: { id: string; state: string }[] }>(
    'POST',
    '/api/panels/demo',
    {},
  );
  expect(panel.demo).toBe(true);
  expect(panel.sessions.map(({ state }) => state).sort()).toEqual([
    'open',
    'revealed',
    'revealed',
    'revealed',
    'revealed',
    'revealed',
  ]);
  const revealed = panel.sessions.find(({ state }) => state === 'revealed')!;
  const result = await host.caller.ok<{ session: { demo: boolean } }>(
    'GET',
    `/api/sessions/${revealed.id}/result`,
  );
  expect(result.session.demo).toBe(true);
});
