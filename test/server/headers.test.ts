import { connect } from 'node:net';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import { Caller, firstHost, startServer, type TestServer } from '../support/app.ts';

// What every answer says to the browser, and requests that are not what they claim to be.

// A stand-in for the built pages: what they are asked with is what matters here.
const pages: WebHandler = (request, response) => {
  response.setHeader('content-type', 'text/html');
  response.end(`by ${request.headers['x-forwarded-proto']}`);
};
const REQUEST_MS = 2_000;
let plain: TestServer;
let proxied: TestServer;
let port: number;

beforeAll(async () => {
  plain = await startServer({ webHandler: pages, requestMs: REQUEST_MS });
  proxied = await startServer({
    webHandler: pages,
    secure: true,
    publicUrl: 'https://tasting.example:8443',
    trustProxy: true,
  });
  const address = await plain.app.listen({ port: 0, host: '127.0.0.1' });
  port = Number(new URL(address).port);
  await firstHost(plain.app);
});
afterAll(async () => {
  await plain.close();
  await proxied.close();
});

const PATHS = ['/api/health', '/api/me', '/api/nothing', '/api/docs/json', '/api/docs/', '/bench', '/'];

test.each(PATHS)('%s says what a page may do, and that it is not kept', async (url) => {
  const { headers } = await plain.app.inject({ url });
  expect(headers['permissions-policy']).toContain('camera=(), ');
  expect(headers['permissions-policy']).toContain('geolocation=(), ');
  // Passkeys, for pages of our own.
  expect(headers['permissions-policy']).toContain('publickey-credentials-get=(self)');
  expect(headers['x-content-type-options']).toBe('nosniff');
  expect(headers['strict-transport-security']).toBeUndefined();
  expect(headers['cache-control']).toBe('no-store');
});

test('no policy names another host', async () => {
  for (const url of [...PATHS, '/api/docs/static/index.html']) {
    const policy = String((await plain.app.inject({ url })).headers['content-security-policy'] ?? '');
    expect(policy, url).not.toMatch(/https?:|wss?:|\b[a-z]+\.[a-z]{2,}\b/);
  }
});

test('over https the cookie belongs to this host alone, and browsers stay on https', async () => {
  const caller = new Caller(proxied.app);
  const answer = await caller.call('POST', '/api/first-host', {
    token: await proxied.app.firstHostToken(),
    panel: 'Cellar',
    name: 'Host',
    passphrase: 'four words in a row',
  });
  // RFC 6265bis: Secure, Path=/ and no Domain, or browsers refuse the name.
  expect(String(answer.headers['set-cookie'])).toMatch(
    /^__Host-oddglass=[\w-]{22}; Max-Age=\d+; Path=\/; HttpOnly; Secure; SameSite=Lax$/,
  );
  expect(answer.headers['strict-transport-security']).toBe('max-age=31536000');
  expect((await caller.call('GET', '/api/me')).status).toBe(200);
  // The name that a page on plain http could set is nothing here.
  caller.cookie = caller.cookie!.replace('__Host-', '');
  expect((await caller.call('GET', '/api/me')).status).toBe(401);
});

test('signing out empties the browser’s cache, and nothing else of it', async () => {
  const caller = new Caller(plain.app);
  const credentials = { name: 'Host', passphrase: 'four words in a row' };
  await caller.ok('POST', '/api/sign-in', credentials);
  const { headers } = await caller.call('POST', '/api/sign-out', {});
  expect(headers['clear-site-data']).toBe('"cache"');
});

test.each([
  ['tasting.example:8443', 200],
  ['TASTING.example', 200],
  ['localhost:8080', 200],
  ['127.0.0.1:8080', 200],
  ['192.168.1.20:8080', 200],
  ['[::1]:8080', 200],
  ['app:8080', 200],
  ['rebound.example', 421],
  ['tasting.example.rebound.example', 421],
  ['1.2.3.4.rebound.example:8443', 421],
])('with a public address, a request for %s is answered %i', async (host, status) => {
  for (const url of ['/api/health', '/bench']) {
    const answer = await proxied.app.inject({ url, headers: { host } });
    expect(answer.statusCode, url).toBe(status);
    if (status === 421) expect(answer.json()).toMatchObject({ type: '/problems/wrong-host' });
  }
});

