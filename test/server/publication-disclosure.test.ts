import { publication as publicationContract } from '@oddglass/shared/contracts/publication.ts';
import type {
  PublicationView,
  PublishedView,
  PublishPreview,
} from '@oddglass/shared/contracts/publishing.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import { beforeAll, expect, test } from 'vitest';
import { Caller, useStewardsPanel, type Hosted, type TestServer } from '../support/app.ts';
import {
  expectProblem,
  guests,
  playedEvening,
  publish,
  publishing,
  YES,
  type Evening,
  type Guest,
} from '../support/publishing.ts';

// What a host may publish of whom: preview, small panels, rows by consent, and nothing that leads to a person.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let reader: Caller;

useStewardsPanel((panel) => ({ server, host, steward } = panel));
beforeAll(async () => {
  reader = new Caller(server.app);
});

const play = (table: readonly Guest[]): Promise<Evening> => playedEvening(server, { host, steward }, table);
const get = (path: string) => server.app.inject({ method: 'GET', url: path });

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
  const { address } = await publish(host, await play(guests(10)));
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
