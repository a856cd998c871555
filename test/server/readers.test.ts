import { brotliDecompressSync, gunzipSync } from 'node:zlib';
import { request as ask, type IncomingMessage, type ServerResponse } from 'node:http';
import { buildApp } from '@oddglass/server/app.ts';
import { Pace } from '@oddglass/server/guard/pace.ts';
import { Shelf } from '@oddglass/server/readers/shelf.ts';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import type { PublicationView } from '@oddglass/shared/contracts/publishing.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { firstHost, invited, startServer, type Hosted, type TestServer } from '../support/app.ts';
import { guests, playedEvening, publish } from '../support/publishing.ts';

// Readers get what was made once: in the encoding they like, nothing where they hold it, and nothing any more the moment
// it is withdrawn.

let server: TestServer;
let host: Hosted;
let base: URL;
let view: PublicationView;
/** How often the pages were asked for, and whether they may answer. */
let drawn = 0;
const pages: WebHandler = (request, response) => {
  drawn += 1;
  // As a page does while it is drawn.
  const { answerApi } = request as IncomingMessage & {
    answerApi: (asked: {
      method: string;
      url: string;
      headers: object;
      body: undefined;
    }) => Promise<{ status: number }>;
  };
  const asked = answerApi({ method: 'GET', url: `/api/p/${view.address}`, headers: {}, body: undefined });
  void asked.then(({ status }) => draw(response, status));
};

function draw(response: ServerResponse, status: number): void {
  response.statusCode = status;
  response.setHeader('content-type', 'text/html; charset=utf-8');
  response.setHeader('cache-control', 'public, no-cache');
  response.setHeader('content-security-policy', "default-src 'self'; script-src 'self' 'nonce-abc123=='");
  response.end(`<!doctype html><script nonce="abc123=="></script>${'words '.repeat(2000)}`);
}

beforeAll(async () => {
  server = await startServer({ webHandler: pages });
  host = await firstHost(server.app);
  const steward = await invited(host, 'steward', 'Steward');
  const evening = await playedEvening(server, { host, steward }, guests(12));
  view = await publish(host, evening, { listed: true });
  base = new URL(await server.app.listen({ port: 0, host: '127.0.0.1' }));
});
afterAll(() => server.close());

interface Raw {
  status: number;
  headers: Record<string, string | string[] | undefined>;
  bytes: Buffer;
}

/** Bytes as they went over the wire: fetch would unpack them. */
function raw(path: string, headers: Record<string, string> = {}, method = 'GET', to = base): Promise<Raw> {
  return new Promise((resolve, reject) => {
    ask(new URL(path, to), { method, headers }, (response) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('end', () =>
        resolve({
          status: response.statusCode ?? 0,
          headers: response.headers,
          bytes: Buffer.concat(chunks),
        }),
      );
      response.on('error', reject);
    })
      .on('error', reject)
      .end();
  });
}

