import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { SecurityLog } from '@oddglass/server/guard/security-log.ts';
import { readConfig } from '@oddglass/server/boot/config.ts';
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

// What an operator finds in the log without having asked for more, and that nothing in it opens anything.

interface Line {
  level: number;
  security?: string;
  [fact: string]: unknown;
}
const lines: string[] = [];
const events = (security: string): Line[] =>
  lines.map((line) => JSON.parse(line) as Line).filter((line) => line.security === security);

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let open: SessionView;
const secrets: string[] = [];

beforeAll(async () => {
  const { logLevel } = readConfig({});
  server = await startServer({
    logger: { level: logLevel, stream: { write: (line: string) => void lines.push(line) } },
  });
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Steward');
  open = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
});
afterAll(() => server.close());

const signIn = async (name: string, passphrase: string) => {
  const caller = new Caller(server.app);
  const answer = await caller.call('POST', '/api/sign-in', { name, passphrase });
  return { caller, status: answer.status };
};

test('a failed sign-in is told with the account it was for, and never with what was typed', async () => {
  await signIn('Host', 'a guess nobody makes');
  await signIn('my secret typed as a name', 'a guess nobody makes');
  expect(events('sign-in-failed')).toMatchObject([
    { level: 40, account: 'Host', address: '127.0.0.1' },
    { account: null },
  ]);
  expect(lines.join()).not.toMatch(/a guess nobody makes|my secret typed/);
});

test('invitations, refused roles, readings of the key, passphrases and ends are told', async () => {
  const invitation = await host.caller.ok<{ token: string }>(
    'POST',
    `/api/panels/${host.panel}/invitations`,
    { role: 'steward' },
  );
  secrets.push(invitation.token);
  expect(events('invitation-made').at(-1)).toMatchObject({
    account: 'Host',
    role: 'steward',
    panel: host.panel,
  });
  expect(events('invitation-accepted').map(({ account, role }) => [account, role])).toEqual([
    ['Host', 'host'],
    ['Steward', 'steward'],
  ]);

  await steward.caller.call('POST', `/api/panels/${host.panel}/invitations`, { role: 'host' });
  await host.caller.call('GET', `/api/sessions/${open.id}/pour`);
  expect(events('role-refused')).toMatchObject([
    { account: 'Steward', route: 'POST /api/panels/:panel/invitations' },
    { account: 'Host', route: 'GET /api/sessions/:session/pour' },
  ]);

  for (let look = 0; look < 3; look++) await steward.caller.ok('GET', `/api/sessions/${open.id}/pour`);
  expect(events('key-read')).toMatchObject([{ account: 'Steward', session: open.id }]);
  await moved(host, open, 'take-key');
  await host.caller.ok('GET', `/api/sessions/${open.id}/pour`);
  expect(events('key-read').map(({ account }) => account)).toEqual(['Steward', 'Host']);

  const { caller } = await signIn('Host', PASSPHRASE);
  secrets.push(caller.cookie!.split('=')[1]!);
  const next = 'five other words this time';
  await caller.ok('POST', '/api/me/passphrase', { current: PASSPHRASE, next });
  expect(events('passphrase-changed')).toMatchObject([{ account: 'Host' }]);
  await caller.ok('POST', '/api/sign-out', {});
  expect(events('sign-in-ended').at(-1)).toMatchObject({ account: 'Host', by: 'sign-out' });
  secrets.push(PASSPHRASE, next, open.join!.token, open.join!.code, host.caller.cookie!.split('=')[1]!);
});

test('a request of another site is told, by its route', async () => {
  await server.app.inject({
    method: 'POST',
    url: '/api/sign-out',
    headers: { origin: 'https://elsewhere.example' },
  });
  expect(events('foreign-request')).toMatchObject([{ route: 'POST /api/sign-out' }]);
});

test('many of a kind are counted instead of written', async () => {
  const before = events('sign-in-failed').length;
  for (let guess = 0; guess < 60; guess++) await signIn(`nobody ${guess}`, 'wrong');
  expect(events('sign-in-failed')).toHaveLength(10);
  await server.app.close();
  expect(events('sign-in-failed').at(-1)).toMatchObject({ more: before + 60 - 10 });
});

test('nothing in the log opens anything', () => {
  expect(secrets.length).toBeGreaterThan(6);
  expect(secrets.filter((secret) => lines.join('\n').includes(secret))).toEqual([]);
  expect(lines.join('\n')).not.toMatch(/argon2/);
});

test('a new minute is written anew', () => {
  const told: object[] = [];
  const log = new SecurityLog({ warn: (facts: object) => void told.push(facts) } as never);
  for (let time = 0; time < 25; time++) log.note('role-refused', { account: 'Host' });
  expect(told).toHaveLength(10);
  log.tellRest();
  log.note('role-refused', { account: 'Host' });
  expect(told.slice(10)).toEqual([
    { security: 'role-refused', more: 15 },
    { security: 'role-refused', account: 'Host' },
  ]);
  log.close();
  expect(told).toHaveLength(12);
});
