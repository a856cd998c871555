import type { PublicationView, PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import { beforeAll, expect, test } from 'vitest';
import { invited, strangeHost, useStewardsPanel, type Hosted, type TestServer } from '../support/app.ts';
import { guests, playedEvening, publish, publishing, type Evening } from '../support/publishing.ts';

// What travels with the files of a publication: how long a copy may be kept, who may read it from elsewhere, what belongs
// to it, and what is left of all that after a withdrawal.

const FILES = ['', '/result.json', '/package.zip', '/CITATION.cff'];

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let evening: Evening;

useStewardsPanel((panel) => ({ server, host, steward } = panel));
beforeAll(async () => {
  evening = await playedEvening(server, { host, steward }, guests(10));
});

const get = (url: string, headers: Record<string, string> = {}) =>
  server.app.inject({ method: 'GET', url, headers });

test('a copy on the way is asked for again within a minute, of every version', async () => {
  const { id, address } = await publish(host, evening, { address: 'short-lived' });
  const asked = FILES.flatMap((file) => [`/api/p/${address}${file}`, `/api/p/${address}${file}?version=1`]);
  const etags = new Map<string, string>();
  for (const path of asked) {
    const { headers } = await get(path);
    expect(headers['cache-control'], path).toBe('public, max-age=60, must-revalidate');
    etags.set(path, String(headers.etag));
    expect((await get(path, { 'if-none-match': String(headers.etag) })).statusCode, path).toBe(304);
  }
  await host.caller.ok('POST', `/api/publications/${id}/withdraw`, {});
  for (const path of asked) {
    const gone = await get(path, { 'if-none-match': etags.get(path) ?? '' });
    expect(gone.statusCode, path).toBe(410);
    expect(String(gone.headers['cache-control']), path).toMatch(/max-age=60, must-revalidate|no-store/);
  }
});

test('a tombstone holds nothing that was made of what was taken back', async () => {
  const { id, address, versions } = await publish(host, evening, { address: 'tombstone' });
  const before = (await get(`/api/p/${address}`)).json<PublishedView>();
  await host.caller.ok('POST', `/api/publications/${id}/withdraw`, {});
  for (const query of ['', '?version=1']) {
    const told = await get(`/api/p/${address}${query}`);
    expect(told.statusCode).toBe(410);
    expect(told.json()).toEqual({
      state: 'withdrawn',
      address,
      panelId: host.panel,
      listed: true,
      versions: [{ version: 1, publishedOn: '2031-03-04' }],
      withdrawnOn: '2031-03-04',
      publication: null,
      digest: null,
      publicOrigin: null,
      zip: null,
    });
    for (const trace of [versions[0]!.etag, before.digest, before.publication?.sessions[0]?.seal.root])
      expect(told.payload).not.toContain(trace);
  }
});

test('what is not listed asks search engines to leave it alone, in every file and when it is gone', async () => {
  const { address: shown } = await publish(host, evening, { address: 'to-be-found' });
  const { id, address } = await publish(host, evening);
  for (const file of FILES) {
    expect((await get(`/api/p/${address}${file}`)).headers['x-robots-tag'], file).toBe('noindex');
    expect((await get(`/api/p/${shown}${file}`)).headers['x-robots-tag'], file).toBeUndefined();
  }
  await host.caller.ok('POST', `/api/publications/${id}/withdraw`, {});
  for (const file of FILES) {
    const gone = await get(`/api/p/${address}${file}`);
    expect([gone.statusCode, gone.headers['x-robots-tag']], file).toEqual([410, 'noindex']);
  }
});

test('public data may be read by pages from anywhere, without whoever is signed in', async () => {
  const { address } = await publish(host, evening, { address: 'from-anywhere' });
  const list = `/api/p/list/${host.panel}`;
  for (const path of [...FILES.map((file) => `/api/p/${address}${file}`), list, `${list}/atom.xml`]) {
    const { statusCode, headers } = await get(path, {
      origin: 'https://reader.example',
      'sec-fetch-site': 'cross-site',
    });
    expect([statusCode, headers['access-control-allow-origin']], path).toEqual([200, '*']);
    expect(headers['access-control-allow-credentials'], path).toBeUndefined();
  }
  // That nothing is there may be read too, else a tool cannot tell a wrong address from a network that is away.
  const nothing = await get('/api/p/nothing-there', { origin: 'https://reader.example' });
  expect([nothing.statusCode, nothing.headers['access-control-allow-origin']]).toEqual([404, '*']);
  const closed = await get('/api/health', { origin: 'https://reader.example' });
  expect(closed.headers['access-control-allow-origin']).toBeUndefined();
});

test('files lead to what belongs to them (RFC 8288)', async () => {
  const { address } = await publish(host, evening, { address: 'led-on' });
  const { headers } = await get(`/api/p/${address}/result.json?version=1`);
  expect(String(headers['link']).split(', ').sort()).toEqual([
    `</api/p/${address}/CITATION.cff?version=1>; rel="describedby"; type="application/yaml"`,
    `</api/p/${address}/package.zip?version=1>; rel="item"; type="application/zip"`,
    `</p/${address}?version=1>; rel="cite-as"`,
    '<https://creativecommons.org/licenses/by/4.0/>; rel="license"',
  ]);
});

test('the feed names entries the same under every host, and tells the newer of two on one day, without hours', async () => {
  const other = await strangeHost(host, 'Feeder');
  const helper = await invited(other, 'steward', 'Helper of Feeder');
  const own = await playedEvening(server, { host: other, steward: helper }, guests(10));
  const one = await publish(other, own, { address: 'same-day' });
  const path = `/api/p/list/${other.panel}/atom.xml`;
  const read = async (name = 'localhost') => {
    const { payload } = await get(path, { host: name });
    const [, entry = ''] = payload.split('<entry>');
    const of = (text: string, tag: string) => new RegExp(`<${tag}>([^<]*)</${tag}>`).exec(text)?.[1] ?? '';
    return { id: of(entry, 'id'), updated: of(entry, 'updated'), feed: of(payload, 'updated') };
  };
  const first = await read();
  const elsewhere = await read('evil.example:1');
  expect(elsewhere.id).toBe(first.id);
  expect(first.id).toMatch(/^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-5[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  const day = server.clock.now.toISOString().slice(0, 10);
  expect(first.updated).toBe(`${day}T00:00:01Z`);
  await other.caller.ok<PublicationView>(
    'POST',
    `/api/publications/${one.id}/versions`,
    publishing(own.trial, [own.session], { title: 'Once more' }),
  );
  const second = await read();
  expect(second.id).toBe(first.id);
  expect(second.updated).toBe(`${day}T00:00:02Z`);
  expect(second.feed > first.feed).toBe(true);
  // A withdrawal on the same day moves the feed once more.
  const two = await publish(other, own, { address: 'same-day-gone' });
  const third = await read();
  await other.caller.ok('POST', `/api/publications/${two.id}/withdraw`, {});
  const fourth = await read();
  expect(third.feed > second.feed).toBe(true);
  expect(fourth.feed > third.feed).toBe(true);
  expect(fourth.feed).toMatch(new RegExp(`^${day}T00:00:0\\dZ$`));
});