describe('an answer', () => {
  test.each([
    ['the API', () => `/api/panels/${host.panel}/vocabulary`],
    ['a publication', () => `/api/p/${view.address}`],
    ['a page for readers', () => `/p/${view.address}`],
  ])('of %s is sent in the encoding that was asked for', async (_what, path) => {
    const at = path();
    const cookie = { cookie: host.caller.cookie ?? '' };
    const plain = await raw(at, cookie);
    expect(plain.status).toBe(200);
    expect(plain.headers['content-encoding']).toBeUndefined();
    const br = await raw(at, { ...cookie, 'accept-encoding': 'gzip, br' });
    expect(br.headers['content-encoding']).toBe('br');
    expect(br.headers['vary']).toMatch(/accept-encoding/i);
    expect(brotliDecompressSync(br.bytes)).toEqual(plain.bytes);
    const gzip = await raw(at, { ...cookie, 'accept-encoding': 'gzip' });
    expect(gzip.headers['content-encoding']).toBe('gzip');
    expect(gunzipSync(gzip.bytes)).toEqual(plain.bytes);
    for (const refused of ['gzip;q=0, br;q=0', 'identity', 'zebra', ';;;', '']) {
      const { headers, bytes, status } = await raw(at, { ...cookie, 'accept-encoding': refused });
      expect(status, refused).toBe(200);
      expect([undefined, 'identity'], refused).toContain(headers['content-encoding']);
      expect(bytes, refused).toEqual(plain.bytes);
    }
    expect(br.bytes.length).toBeLessThan(plain.bytes.length / 2);
  });

  test('that is small, or packed already, is left as it is', async () => {
    const health = await raw('/api/health', { 'accept-encoding': 'br, gzip' });
    expect(health.headers['content-encoding']).toBeUndefined();
    const zip = await raw(`/api/p/${view.address}/package.zip`, { 'accept-encoding': 'br, gzip' });
    expect(zip.headers['content-encoding']).toBeUndefined();
    expect(zip.bytes.subarray(0, 2).toString()).toBe('PK');
  });

  test('to HEAD has the headers and no body', async () => {
    const whole = await raw(`/p/${view.address}`, { 'accept-encoding': 'br' });
    const head = await raw(`/p/${view.address}`, { 'accept-encoding': 'br' }, 'HEAD');
    expect(head.bytes.length).toBe(0);
    expect(head.headers['content-length']).toBe(String(whole.bytes.length));
    expect(head.headers['etag']).toBe(whole.headers['etag']);
  });
});

describe('what is frozen', () => {
  test.each([
    () => `/p/${view.address}`,
    () => `/api/p/${view.address}`,
    () => `/api/p/${view.address}/package.zip`,
  ])('is not sent again to who holds it (%#)', async (path) => {
    for (const encoding of ['identity', 'gzip', 'br']) {
      const first = await raw(path(), { 'accept-encoding': encoding });
      const etag = String(first.headers['etag']);
      for (const held of [etag, `W/${etag}`, `"another", ${etag}`, '*']) {
        const again = await raw(path(), { 'accept-encoding': encoding, 'if-none-match': held });
        expect(again.status, held).toBe(304);
        expect(again.bytes.length).toBe(0);
        // A new policy would not fit the page that is held.
        expect(again.headers['content-security-policy']).toBeUndefined();
      }
      expect((await raw(path(), { 'accept-encoding': encoding, 'if-none-match': '"another"' })).status).toBe(
        200,
      );
    }
  });

  test('is drawn once, however many read it at once', async () => {
    const path = `/p/${view.address}?version=1`;
    drawn = 0;
    const answers = await Promise.all(Array.from({ length: 20 }, () => raw(path)));
    expect(answers.every(({ status }) => status === 200)).toBe(true);
    expect(drawn).toBe(1);
  });

  test('is drawn for each address that people come by', async () => {
    const one = await raw(`/api/p/list/${host.panel}/atom.xml`, { host: 'one.example' });
    const other = await raw(`/api/p/list/${host.panel}/atom.xml`, { host: 'other.example' });
    expect(one.bytes.toString()).toContain('http://one.example/');
    expect(other.bytes.toString()).toContain('http://other.example/');
    expect(other.bytes.toString()).not.toContain('one.example');
  });

  test('cannot be asked for past the pace by a header that a stranger makes up', async () => {
    drawn = 0;
    await raw(`/p/${view.address}`);
    await raw(`/p/${view.address}`, { 'x-oddglass-inner': 'guessed https' });
    expect(drawn).toBe(0);
  });
});

