import { posix } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import type { PublicationView } from '@oddglass/shared/contracts/publishing.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  firstHost,
  invited,
  startServer,
  strangeHost,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { guests, playedEvening, publish, type Evening } from '../support/publishing.ts';

// A publication as a folder to put anywhere: whole in itself, readable without scripts, and without a word of the server
// that it was made by.

const repository = new URL('../../', import.meta.url);

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let evening: Evening;
let one: PublicationView;
let files: Map<string, string>;

async function folder(path: string, caller = host.caller): Promise<Map<string, string>> {
  const answer = await server.app.inject({
    method: 'GET',
    url: path,
    headers: { cookie: caller.cookie ?? '', host: 'cellar.lan:8080' },
  });
  expect(answer.statusCode, answer.payload.slice(0, 300)).toBe(200);
  expect(answer.headers['content-type']).toBe('application/zip');
  expect(answer.headers['cache-control']).toBe('no-store');
  return new Map(
    unzipPackage(answer.rawPayload).map(({ path: name, bytes }) => [
      name,
      Buffer.from(bytes).toString('latin1'),
    ]),
  );
}

/** All addresses that a page, style or feed of the folder names. */
function linksIn(name: string, text: string): string[] {
  const patterns = name.endsWith('.css')
    ? [/url\(["']?([^"')]+)["']?\)/g]
    : name.endsWith('.html') || name.endsWith('.xml')
      ? [/\s(?:href|src|srcset|action|poster)="([^"]*)"/g]
      : [];
  // What stands inside of a script is no link of the page.
  const plain = text.replaceAll(/<script>[\s\S]*?<\/script>/g, '');
  return patterns.flatMap((pattern) => [...plain.matchAll(pattern)].map(([, link = '']) => link));
}

/** Links that lead out, and those that lead to nothing in the folder. */
function links(all: Map<string, string>): { out: string[]; missing: string[]; followed: number } {
  const out = new Set<string>();
  const missing: string[] = [];
  let followed = 0;
  for (const [name, text] of all) {
    for (const link of linksIn(name, text)) {
      if (/^[a-z][\w+.-]*:/i.test(link) && !link.startsWith('data:')) {
        if (!link.startsWith('http://www.w3.org/')) out.add(link);
        continue;
      }
      if (link.startsWith('data:')) continue;
      followed += 1;
      const [path = '', anchor] = link.split('#');
      const target = path === '' ? name : posix.join(posix.dirname(name), path);
      const there = all.get(target);
      if (link.startsWith('/') || there === undefined) missing.push(`${name} -> ${link}`);
      else if (anchor && !there.includes(`id="${anchor}"`)) missing.push(`${name} -> ${link}`);
    }
  }
  return { out: [...out], missing, followed };
}

beforeAll(async () => {
  // Pages know themselves by the protocol they are asked with, as `npm start` has it.
  process.env['WEB_PROTOCOL_HEADER'] = 'x-forwarded-proto';
  const { handler } = (await import(pathToFileURL(`${repository.pathname}web/build/handler.js`).href)) as {
    handler: WebHandler;
  };
  server = await startServer({ webHandler: handler });
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Steward');
  evening = await playedEvening(server, { host, steward }, guests(12));
  one = await publish(host, evening, { address: 'to-put-anywhere' });
  files = await folder(`/api/publications/${one.id}/folder.zip`);
});
afterAll(() => server.close());

const file = (name: string): string => {
  const text = files.get(`to-put-anywhere/${name}`);
  expect(text, name).toBeDefined();
  return text ?? '';
};