test('without one, any name leads here', async () => {
  expect((await plain.app.inject({ url: '/bench', headers: { host: 'cellar.lan' } })).statusCode).toBe(200);
});

test.each(['javascript', 'http, javascript', 'https:', 'x', ''])(
  'X-Forwarded-Proto "%s" of a believed proxy is a bad request at most',
  async (proto) => {
    for (const url of ['/bench', '/api/health', '/p/somewhere']) {
      const { statusCode } = await proxied.app.inject({
        url,
        headers: { host: 'tasting.example', 'x-forwarded-proto': proto },
      });
      expect([200, 400, 404], `${url} ${statusCode}`).toContain(statusCode);
    }
    const bench = await proxied.app.inject({
      url: '/bench',
      headers: { host: 'tasting.example', 'x-forwarded-proto': 'javascript' },
    });
    expect(bench.statusCode).toBe(400);
  },
);

test('a proxy that is not believed is told of once, for everybody behind it counts as one', async () => {
  const lines: string[] = [];
  const logger = { level: 'warn', stream: { write: (line: string) => void lines.push(line) } };
  for (const [trustProxy, told] of [
    [false, 1],
    [true, 0],
  ] as const) {
    lines.length = 0;
    const server = await startServer({ logger, trustProxy });
    for (const visitor of ['192.0.2.1', '192.0.2.2'])
      await server.app.inject({ url: '/api/health', headers: { 'x-forwarded-for': visitor } });
    expect(lines.filter((line) => line.includes('TRUST_PROXY'))).toHaveLength(told);
    await server.close();
  }
});

/** What the server says to these bytes until it hangs up; 'open' when it does not within `ms`. */
function say(bytes: string, ms: number): Promise<string> {
  return new Promise((resolve, reject) => {
    const socket = connect(port, '127.0.0.1', () => socket.write(bytes));
    let said = '';
    const timer = setTimeout(() => {
      resolve('open');
      socket.destroy();
    }, ms);
    socket.on('data', (data) => (said += String(data)));
    socket.on('error', reject);
    socket.on('close', () => {
      clearTimeout(timer);
      resolve(said);
    });
  });
}

test('a body that does not come is not waited for', async () => {
  const head =
    'POST /api/sign-in HTTP/1.1\r\nhost: localhost\r\ncontent-type: application/json\r\ncontent-length: 50\r\n\r\n';
  const said = await say(`${head}{"name":`, 20 * REQUEST_MS);
  expect(said).toMatch(/^HTTP\/1\.1 408 /);
  expect(said).toContain('/problems/too-slow');
});

test('what is no request, and headers beyond measure, are refused with our headers', async () => {
  const junk = await say('this is no request\r\n\r\n', 20 * REQUEST_MS);
  expect(junk).toMatch(/^HTTP\/1\.1 400 /);
  const large = await say(
    `GET /bench HTTP/1.1\r\nhost: localhost\r\ncookie: ${'x'.repeat(40_000)}\r\n\r\n`,
    20 * REQUEST_MS,
  );
  expect(large).toMatch(/^HTTP\/1\.1 431 /);
  for (const said of [junk, large]) {
    expect(said).toContain('content-type: application/problem+json');
    expect(said).toContain('cache-control: no-store');
    expect(said).toContain('x-content-type-options: nosniff');
    expect(said).toContain('/problems/');
  }
  const address = await plain.app.inject({ url: '/bench/%zz' });
  expect([address.statusCode, address.headers['cache-control']]).toEqual([400, 'no-store']);
});