test('a withdrawal is seen at once here, and by another process a second later', async () => {
  const there = await buildApp({
    pool: server.database.pool,
    databaseUrl: server.database.url,
    webHandler: pages,
  });
  const elsewhere = new URL(await there.listen({ port: 0, host: '127.0.0.1' }));
  const path = `/api/p/${view.address}`;
  expect((await raw(path)).status).toBe(200);
  expect((await raw(path, {}, 'GET', elsewhere)).status).toBe(200);
  await host.caller.ok('POST', `/api/publications/${view.id}/withdraw`, {});
  expect((await raw(path)).status).toBe(410);
  expect((await raw(`${path}/package.zip`)).status).toBe(410);
  let status = 200;
  for (let tries = 0; tries < 300 && status !== 410; tries++) {
    status = (await raw(path, {}, 'GET', elsewhere)).status;
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  expect(status).toBe(410);
  await there.close();
});

describe('the pace', () => {
  test('lets a burst in at once, then one after another, and sends away whoever would wait too long', () => {
    let now = 0;
    const pace = new Pace({ perSecond: 10, burst: 5, longestMs: 300 }, () => now);
    const waits = Array.from({ length: 12 }, () => pace.take());
    expect(waits.slice(0, 6)).toEqual([0, 0, 0, 0, 0, 0]);
    expect(waits.slice(6)).toEqual([100, 200, 300, null, null, null]);
    now = 10_000;
    expect(Array.from({ length: 6 }, () => pace.take())).toEqual([0, 0, 0, 0, 0, 0]);
  });
});

describe('the shelf', () => {
  const fresh = (text: string, status = 200) => ({
    status,
    headers: { 'content-type': 'text/plain' },
    body: Buffer.from(text),
  });

  test('keeps to its size, and lets go of what was not read for longest', async () => {
    const shelf = new Shelf(25);
    let made = 0;
    const get = (key: string) =>
      shelf.get(key, 'e', () => {
        made += 1;
        return Promise.resolve(fresh('ten bytes.'));
      });
    await get('a');
    await get('b');
    await get('a');
    await get('c');
    expect(made).toBe(3);
    await get('a');
    await get('c');
    expect(made).toBe(3);
    await get('b');
    expect(made).toBe(4);
  });

  test('makes another edition anew, and keeps no failure', async () => {
    const shelf = new Shelf();
    const texts = ['first', 'second'];
    const read = async (edition: string) =>
      (
        await shelf.get('a', edition, () => Promise.resolve(fresh(texts.shift() ?? 'none')))
      ).bytes.identity.toString();
    expect(await read('1')).toBe('first');
    expect(await read('1')).toBe('first');
    expect(await read('2')).toBe('second');
    await expect(shelf.get('b', '1', () => Promise.reject(new Error('no')))).rejects.toThrow('no');
    expect((await shelf.get('b', '1', () => Promise.resolve(fresh('lost', 500)))).status).toBe(500);
    expect((await shelf.get('b', '1', () => Promise.resolve(fresh('found')))).status).toBe(200);
  });
});

test('a page is made in a thread where it is known where the built pages are', async () => {
  const built = new URL('../support/small-pages.ts', import.meta.url);
  const { pool, url: databaseUrl } = server.database;
  const second = await buildApp({ pool, databaseUrl, webHandler: pages, builtPages: built });
  try {
    const at = new URL(await second.listen({ port: 0, host: '127.0.0.1' }));
    const before = drawn;
    const byThread = await raw(`/p/${view.address}`, {}, 'GET', at);
    expect([byThread.status, byThread.bytes.toString()]).toEqual([200, `for ${at.host} by http`]);
    expect(drawn).toBe(before);
  } finally {
    await second.close();
  }
});

test('a page is made without its thread where there is none to be had', async () => {
  const { pool, url: databaseUrl } = server.database;
  const nowhere = new URL('../support/no-such-pages.ts', import.meta.url);
  const second = await buildApp({ pool, databaseUrl, webHandler: pages, builtPages: nowhere });
  try {
    const at = new URL(await second.listen({ port: 0, host: '127.0.0.1' }));
    const before = drawn;
    const { status, bytes } = await raw(`/p/${view.address}`, {}, 'GET', at);
    // Withdrawn above: the page says so.
    expect([status, drawn]).toEqual([410, before + 1]);
    expect(bytes.toString()).toContain('words words');
  } finally {
    await second.close();
  }
});