test('a folder holds article, picture, data, checker and feed entry, as they are served', async () => {
  for (const name of ['result.json', 'package.zip', 'CITATION.cff']) {
    const served = await server.app.inject({
      method: 'GET',
      url: `/api/p/to-put-anywhere/${name}?version=1`,
    });
    expect(file(name), name).toBe(served.rawPayload.toString('latin1'));
  }
  expect(file('picture.png').slice(1, 4)).toBe('PNG');
  expect(verifyPackage(Buffer.from(file('package.zip'), 'latin1')).filter(({ ok }) => !ok)).toEqual([]);
  const article = file('index.html');
  const headline = (
    await host.caller.ok<{ publication: { sessions: { parts: { finding: { headline: string } }[] }[] } }>(
      'GET',
      '/api/p/to-put-anywhere',
    )
  ).publication.sessions[0]!.parts[0]!.finding.headline;
  expect(article).toContain(headline);
  expect(article).toContain(evening.session.root);
  expect(file('feed.xml')).toContain('<link rel="alternate" type="text/html" href="index.html"/>');
  expect(file('README.txt')).toContain('index.html');
});

test('every link resolves inside of the folder, and those that lead out are licence and sources', () => {
  const { out, missing, followed } = links(files);
  expect(missing).toEqual([]);
  expect(followed).toBeGreaterThan(20);
  expect(out).toContain('https://creativecommons.org/licenses/by/4.0/');
  for (const link of out) expect(link).toMatch(/^https:\/\/(creativecommons\.org|doi\.org)\//);
});

test('no file names the server, and the article has no script', () => {
  for (const [name, text] of files) {
    if (name.endsWith('package.zip')) continue;
    expect(text.includes('cellar.lan'), name).toBe(false);
    expect(/https?:\/\/(?:localhost|127\.0\.0\.1)/.test(text), name).toBe(false);
  }
  for (const { path, bytes } of unzipPackage(Buffer.from(file('package.zip'), 'latin1')))
    expect(/cellar\.lan|localhost/.test(Buffer.from(bytes).toString('latin1')), path).toBe(false);
  expect(file('index.html')).not.toMatch(/<script|<noscript|\son\w+=|modulepreload/);
  // The checker has its script inside: a page opened from disk may load no module.
  const checker = file('verify.html');
  expect(checker.match(/<script>/g)).toHaveLength(1);
  expect(checker).not.toMatch(/<script[^>]+src|modulepreload/);
});

test('the same publication makes the same bytes', async () => {
  expect(await folder(`/api/publications/${one.id}/folder.zip`)).toEqual(files);
});

test('a panel’s list becomes a folder of folders, without what is not listed or was withdrawn', async () => {
  const gone = await publish(host, evening, { address: 'gone-again' });
  await host.caller.ok('POST', `/api/publications/${gone.id}/withdraw`, {});
  const hidden = await publish(host, evening);
  const all = await folder(`/api/panels/${host.panel}/published-folder.zip`);
  const { missing, out } = links(all);
  expect(missing).toEqual([]);
  for (const link of out) expect(link).toMatch(/^https:\/\/(creativecommons\.org|doi\.org)\//);
  expect(all.get('publications/index.html')).toContain('href="to-put-anywhere/index.html"');
  expect(all.get('publications/to-put-anywhere/index.html')).toBe(file('index.html'));
  expect(all.get('publications/feed.xml')).toContain('href="to-put-anywhere/index.html"');
  expect([...all.keys()].filter((name) => /gone-again/.test(name) || name.includes(hidden.address))).toEqual(
    [],
  );
  for (const [name, text] of all) expect(text.includes(hidden.address), name).toBe(false);
});

test('only people of the panel make it, and nothing is made of what was withdrawn', async () => {
  const stranger = await strangeHost(host);
  const paths = [`/api/publications/${one.id}/folder.zip`, `/api/panels/${host.panel}/published-folder.zip`];
  for (const path of paths) {
    expect((await stranger.caller.call('GET', path)).status, path).toBe(404);
    expect((await evening.tablets[0]!.call('GET', path)).status, path).toBe(401);
  }
  // A panel that lists nothing has no list to put anywhere.
  expect(
    (await stranger.caller.call('GET', `/api/panels/${stranger.panel}/published-folder.zip`)).status,
  ).toBe(404);
  const gone = await publish(host, evening);
  await host.caller.ok('POST', `/api/publications/${gone.id}/withdraw`, {});
  const path = `/api/publications/${gone.id}/folder.zip`;
  expect((await host.caller.call('GET', path)).status).toBe(410);
});
