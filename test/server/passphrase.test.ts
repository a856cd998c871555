import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { Caller, firstHost, startServer, type Hosted, type TestServer } from '../support/app.ts';
import { PASSPHRASE } from '../support/factories.ts';

// Which passphrases are refused. The list of common ones is a package's; what stands here was tried by hand on it.

let server: TestServer;
let host: Hosted;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app, 'Mira Oakwell');
});
afterAll(() => server.close());

const change = (next: string) =>
  host.caller.call<ProblemDocument>('POST', '/api/me/passphrase', { current: PASSPHRASE, next });

test.each([
  '123456789012',
  'aaaaaaaaaaaa',
  'passwordpassword',
  'P@ssw0rd1234',
  'qwertyuiop12',
  'zaq12wsxcde3',
  'iloveyou1234',
  'Mira Oakwell 2031',
  'miraoakwellmiraoakwell',
  'm.oakwell.mira!',
  'oddglass oddglass',
])('%s is refused, at its field', async (next) => {
  const { status, body } = await change(next);
  expect([status, body.type]).toEqual([400, '/problems/invalid-input']);
  expect(body.errors?.[0]?.pointer).toBe('#/next');
  expect(body.errors?.[0]?.detail).toMatch(/guess/);
});

test.each([
  'five other words this time',
  'tschüss wir gehen heim',
  'plum-kettle-ferry-dusk',
  '我们今天晚上在这里喝酸啤酒吧',
])('%s is taken', async (next) => {
  expect((await change(next)).status).toBe(200);
  await host.caller.ok('POST', '/api/me/passphrase', { current: next, next: PASSPHRASE });
});

test('an invitation is not used up by a passphrase that is refused', async () => {
  const { token } = await host.caller.ok<{ token: string }>('POST', `/api/panels/${host.panel}/invitations`, {
    role: 'steward',
  });
  const accept = (passphrase: string) =>
    new Caller(server.app).call<ProblemDocument>('POST', '/api/invitations/accept', {
      token,
      name: 'Tove Steward',
      passphrase,
    });
  const refused = await accept('tove steward 1');
  expect(refused.body.errors?.[0]?.pointer).toBe('#/passphrase');
  expect((await accept(PASSPHRASE)).status).toBe(200);
});

test('the first host is asked for one too', async () => {
  const empty = await startServer();
  const token = await empty.app.firstHostToken();
  const { status } = await new Caller(empty.app).call('POST', '/api/first-host', {
    token,
    panel: 'Cellar',
    name: 'Host',
    passphrase: 'cellar cellar',
  });
  expect(status).toBe(400);
  await empty.close();
});
