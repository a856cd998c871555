import { createHash } from 'node:crypto';
import { problemDocument, type ProblemName } from '@oddglass/shared/contracts/problem.ts';
import { publication as publicationContract } from '@oddglass/shared/contracts/publication.ts';
import type {
  PublicationView,
  PublicationViews,
  PublicList,
  PublishedView,
  PublishPreview,
} from '@oddglass/shared/contracts/publishing.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  invited,
  newTrial,
  startServer,
  strangeHost,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { guests, playedEvening, publish, publishing, YES, type Evening } from '../support/publishing.ts';

// From a revealed session to what anybody may read, and back to a tombstone.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let stranger: Hosted;
let reader: Caller;
/** Ten people, all of whom agreed to rows. */
let evening: Evening;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Steward');
  stranger = await strangeHost(host);
  reader = new Caller(server.app);
  evening = await playedEvening(server, { host, steward }, guests(10));
});
afterAll(() => server.close());

const play = (
  ...rest: [...Parameters<typeof playedEvening>] extends [unknown, unknown, ...infer R] ? R : never
) => playedEvening(server, { host, steward }, ...rest);

function expectProblem(
  answer: { status: number; body: unknown },
  name: ProblemName,
  status: number,
): string[] {
  const document = problemDocument.parse(answer.body);
  expect(document.type).toBe(`/problems/${name}`);
  expect(answer.status).toBe(status);
  return (document.errors ?? []).map(({ pointer }) => pointer);
}

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
  expect(packed.get('CITATION.cff')!.equals(citation.rawPayload)).toBe(true);
  expect(citation.payload).toContain('/p/cool-or-warm?version=1');

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

