import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  newTrial,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { PASSPHRASE, settings, trialInput } from '../support/factories.ts';

// A name is what everybody sees of a person, an arm or an evening: it holds nothing that cannot be seen, and nobody's
// looks like another's. Pairs of likenesses are taken from memory of Unicode's confusables (UTS #39).

let server: TestServer;
let host: Hosted;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app, 'host2');
});
afterAll(() => server.close());

async function accept(name: string): Promise<{ status: number; body: ProblemDocument }> {
  const { token } = await host.caller.ok<{ token: string }>('POST', `/api/panels/${host.panel}/invitations`, {
    role: 'steward',
  });
  return new Caller(server.app).call<ProblemDocument>('POST', '/api/invitations/accept', {
    token,
    name,
    passphrase: PASSPHRASE,
  });
}

const HIDDEN = [
  ['a zero-width space', 'ho\u200bst'],
  ['a zero-width joiner', 'ho\u200dst'],
  ['a right-to-left override', 'ho\u202est'],
  ['an isolate', '\u2067host\u2069'],
  ['a soft hyphen', 'ho\u00adst'],
  ['a byte order mark', 'ho\ufeffst'],
  ['a tag', 'host\u{e0041}'],
  ['a Hangul filler', 'ho\u3164st'],
  ['a line separator', 'ho\u2028st'],
  ['a line break', 'ho\nst'],
  ['a tab', 'ho\tst'],
  ['a private character', 'ho\ue000st'],
] as const;

describe.each(HIDDEN)('%s', (_what, name) => {
  const refused = ({ status, body }: { status: number; body: unknown }, pointer: string): void => {
    expect(status).toBe(400);
    const { errors } = body as ProblemDocument;
    expect(errors?.find((error) => error.pointer === pointer)?.detail).toMatch(/cannot be seen|one line/);
  };
  test('is refused in names of accounts, panels, trials, arms and evenings', async () => {
    refused(await accept(name), '#/name');
    refused(await host.caller.call('POST', '/api/panels', { name }), '#/name');
    const trials = `/api/panels/${host.panel}/trials`;
    refused(await host.caller.call('POST', trials, trialInput({ title: name })), '#/title');
    const { arms } = trialInput();
    const named = trialInput({ arms: [{ ...arms[0]!, name }, ...arms.slice(1)] });
    refused(await host.caller.call('POST', trials, named), '#/arms/0/name');
    const trial = await newTrial(host);
    const sessions = `/api/trials/${trial.id}/sessions`;
    refused(await host.caller.call('POST', sessions, settings(trial, { title: name })), '#/title');
    const arm = `/api/trials/${trial.id}/arms/${trial.arms[0]!.id}`;
    refused(await host.caller.call('PATCH', arm, { name }), '#/name');
  });
});

test.each([
  ['the same in other letters', 'Host2'],
  ['full width', 'ｈｏｓｔ２'],
  ['a Cyrillic o', 'h\u043est2'],
  ['a Greek omicron', 'h\u03bfst2'],
  ['a zero for an o', 'h0st2'],
  ['a mathematical letter', '\u{1d5c1}ost2'],
  ['two spaces', 'host2  '],
])('%s is refused beside host2', async (_what, name) => {
  const { status, body } = await accept(name);
  expect([409, 400]).toContain(status);
  expect(body.errors?.[0]?.pointer).toBe('#/name');
});

test('letters of several scripts in one name are refused, whoever is there', async () => {
  const { status, body } = await accept('М\u0456ra'); // Cyrillic M and i
  expect(status).toBe(400);
  expect(body.errors?.[0]?.detail).toMatch(/one script/);
});

test.each(['Жанна', 'Ελένη', '山田 はな子', '김민준', 'José-Ångström', 'O’Brien 3', 'محمد', 'अमिता'])(
  '%s is a name',
  async (name) => {
    const { status } = await accept(name);
    expect(status).toBe(200);
  },
);

test('a name wholly in another script that looks like one that is there is refused', async () => {
  expect((await accept('Coca')).status).toBe(200);
  expect((await accept('\u0421\u043e\u0441\u0430')).status).toBe(409);
  expect((await accept('Lena')).status).toBe(200);
  expect((await accept('Iena')).status).toBe(409);
});

test('of two that look alike and come at the same moment one is taken', async () => {
  const found = await Promise.all([
    accept('Sepp'),
    accept('\u0405epp').catch(() => ({ status: 0 })),
    accept('sEpP'),
  ]);
  expect(found.filter(({ status }) => status === 200)).toHaveLength(1);
});

test('what was named before is read and changed as before', async () => {
  const trial = await newTrial(host);
  const session = await draft(host, trial);
  await server.database.pool.query(
    `update session set settings = jsonb_set(settings, '{title}', to_jsonb('old' || U&'\\202E' || 'title')) where id = $1`,
    [session.id],
  );
  const view = await host.caller.ok<{ settings: { title: string } }>('GET', `/api/sessions/${session.id}`);
  expect(view.settings.title).toBe('old\u202etitle');
});
