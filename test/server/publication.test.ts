import { createHash } from 'node:crypto';
import { publication as publicationContract } from '@oddglass/shared/contracts/publication.ts';
import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import type {
  PublicationView,
  PublicationViews,
  PublicList,
  PublishedView,
  PublishPreview,
} from '@oddglass/shared/contracts/publishing.ts';
import { packageDigest, unzipPackage } from '@oddglass/shared/publication/package.ts';
import pg from 'pg';
import { beforeAll, expect, test } from 'vitest';
import {
  Caller,
  draft,
  invited,
  newTrial,
  strangeHost,
  useStewardsPanel,
  type Answer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import {
  expectProblem,
  guests,
  playedEvening,
  publish,
  publishing,
  type Evening,
} from '../support/publishing.ts';
import { until } from '../support/until.ts';

// From a revealed session to what anybody may read, and back to a tombstone.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let stranger: Hosted;
let reader: Caller;
/** Ten people, all of whom agreed to rows. */
let evening: Evening;

useStewardsPanel((panel) => ({ server, host, steward } = panel));
beforeAll(async () => {
  stranger = await strangeHost(host);
  reader = new Caller(server.app);
  evening = await playedEvening(server, { host, steward }, guests(10));
});

async function get(path: string, headers: Record<string, string> = {}) {
  return server.app.inject({ method: 'GET', url: path, headers });
}

test('a publication is read without an account, frozen, by version and by what is newest', async () => {
  const first = await publish(host, evening, { address: 'cool-or-warm' });
  expect(first).toMatchObject({
    address: 'cool-or-warm',
    state: 'published',
    listed: true,
    title: 'Cool against warm',
  });
  expect(first.versions.map(({ version, publishedOn }) => [version, publishedOn])).toEqual([
    [1, '2031-03-04'],
  ]);

  const view = await reader.ok<PublishedView>('GET', '/api/p/cool-or-warm');
  expect(view).toMatchObject({
    state: 'published',
    address: 'cool-or-warm',
    panelId: host.panel,
    withdrawnOn: null,
  });
  const published = publicationContract.parse(view.publication);
  expect(published).toMatchObject({
    version: 1,
    publishedOn: '2031-03-04',
    panel: 'Panel of Host',
    demo: false,
  });
  expect(published.sessions).toHaveLength(1);
  expect(published.sessions[0]).toMatchObject({ tier: 'full', assessors: 10, seated: 10, withdrawn: 0 });
  expect(published.sessions[0]!.seal.root).toBe(evening.session.root);

  const files = ['result.json', 'package.zip', 'CITATION.cff'];
  const before = await Promise.all(files.map((name) => get(`/api/p/cool-or-warm/${name}?version=1`)));
  expect(before.map(({ statusCode }) => statusCode)).toEqual([200, 200, 200]);
  expect(before.map(({ headers }) => headers['content-type'])).toEqual([
    'application/json; charset=utf-8',
    'application/zip',
    'application/yaml; charset=utf-8',
  ]);
  // The version's etag is the sum of its result.json, which is what the page shows and what lies in the package.
  const [result, zip, citation] = before as [(typeof before)[0], (typeof before)[0], (typeof before)[0]];
  expect(createHash('sha256').update(result.rawPayload).digest('hex')).toBe(first.versions[0]!.etag);
  expect(JSON.parse(result.payload)).toEqual(view.publication);
  const packed = new Map(unzipPackage(zip.rawPayload).map(({ path, bytes }) => [path, Buffer.from(bytes)]));
  expect(packed.get('result.json')!.equals(result.rawPayload)).toBe(true);
  expect(view.digest).toBe(packageDigest(unzipPackage(zip.rawPayload)));
  expect(packed.get('CITATION.cff')!.equals(citation.rawPayload)).toBe(true);
  // Nobody told under which address readers elsewhere reach it, so none is frozen.
  expect(citation.payload).not.toContain('url:');

  // Whatever happens to the live data, what was frozen stays byte for byte.
  await server.database.pool.query('update trial set title = $1, question = $1', ['Changed since']);
  await server.database.pool.query('update panel set name = $1 where id = $2', ['Renamed', host.panel]);
  const after = await Promise.all(files.map((name) => get(`/api/p/cool-or-warm/${name}?version=1`)));
  expect(after.map(({ rawPayload }) => rawPayload)).toEqual(before.map(({ rawPayload }) => rawPayload));
  await server.database.pool.query('update panel set name = $1 where id = $2', ['Panel of Host', host.panel]);

  server.clock.now = new Date(server.clock.now.getTime() + 86_400_000);
  const second = await host.caller.ok<PublicationView>(
    'POST',
    `/api/publications/${first.id}/versions`,
    publishing(evening.trial, [evening.session], { title: 'Cool against warm, again', licence: 'CC0-1.0' }),
  );
  expect(second.versions.map(({ version }) => version)).toEqual([1, 2]);
  expect(second.versions[0]).toEqual(first.versions[0]);
  const [newest, old] = await Promise.all([
    reader.ok<PublishedView>('GET', '/api/p/cool-or-warm'),
    reader.ok<PublishedView>('GET', '/api/p/cool-or-warm?version=1'),
  ]);
  expect(newest.publication).toMatchObject({
    version: 2,
    title: 'Cool against warm, again',
    licence: 'CC0-1.0',
  });
  expect(newest.versions).toHaveLength(2);
  // The answer for one version never changes, so it tells of none that came later.
  expect(old).toEqual(view);
  expect((await reader.call('GET', '/api/p/cool-or-warm?version=3')).status).toBe(404);
  expect((await reader.call('GET', '/api/p/nothing-here')).status).toBe(404);
});

test('what a reader holds already is not sent again', async () => {
  const { address } = await publish(host, evening, { address: 'cached' });
  for (const path of ['', '/result.json', '/package.zip', '/CITATION.cff']) {
    const frozen = await get(`/api/p/${address}${path}?version=1`);
    expect(frozen.headers['cache-control'], path).toBe('public, max-age=60, must-revalidate');
    const newest = await get(`/api/p/${address}${path}`);
    expect(newest.headers['cache-control'], path).toBe('public, max-age=60, must-revalidate');
    const etag = String(frozen.headers.etag);
    expect(etag, path).toMatch(/^"[\w-]{43}"$/);
    const again = await get(`/api/p/${address}${path}?version=1`, { 'if-none-match': `"other", ${etag}` });
    expect([again.statusCode, again.rawPayload.length, again.headers.etag], path).toEqual([304, 0, etag]);
    expect(again.headers['cache-control'], path).toBe('public, max-age=60, must-revalidate');
    const differs = await get(`/api/p/${address}${path}?version=1`, { 'if-none-match': '"other"' });
    expect(differs.statusCode, path).toBe(200);
    const head = await server.app.inject({ method: 'HEAD', url: `/api/p/${address}${path}?version=1` });
    expect([head.statusCode, head.headers.etag], path).toEqual([200, etag]);
  }
});

test('a withdrawn publication leaves a tombstone at an address that stays taken', async () => {
  const { id, address } = await publish(host, evening, { address: 'taken-back' });
  const gone = await host.caller.ok<PublicationView>('POST', `/api/publications/${id}/withdraw`, {});
  expect(gone).toMatchObject({ state: 'withdrawn', choices: null });
  expect(await host.caller.ok('POST', `/api/publications/${id}/withdraw`, {})).toEqual(gone);
  for (const version of ['', '?version=1']) {
    const tomb = await reader.call<PublishedView>('GET', `/api/p/${address}${version}`);
    expect(tomb.status).toBe(410);
    expect(tomb.body).toMatchObject({ state: 'withdrawn', publication: null, versions: [{ version: 1 }] });
    expect(tomb.headers['cache-control']).toBe('public, max-age=60, must-revalidate');
    for (const name of ['result.json', 'package.zip', 'CITATION.cff']) {
      expectProblem(
        await reader.call('GET', `/api/p/${address}/${name}${version}`),
        'publication-withdrawn',
        410,
      );
    }
  }
  expectProblem(
    await host.caller.call(
      'POST',
      `/api/publications/${id}/versions`,
      publishing(evening.trial, [evening.session]),
    ),
    'publication-withdrawn',
    410,
  );
  const stored = await server.database.pool.query<{ result: string; package: unknown; citation: unknown }>(
    'select result, package, citation from publication_version where publication_id = $1',
    [id],
  );
  expect(stored.rows[0]).toMatchObject({ package: null, citation: null });
  expect(stored.rows[0]!.result).not.toMatch(/"person"|nonce/);
  const taken = await host.caller.call('POST', `/api/trials/${evening.trial.id}/publications`, {
    ...publishing(evening.trial, [evening.session]),
    address: 'taken-back',
  });
  expect(expectProblem(taken, 'address-taken', 409)).toEqual(['#/address']);
});

test('an address is chosen within limits, or cannot be guessed', async () => {
  const path = `/api/trials/${evening.trial.id}/publications`;
  const body = publishing(evening.trial, [evening.session]);
  for (const address of [
    'ab',
    'list',
    'verify',
    '-ab',
    'ab-',
    'a--b',
    'ä-b',
    'a b',
    'x'.repeat(61),
    '../p',
  ]) {
    expect(
      expectProblem(await host.caller.call('POST', path, { ...body, address }), 'invalid-input', 400),
    ).toContain('#/address');
  }
  const unlisted = await host.caller.ok<PublicationView>('POST', path, body);
  expect(unlisted.address).toMatch(/^[a-z2-9]{26}$/);
  expect(unlisted.listed).toBe(false);
  expect((await reader.call('GET', `/api/p/${unlisted.address}`)).status).toBe(200);
});

test('only hosts of the panel publish; what is not revealed, or of another trial, is not published', async () => {
  const { trial, session } = evening;
  const body = publishing(trial, [session]);
  const { id } = await publish(host, evening);
  const paths = [`/api/trials/${trial.id}/publications`, `/api/publications/${id}/versions`];
  for (const path of [
    ...paths,
    `/api/trials/${trial.id}/publications/preview`,
    `/api/publications/${id}/withdraw`,
  ]) {
    expectProblem(await stranger.caller.call('POST', path, body), 'not-found', 404);
    expectProblem(await steward.caller.call('POST', path, body), 'not-allowed', 403);
    expectProblem(await reader.call('POST', path, body), 'not-signed-in', 401);
    expectProblem(await evening.tablets[0]!.call('POST', path, body), 'not-signed-in', 401);
  }
  expectProblem(await stranger.caller.call('GET', paths[0]!), 'not-found', 404);
  const seen = await steward.caller.ok<PublicationViews>('GET', paths[0]!);
  expect(seen.publications.map((one) => one.id)).toContain(id);

  const sealed = await draft(host, trial);
  const elsewhere = await draft(host, await newTrial(host), { title: 'Of another trial' });
  const refused = await host.caller.call('POST', paths[0]!, {
    ...body,
    sessionIds: [session.id, sealed.id, elsewhere.id],
  });
  expect(expectProblem(refused, 'not-publishable', 409)).toEqual(['#/sessionIds/1', '#/sessionIds/2']);
  expect(refused.text).not.toContain('Of another trial');
});

test('a panel lists what was chosen to be listed, as pages and as a feed', async () => {
  const other = await strangeHost(host, 'Lister');
  const helper = await invited(other, 'steward', 'Helper of Lister');
  expect((await reader.call('GET', `/api/p/list/${other.panel}`)).status).toBe(404);
  const one = await playedEvening(server, { host: other, steward: helper }, guests(10));
  const hidden = await publish(other, one, { title: 'Not for the list' });
  expect((await reader.call('GET', `/api/p/list/${other.panel}`)).status).toBe(404);
  await publish(other, one, { address: 'listed-one', title: 'One & <two>' });
  const gone = await publish(other, one, { address: 'listed-gone', title: 'Taken back' });
  await other.caller.ok('POST', `/api/publications/${gone.id}/withdraw`, {});
  const list = await reader.ok<PublicList>('GET', `/api/p/list/${other.panel}`);
  expect(list.panel).toBe('Elsewhere');
  expect(new Map(list.publications.map((each) => [each.address, [each.state, each.title]]))).toEqual(
    new Map([
      ['listed-one', ['published', 'One & <two>']],
      ['listed-gone', ['withdrawn', null]],
    ]),
  );
  const feed = await get(`/api/p/list/${other.panel}/atom.xml`);
  expect(feed.headers['content-type']).toBe('application/atom+xml; charset=utf-8');
  expect(feed.payload).toContain('<title>One &amp; &lt;two&gt;</title>');
  expect(feed.payload).toContain('/p/listed-one"/>');
  expect(feed.payload).not.toContain('Taken back');
  expect(feed.payload + JSON.stringify(list)).not.toContain(hidden.address);
  const again = await get(`/api/p/list/${other.panel}/atom.xml`, {
    'if-none-match': String(feed.headers.etag),
  });
  expect(again.statusCode).toBe(304);
});

/**
 * Sends requests while the trial is locked, so that all have read the trial before any is through; `meanwhile` happens
 * after they read.
 */
async function atOnce<T>(
  trialId: string,
  requests: (() => Promise<Answer<T>>)[],
  meanwhile: () => Promise<unknown> = () => Promise.resolve(),
): Promise<Answer<T>[]> {
  const lock = new pg.Client({ connectionString: server.database.url });
  await lock.connect();
  try {
    await lock.query('begin');
    await lock.query('select 1 from trial where id = $1 for update', [trialId]);
    const sent = Promise.all(requests.map((send) => send()));
    await until('all requests wait for the trial', async () => (await waiting()) === requests.length);
    await meanwhile();
    await lock.query('commit');
    return await sent;
  } finally {
    await lock.end();
  }
}

/** How many connections of this database wait for a lock. */
async function waiting(): Promise<number> {
  const { rows } = await server.database.pool.query<{ n: number }>(
    `select count(*)::int as n from pg_stat_activity where datname = current_database() and wait_event_type = 'Lock'`,
  );
  return rows[0]?.n ?? 0;
}

/** Of these answers exactly one went through; the others are told that something moved meanwhile. */
function expectOneThrough(answers: Answer<PublicationView>[]): PublicationView {
  const through = answers.filter(({ status }) => status === 200);
  expect(through).toHaveLength(1);
  for (const refused of answers.filter(({ status }) => status !== 200)) {
    expectProblem(refused, 'publication-moved', 409);
  }
  return through[0]!.body;
}

test('of hosts who publish at once one is through, and the others are told to look again', async () => {
  const { trial, session } = evening;
  const body = publishing(trial, [session]);
  const path = `/api/trials/${trial.id}/publications`;
  // Addresses of their own: that each is free does not let the second through.
  const { id } = expectOneThrough(
    await atOnce(
      trial.id,
      ['at-once-one', 'at-once-two'].map(
        (address) => () => host.caller.call<PublicationView>('POST', path, { ...body, address }),
      ),
    ),
  );
  const version = () => host.caller.call<PublicationView>('POST', `/api/publications/${id}/versions`, body);
  const view = expectOneThrough(await atOnce(trial.id, [version, version]));
  expect(view.versions.map((one) => one.version)).toEqual([1, 2]);
  const { publications } = await host.caller.ok<PublicationViews>('GET', path);
  expect(publications.filter(({ address }) => address?.startsWith('at-once'))).toHaveLength(1);
  expect(publications.find((one) => one.id === id)).toEqual(view);
});

test('somebody who withdraws while a host publishes is not published', async () => {
  const { trial, session, receipts } = await playedEvening(server, { host, steward }, guests(12));
  const path = `/api/trials/${trial.id}/publications`;
  const [answer] = await atOnce(
    trial.id,
    [() => host.caller.call('POST', path, publishing(trial, [session]))],
    () => receipts[0]!.ok('POST', '/api/receipt/withdraw', {}),
  );
  expectProblem(answer!, 'publication-moved', 409);
  expect((await host.caller.ok<PublicationViews>('GET', path)).publications).toEqual([]);
});

test('the demo has one publication, which says that it is invented', async () => {
  const { id: panelId } = await host.caller.ok<PanelView>('POST', '/api/panels/demo', {});
  const list = await reader.ok<PublicList>('GET', `/api/p/list/${panelId}`);
  expect(list.publications).toMatchObject([{ state: 'published', demo: true, version: 1 }]);
  const { publication } = await reader.ok<PublishedView>('GET', `/api/p/${list.publications[0]!.address}`);
  expect(publication).toMatchObject({ demo: true, licence: 'CC-BY-4.0' });
  expect(publication!.sessions[0]).toMatchObject({ tier: 'full', assessors: 12 });
  expect(publication!.sessions[0]!.rows).not.toBeNull();
  expect(publication!.caveats).toHaveLength(1);
  expect(publication!.comments).toHaveLength(1);

  // Its other evenings, among them one of ratings and words and one of liking, can be published too.
  const { trials, sessions } = await host.caller.ok<PanelView>('GET', `/api/panels/${panelId}`);
  const preview = await host.caller.ok<PublishPreview>(
    'POST',
    `/api/trials/${trials[0]!.id}/publications/preview`,
    {
      sessionIds: sessions.filter(({ state }) => state === 'revealed').map(({ id }) => id),
      licence: 'CC0-1.0',
    },
  );
  expect(preview.sessions).toHaveLength(5);
  expect(preview.publication?.sessions.flatMap(({ parts }) => parts.map(({ kind }) => kind)).sort()).toEqual([
    'description',
    'liking',
    'rating',
    'triangle',
    'triangle',
    'triangle',
  ]);
});
