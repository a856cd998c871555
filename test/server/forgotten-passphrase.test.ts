import { openDb } from '@oddglass/db/client.ts';
import { issuePassphraseToken } from '@oddglass/server/features/account/sign-in.service.ts';
import type { ActorView } from '@oddglass/shared/contracts/account.ts';
import { randomBytes } from 'node:crypto';
import { beforeAll, expect, test } from 'vitest';
import { Caller, invited, usePanel, type Hosted, type TestServer } from '../support/app.ts';
import { PASSPHRASE } from '../support/factories.ts';

// Whoever runs the machine makes a link for somebody who forgot their passphrase; it works once, and for an hour.

let server: TestServer;
let host: Hosted;
const NEXT = 'five other words this time';

usePanel((panel) => ({ server, host } = panel));
beforeAll(async () => {
  await invited(host, 'steward', 'Steward');
});

const link = (name: string) =>
  issuePassphraseToken(
    {
      db: openDb(server.database.pool),
      clock: () => server.clock.now,
      random: { bytes: (count) => new Uint8Array(randomBytes(count)) },
    },
    name,
  );
const replace = (token: string, passphrase: string, caller = new Caller(server.app)) =>
  caller.call<ActorView>('POST', '/api/passphrase', { token, passphrase });
const signIn = async (passphrase: string) =>
  (await new Caller(server.app).call('POST', '/api/sign-in', { name: 'Host', passphrase })).status;

test('a link gives one new passphrase, signs in here and out everywhere else', async () => {
  const token = (await link('hOST'))!;
  const here = new Caller(server.app);
  const answer = await replace(token, NEXT, here);
  expect([answer.status, answer.body.name]).toEqual([200, 'Host']);
  expect((await here.call('GET', '/api/me')).status).toBe(200);
  expect((await host.caller.call('GET', '/api/me')).status).toBe(401);
  expect([await signIn(PASSPHRASE), await signIn(NEXT)]).toEqual([401, 200]);
  expect((await replace(token, PASSPHRASE)).body).toMatchObject({ type: '/problems/link-expired' });
});

test('a passphrase that is easily guessed does not use the link up', async () => {
  const token = (await link('Host'))!;
  expect((await replace(token, 'host host host')).status).toBe(400);
  expect((await replace(token, PASSPHRASE)).status).toBe(200);
});

test('an hour later, after a newer link, or for nobody there is none', async () => {
  const first = (await link('Host'))!;
  const second = (await link('Host'))!;
  expect((await replace(first, NEXT)).status).toBe(410);
  server.clock.now = new Date(server.clock.now.getTime() + 3_600_000);
  expect((await replace(second, NEXT)).status).toBe(410);
  expect(await link('Nobody')).toBeNull();
  expect(await signIn(PASSPHRASE)).toBe(200);
});

test('of two that use a link at once one does', async () => {
  const token = (await link('Steward'))!;
  const answers = await Promise.all([replace(token, NEXT), replace(token, 'six words of another kind here')]);
  expect(answers.map(({ status }) => status).sort()).toEqual([200, 410]);
});

test('links cannot be tried out', async () => {
  server.clock.now = new Date(server.clock.now.getTime() + 3_600_000);
  const answers = await Promise.all(Array.from({ length: 60 }, () => replace('A'.repeat(22), NEXT)));
  expect(answers.filter(({ status }) => status === 410)).toHaveLength(20);
  expect(answers.filter(({ status }) => status === 429)).toHaveLength(40);
});
