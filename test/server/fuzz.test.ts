import { randomUUID } from 'node:crypto';
import { problemDocument } from '@oddglass/shared/contracts/problem.ts';
import fc from 'fast-check';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  invited,
  moved,
  newTrial,
  seated,
  startServer,
  type TestServer,
} from '../support/app.ts';
import { pulledBefore, readingOf } from '../support/readings.ts';
import { ballotFor, settings, trialInput } from '../support/factories.ts';
import { guests, playedEvening, publish, publishing } from '../support/publishing.ts';

// Whatever is sent, to whatever route: never a 5xx, and every refusal is a problem document.

let server: TestServer;
let callers: Caller[];
let operations: { method: string; path: string }[];
let samples: unknown[];

beforeAll(async () => {
  server = await startServer();
  const host = await firstHost(server.app);
  const trial = await newTrial(host);
  const evening = await playedEvening(
    server,
    { host, steward: await invited(host, 'steward', 'Steward') },
    guests(5),
  );
  const publication = await publish(host, evening, { address: 'fuzzed' });
  const pull = await pulledBefore(host, trial);
  const open = await moved(host, await draft(host, trial), 'seal', 'open');
  const tablet = await seated(server.app, open, 1);
  callers = [new Caller(server.app), host.caller, tablet, evening.receipts[0]!];
  const document = JSON.parse((await callers[0]!.call('GET', '/api/docs/json')).text) as {
    paths: Record<string, object>;
  };
  operations = Object.entries(document.paths).flatMap(([path, methods]) =>
    Object.keys(methods).map((method) => ({
      method: method.toUpperCase(),
      path: path
        .replace('{session}', open.id)
        .replace('{trial}', /publications/.test(path) ? evening.trial.id : trial.id)
        .replace('{panel}', host.panel)
        .replace('{arm}', trial.arms[0]!.id)
        .replace('{pull}', pull)
        .replace('{token}', 'not-a-token-anybody-drew')
        .replace('{seat}', '3')
        .replace('{publication}', publication.id)
        .replace('{address}', publication.address),
    })),
  );
  const view = await tablet.ok<{ trays: never[] }>('GET', '/api/seat');
  samples = [
    settings(trial),
    trialInput(),
    ballotFor(view.trays[0]!, '123'),
    { token: open.join!.token },
    { code: open.join!.code, seat: 2 },
    publishing(evening.trial, [evening.session]),
    { pitchedAt: '2031-03-01T12:00:00Z' },
    { pulls: [{ id: randomUUID(), name: 'Fuzzed', when: { kind: 'hours', hours: 3 } }] },
    readingOf({ ph: '3,9', gravity: '1,010' }),
    { csv: 'arm;ph\nCoolvessel;4', minutesEast: 0 },
  ];
});
afterAll(() => server.close());

/** A well-formed body with one of its members replaced by something else. */
const bent = fc.tuple(fc.nat(), fc.nat(), fc.jsonValue({ maxDepth: 2 })).map(([which, member, value]) => {
  const body = structuredClone(samples[which % samples.length]) as Record<string, unknown>;
  const keys = Object.keys(body);
  body[keys[member % keys.length]!] = value;
  return body;
});

test('any body to any route is answered, never with a 5xx', async () => {
  const statuses = new Set<number>();
  await fc.assert(
    fc.asyncProperty(fc.nat(), fc.nat(), fc.oneof(bent, fc.jsonValue()), async (which, who, body) => {
      const { method, path } = operations[which % operations.length]!;
      // Closing, revealing or withdrawing would end the fuzz; signing out would change who asks.
      if (/\/(close|reveal|sign-out|demo|withdraw)$|live$/.test(path)) return;
      const answer = await callers[who % callers.length]!.call(
        method,
        path,
        method === 'GET' ? undefined : body,
      );
      statuses.add(answer.status);
      expect(answer.status, `${method} ${path} ${JSON.stringify(body)}: ${answer.text}`).toBeLessThan(500);
      if (answer.status >= 400)
        expect(problemDocument.safeParse(answer.body).success, answer.text).toBe(true);
    }),
    { numRuns: 3000 },
  );
  expect([...statuses]).toEqual(expect.arrayContaining([200, 400, 401]));
}, 120_000);

test('odd addresses are answered too', async () => {
  for (const path of [
    '/api/sessions/%00',
    '/api/trials/1%27%20or%201=1',
    '/api/%E0%A4%A',
    `/api/${'x'.repeat(3000)}`,
    '/api/sessions/0/live?after=-1',
  ]) {
    const { status, body } = await callers[1]!.call('GET', path);
    expect(problemDocument.safeParse(body).success, path).toBe(true);
    expect(status, path).toBeGreaterThanOrEqual(400);
    expect(status, path).toBeLessThan(500);
  }
});