test('what a reader holds already is not sent again; a version is cached for good', async () => {
  const { address } = await publish(host, evening, { address: 'cached' });
  for (const path of ['', '/result.json', '/package.zip', '/CITATION.cff']) {
    const frozen = await get(`/api/p/${address}${path}?version=1`);
    expect(frozen.headers['cache-control'], path).toBe('public, max-age=31536000, immutable');
    const newest = await get(`/api/p/${address}${path}`);
    expect(newest.headers['cache-control'], path).toBe('public, max-age=60, must-revalidate');
    const etag = String(frozen.headers.etag);
    expect(etag, path).toMatch(/^"[\w-]{43}"$/);
    const again = await get(`/api/p/${address}${path}?version=1`, { 'if-none-match': `"other", ${etag}` });
    expect([again.statusCode, again.rawPayload.length, again.headers.etag], path).toEqual([304, 0, etag]);
    expect(again.headers['cache-control'], path).toBe('public, max-age=31536000, immutable');
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

test('the preview names all that is missing, and publishing refuses it', async () => {
  const { trial, session } = await play([
    ...guests(9),
    { answer: 'r', consent: YES, comment: 'Ring me on 0161 496 0000.' },
  ]);
  await host.caller.ok('POST', `/api/trials/${trial.id}/arms/${trial.arms[1]!.id}/deviations`, {
    on: '2031-02-20',
    note: 'Lid was off for an hour.',
  });
  const path = `/api/trials/${trial.id}/publications`;
  const draft_ = { sessionIds: [session.id], licence: 'CC0-1.0' };
  const empty = await host.caller.ok<PublishPreview>('POST', `${path}/preview`, draft_);
  expect(empty.refusals.map(({ pointer }) => pointer)).toEqual([
    '#/title',
    ...trial.arms.map(({ id }) => `#/armNames/${id}`),
    '#/caveatAnswers',
  ]);
  // The host sees the page before everything is filled in.
  expect(empty.publication?.title).toBe(trial.title);
  expect(empty.caveats).toMatchObject([{ arm: 'Warmvessel', on: '2031-02-20', answer: null }]);
  expect(empty.sessions).toMatchObject([
    { sessionId: session.id, tier: 'full', assessors: 10, withdrawn: 0, allAgreeRows: true },
  ]);
  expect(empty.commentLines).toMatchObject([{ line: 'Ring me on 0161 496 0000.' }]);
  expect(empty.commentLines[0]!.flags.join(' ')).toContain('telephone');

  const body = publishing(trial, [session]);
  expect(expectProblem(await host.caller.call('POST', path, body), 'not-publishable', 409)).toEqual([
    '#/caveatAnswers',
  ]);
  const strange = { ...body, comments: ['Nobody said this.'] };
  const [caveat] = empty.caveats;
  const caveatAnswers = [
    { armId: caveat!.armId, on: caveat!.on, text: caveat!.text, answer: 'Air may explain it.' },
  ];
  expect(
    expectProblem(
      await host.caller.call('POST', path, { ...strange, caveatAnswers }),
      'not-publishable',
      409,
    ),
  ).toEqual(['#/comments/0']);
  const whole = await host.caller.ok<PublishPreview>('POST', `${path}/preview`, { ...body, caveatAnswers });
  expect(whole.refusals).toEqual([]);
  const made = await host.caller.ok<PublicationView>('POST', path, { ...body, caveatAnswers });
  const { publication } = await reader.ok<PublishedView>('GET', `/api/p/${made.address}`);
  expect(publication!.caveats).toEqual([
    {
      from: 'deviation',
      arm: 'Warmvessel',
      on: '2031-02-20',
      text: 'Lid was off for an hour.',
      answer: 'Air may explain it.',
    },
  ]);
  // Labels and orders are drawn anew; everything else is what the host saw.
  const stable = ({ sessions, ...rest }: NonNullable<PublishedView['publication']>) => ({
    ...rest,
    sessions: sessions.map(({ rows, parts, ...session_ }) => ({
      ...session_,
      rows: rows?.length,
      headlines: parts.map(({ finding }) => finding),
    })),
  });
  expect(stable(publication!)).toEqual(stable(whole.publication!));
  expect(made.choices).toMatchObject({ sessionIds: [session.id], caveatAnswers });
});

test('a small panel is published only if each of them and the host agree', async () => {
  const path = (one: Evening) => `/api/trials/${one.trial.id}/publications`;
  const refusing = await play([...guests(3), { answer: 'r', consent: { rows: true, smallGroup: false } }]);
  const body = publishing(refusing.trial, [refusing.session], { agreeSmall: true });
  expect(expectProblem(await host.caller.call('POST', path(refusing), body), 'not-publishable', 409)).toEqual(
    ['#/sessionIds/0'],
  );
  const silent = await play(guests(4, null));
  expect(
    expectProblem(
      await host.caller.call(
        'POST',
        path(silent),
        publishing(silent.trial, [silent.session], { agreeSmall: true }),
      ),
      'not-publishable',
      409,
    ),
  ).toEqual(['#/sessionIds/0']);
  const agreeing = await play(guests(4));
  expect(
    expectProblem(
      await host.caller.call('POST', path(agreeing), publishing(agreeing.trial, [agreeing.session])),
      'not-publishable',
      409,
    ),
  ).toEqual(['#/agreeSmall']);
  const { address } = await publish(host, agreeing, { agreeSmall: true });
  const { publication } = await reader.ok<PublishedView>('GET', `/api/p/${address}`);
  expect(publication!.sessions[0]).toMatchObject({ tier: 'agreed', assessors: 4, rows: null });
});

test('rows stand only where everybody said yes, and no before they were asked', async () => {
  const { address } = await publish(host, evening);
  const all = await reader.ok<PublishedView>('GET', `/api/p/${address}`);
  expect(new Set(all.publication!.sessions[0]!.rows!.map(({ person }) => person)).size).toBe(10);
  for (const consent of [null, { rows: false, smallGroup: true }]) {
    const one = await play([...guests(9), { answer: 'r', consent }]);
    const made = await publish(host, one);
    const { publication } = await reader.ok<PublishedView>('GET', `/api/p/${made.address}`);
    expect(publication!.sessions[0]!.rows).toBeNull();
    expect(publication!.sessions[0]!.assessors).toBe(10);
  }
});

test('consent may change until the tasting closes, and says nothing on the board', async () => {
  const { tablets, session } = await play(guests(2, { rows: true, smallGroup: false }));
  const [tablet] = tablets as [Caller];
  const view = await tablet.ok<SeatView>('GET', '/api/seat');
  expect(view.consent).toEqual({ rows: true, smallGroup: false });
  expectProblem(await tablet.call('POST', '/api/seat/consent', YES), 'wrong-state', 409);
  const events = await server.database.pool.query<{ event: object }>(
    'select event from session_event where session_id = $1',
    [session.id],
  );
  expect(JSON.stringify(events.rows)).not.toMatch(/consent|receipt/);
});

test('nothing that anybody may read leads to a seat, an assessor, a comment that was not passed, or the key', async () => {
  const table = guests(12).map((guest, index) => ({ ...guest, comment: `private line ${index}` }));
  const one = await play(table);
  const passed = 'private line 3';
  const { address } = await publish(host, one, { comments: [passed], address: 'looked-through' });
  const zip = await get(`/api/p/${address}/package.zip`);
  const texts = [
    (await get(`/api/p/${address}`)).payload,
    (await get(`/api/p/${address}/result.json`)).payload,
    (await get(`/api/p/${address}/CITATION.cff`)).payload,
    (await get(`/api/p/list/${host.panel}`)).payload,
    (await get(`/api/p/list/${host.panel}/atom.xml`)).payload,
    ...unzipPackage(zip.rawPayload).map(({ bytes }) => new TextDecoder().decode(bytes)),
  ];
  const rows = async (sql: string): Promise<string[]> =>
    (await server.database.pool.query<{ one: string }>(sql, [one.session.id])).rows.map((row) => row.one);
  const secrets = [
    ...(await rows('select id::text as one from seat where session_id = $1')),
    ...(await rows('select id::text as one from ballot where session_id = $1')),
    ...(await rows('select seed as one from plan_key where session_id = $1')),
    ...(await rows("select nonce as one from seal_leaf where session_id = $1 and kind = 'seating'")),
    ...(await rows('select token_hash as one from seat where session_id = $1')),
    ...one.tablets.map(({ seatToken }) => seatToken!),
    ...one.receipts.map(({ seatToken }) => seatToken!),
    ...table.map(({ comment }) => comment).filter((comment) => comment !== passed),
    'Steward',
  ];
  expect(secrets.length).toBeGreaterThan(60);
  for (const text of texts) expect(secrets.filter((secret) => text.includes(secret))).toEqual([]);
  expect(texts[1]).toContain(passed);
  const { sessions } = publicationContract.parse(JSON.parse(texts[1]!));
  expect(sessions[0]!.seal.leaves.map(({ kind }) => kind)).not.toContain('seating');
  for (const row of sessions[0]!.rows!) {
    expect(Object.keys(row).sort()).toEqual([
      'arm',
      'kind',
      'part',
      'person',
      'question',
      'role',
      'sample',
      'unit',
      'value',
    ]);
  }
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
