import { pathToFileURL } from 'node:url';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import {
  Caller,
  draft,
  firstHost,
  invited,
  moved,
  newTrial,
  seated,
  startServer,
  strangeHost,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { diluteAlone } from '../support/spiking.ts';
import {
  chooseTwo,
  jsonOf,
  partsOf,
  passOn,
  rateAndDescribe,
  SPIKE,
  type Heard,
} from '../support/leak-fixtures.ts';
import { ballotFor, oddCodes } from '../support/factories.ts';
import { findLeaks, keysOf, type Truth } from '../support/leaks.ts';
import { readTruth } from '../support/leak-truth.ts';
import { pulledBefore } from '../support/readings.ts';
import { pages } from '../support/pages.ts';
import { until } from '../support/until.ts';

// Walks every route of the OpenAPI document, every page and every live event, as host, assessor and as the host of
// another panel, through the states before the reveal, and looks for the key in what they get.

const SEATS = 24;
// Two waves, so that calling one, what is told of them, and tablets that are handed on are walked too.
const AT_ONCE = 12;
const repository = new URL('../../', import.meta.url);

interface Operation {
  method: string;
  path: string;
}

let server: TestServer;
let address: string;
let host: Hosted;
let steward: Hosted;
let stranger: Hosted;
let trial: TrialView;
let session: SessionView;
let pull: string;
const tablets: Caller[] = [];
let truth: Truth;
let operations: Operation[];
const heard: Heard[] = [];
interface Announced {
  settings: { nonce: string; body: { parts: { samples: string[] }[] } };
}
const log: string[] = [];

beforeAll(async () => {
  const { handler } = (await import(pathToFileURL(`${repository.pathname}web/build/handler.js`).href)) as {
    handler: WebHandler;
  };
  server = await startServer({
    webHandler: handler,
    logger: { level: 'info', stream: { write: (line: string) => void log.push(line) } },
  });
  address = await server.app.listen({ port: 0, host: '127.0.0.1' });
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Steward');
  stranger = await strangeHost(host);
  trial = await newTrial(host);
  pull = await pulledBefore(host, trial);
  session = await draft(host, trial, {
    assessors: SEATS,
    spareSeats: 0,
    seatsAtOnce: AT_ONCE,
    title: 'Blind evening',
    parts: partsOf(trial),
  });
  const document = JSON.parse((await new Caller(server.app).call('GET', '/api/docs/json')).text) as {
    paths: Record<string, Record<string, unknown>>;
  };
  operations = Object.entries(document.paths).flatMap(([path, methods]) =>
    Object.keys(methods).map((method) => ({ method: method.toUpperCase(), path })),
  );
  await playUntilReveal();
});
afterAll(() => server.close());

async function lookAtBoard(state = 'sealed'): Promise<void> {
  const look = (what: string) => host.caller.call('GET', `/api/sessions/${session.id}${what}`);
  record('host', 'GET /api/sessions/{session}', state, await look(''));
  record('host', 'GET /api/sessions/{session}/board', state, await look('/board'));
}

/** The evening: sealed, poured bottle by bottle, tasted, closed; walked as everybody in each state. */
async function playUntilReveal(): Promise<void> {
  session = await moved(host, session, 'seal');
  truth = await readTruth(server.database.pool, session.id);
  const live = listenAsHost();
  const pour = await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`);
  for (const sample of pour.samples) {
    if (sample.spike !== null) await diluteAlone(steward, session, sample.id, () => lookAtBoard());
    for (const cup of sample.cups) {
      server.clock.now = new Date(server.clock.now.getTime() + 5_000);
      await steward.caller.ok('POST', `/api/sessions/${session.id}/pour/ticks`, {
        servingIds: [cup.servingId],
        poured: true,
      });
    }
    // The bottle is changed; a host who looks now must not see which cups are full.
    await walk('sealed');
  }
  session = await moved(host, session, 'open');
  const odd = oddCodes(pour);
  for (let seat = 1; seat <= AT_ONCE; seat++) tablets.push(await seated(server.app, session, seat));
  await lookAtBoard('open');
  session = await host.caller.ok('POST', `/api/sessions/${session.id}/call-wave`, { wave: 2 });
  for (let seat = AT_ONCE + 1; seat <= SEATS; seat++) tablets.push(await seated(server.app, session, seat));
  const listening = listenAsAssessor(tablets[0]);
  for (const [index, tablet] of tablets.entries()) {
    server.clock.now = new Date(server.clock.now.getTime() + 11_000);
    const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
    const tray = trays[0]!;
    for (const position of [1, 2, 3]) {
      await tablet.ok('POST', '/api/seat/progress', {
        trayNumber: 1,
        part: 1,
        sheet: 1,
        step: 'tasting',
        position,
      });
    }
    if (index % 6 === 5) continue;
    const choice = index % 3 === 0 ? tray.servings[0]!.code : (odd.get(`${index + 1}/1`) ?? '');
    const ballot = ballotFor(tray, choice);
    record(
      'assessor',
      'POST /api/seat/ballots',
      'open',
      await tablet.call('POST', '/api/seat/ballots', ballot),
    );
    if (index % 5 === 4) continue;
    for (const sent of await rateAndDescribe(tablet, trays[1]!, truth)) {
      record('assessor', 'POST /api/seat/ballots', 'open', sent);
    }
    if (index % 7 === 3) continue;
    record('assessor', 'POST /api/seat/ballots', 'open', await chooseTwo(tablet, trays[2]!, truth));
  }
  await walk('open');
  for (const [what, answer] of await passOn(tablets[1]!)) record('assessor', what, 'open', answer);
  session = await moved(host, session, 'close');
  await walk('closed');
  // Messages come in order: whoever has heard of the closing has heard everything before it.
  const told = (who: Heard['who'], words: string): boolean =>
    heard.some((one) => one.who === who && one.state === 'live' && one.text.includes(words));
  await until('host hears of the closing', () => told('host', '"kind":"closed"'));
  await until('assessor hears of the closing', () => told('assessor', '"state":"closed"'));
  (await live).close();
  (await listening).close();
}

function record(
  who: Heard['who'],
  what: string,
  state: string,
  answer: { status: number; text: string; headers?: unknown },
): void {
  heard.push({
    who,
    what,
    state,
    status: answer.status,
    text: `${JSON.stringify(answer.headers ?? {})}\n${answer.text}`,
  });
}

function fill(path: string): string {
  return path
    .replace(/\{(session|publication|member|invitation|photo|passkey|solo)\}/, session.id)
    .replace('{trial}', trial.id)
    .replace('{panel}', host.panel)
    .replace('{arm}', trial.arms[0]!.id)
    .replace('{pull}', pull)
    .replace('{token}', 'not-a-token-anybody-drew')
    .replace('{seat}', '400')
    .replace('{address}', 'not-there');
}

// These would move the evening on or away; the evening itself makes and hears them.
const MOVES = /\/(seal|open|close|reveal|take-key|sign-out|demo)$|^\/api\/panels$/;

async function walk(state: string): Promise<void> {
  const callers = {
    host: host.caller,
    assessor: tablets[0] ?? new Caller(server.app),
    stranger: stranger.caller,
  };
  for (const [who, caller] of Object.entries(callers) as [Heard['who'], Caller][]) {
    for (const { method, path } of operations) {
      if (method !== 'GET' && who === 'host' && MOVES.test(path)) continue;
      // It would take the seat from the tablet that listens; another one is handed on.
      if (who === 'assessor' && path.endsWith('/pass-on')) continue;
      if (/live$/.test(path) || (who === 'stranger' && /sign-out|demo|panels$/.test(path))) continue;
      const body = method === 'GET' || method === 'DELETE' ? undefined : {};
      record(who, `${method} ${path}`, state, await caller.call(method, fill(path), body));
    }
    for (const page of pages()) {
      const response = await fetch(address + fill(page), {
        headers: caller.cookie ? { cookie: caller.cookie } : {},
        redirect: 'manual',
      });
      const text = await response.text();
      record(who, `page ${page}`, state, { status: response.status, text, headers: [...response.headers] });
    }
  }
}

async function socketTo(
  path: string,
  protocols: string[],
  headers: Record<string, string>,
  who: Heard['who'],
): Promise<WebSocket> {
  const socket = new WebSocket(address.replace('http', 'ws') + path, protocols, { headers });
  socket.on('message', (data) => record(who, `live ${path}`, 'live', { status: 200, text: String(data) }));
  await new Promise((resolve, reject) => socket.once('open', resolve).once('error', reject));
  return socket;
}
const listenAsHost = () =>
  socketTo(`/api/sessions/${session.id}/live`, [], { cookie: host.caller.cookie ?? '' }, 'host');
const listenAsAssessor = (tablet: Caller | undefined) =>
  socketTo('/api/seat/live', ['oddglass', `seat.${tablet?.seatToken}`], {}, 'assessor');

/** Live events of the host as one list, so that order and timing over the evening are looked at too. */
const hostEvents = () =>
  heard
    .filter(({ who, what }) => who === 'host' && what.startsWith('live'))
    .map((entry) => jsonOf(entry) as { type: string; event?: { seq: number; at: string; event: object } })
    .filter(({ type }) => type === 'event')
    .map(({ event }) => ({ seq: event!.seq, at: event!.at, ...event!.event }));

describe('before the reveal', () => {
  test('every route, every page and the live channel were walked by host, assessor and stranger', () => {
    expect(operations.length).toBeGreaterThan(20);
    for (const who of ['host', 'assessor', 'stranger'] as const) {
      const walked = new Set(heard.filter((entry) => entry.who === who).map(({ what }) => what));
      const left = operations
        .filter(({ method, path }) => !(method !== 'GET' && MOVES.test(path)) && !/live$/.test(path))
        .filter(({ method, path }) => !walked.has(`${method} ${path}`));
      expect(left, who).toEqual([]);
      for (const page of pages()) expect(walked.has(`page ${page}`), page).toBe(true);
    }
    expect(hostEvents().length).toBeGreaterThan(100);
    expect(heard.some(({ who, what }) => who === 'assessor' && what.startsWith('live'))).toBe(true);
  });

  test('nothing an assessor gets names an arm, a sample or the trial', () => {
    const names = [
      ...trial.arms.flatMap(({ id, name, differs }) => [id, name, differs]),
      trial.title,
      trial.question,
      trial.factor,
      SPIKE,
      'duplicate',
      'spiked',
      ...truth.secrets,
    ];
    for (const entry of heard.filter(({ who }) => who === 'assessor')) {
      const named = names.filter((name) => entry.text.includes(name));
      expect(named, `${entry.what} while ${entry.state}: ${entry.text.slice(0, 300)}`).toEqual([]);
    }
  });

  test('nothing a host gets ties a code, cup, tray or seat to an arm or sample', () => {
    for (const entry of heard.filter(({ who }) => who === 'host')) {
      // A plan is announced by its settings leaf: with the nonce of that leaf, and ids of samples that a host reads nowhere
      // else. Neither leads to an arm, a code or a seat.
      const opened = entry.what.endsWith('/announcement') ? (jsonOf(entry) as Announced).settings : null;
      const told = opened ? [opened.nonce, ...opened.body.parts.flatMap(({ samples }) => samples)] : [];
      const secrets = truth.secrets.filter((secret) => !told.includes(secret));
      expect(
        secrets.filter((secret) => entry.text.includes(secret)),
        entry.what,
      ).toEqual([]);
      expect(findLeaks(jsonOf(entry), { ...truth, secrets }), `${entry.what} while ${entry.state}`).toEqual(
        [],
      );
    }
    expect(findLeaks(hostEvents(), truth)).toEqual([]);
  });

  test('of waves the host hears their numbers, and of a tablet that is handed on its seat', () => {
    const told = (hostEvents() as { kind?: string }[]).filter(({ kind }) => /wave|passed/.test(kind ?? ''));
    expect(told).toMatchObject([{ wave: 2 }, { seat: 2 }]);
    expect(told.map((event) => Object.keys(event).length)).toEqual([4, 4]);
  });

  test('the ledger of an arm stands still while cups are poured and tasted', () => {
    const ledgers = heard
      .filter(({ who, what }) => who === 'host' && what === 'GET /api/trials/{trial}')
      .map((entry) =>
        (jsonOf(entry) as TrialView).arms.map(({ id, volumeMl, liquid }) => ({ id, volumeMl, liquid })),
      );
    expect(ledgers.length).toBeGreaterThan(3);
    expect(ledgers[0]?.every(({ liquid }) => liquid.reservedMl > 0)).toBe(true);
    for (const ledger of ledgers) expect(ledger).toEqual(ledgers[0]);
  });

  test('no totals of right answers exist yet', () => {
    const refused = heard.filter(
      ({ who, what }) => who === 'host' && what === 'GET /api/sessions/{session}/result',
    );
    expect(refused.map(({ status }) => status)).toEqual(refused.map(() => 409));
    for (const entry of heard.filter(({ what }) => !what.startsWith('page'))) {
      expect(
        keysOf(jsonOf(entry)).filter((key) => /correct|right|score|hits|wrong/i.test(key)),
        entry.what,
      ).toEqual([]);
    }
  });

  test('the steward’s pages are closed to a host who has not taken the key', () => {
    const pours = heard.filter(
      ({ who, what }) => who === 'host' && what.includes('/pour') && !what.startsWith('page'),
    );
    expect(pours.length).toBeGreaterThan(3);
    for (const { status } of pours) expect([400, 403]).toContain(status);
  });

  test('the host of another panel gets nothing at all', async () => {
    const names = [
      trial.title,
      trial.question,
      host.panel,
      session.settings.title,
      ...trial.arms.map(({ name }) => name),
    ];
    for (const entry of heard.filter(({ who }) => who === 'stranger')) {
      if (!/\{(session|trial|panel)\}/.test(entry.what)) continue;
      expect([400, 404], `${entry.what}: ${entry.status}`).toContain(entry.status);
      const body = entry.text.slice(entry.text.indexOf('\n'));
      // An address that was asked for may stand in the answer; nothing that was not known may.
      expect(
        names.filter((name) => name !== host.panel && body.includes(name)),
        entry.what,
      ).toEqual([]);
    }
    const refused = socketTo(
      `/api/sessions/${session.id}/live`,
      [],
      { cookie: stranger.caller.cookie ?? '' },
      'stranger',
    );
    await expect(refused).rejects.toThrow('404');
  });

  test('log lines hold no key, no token and no answer', () => {
    const secrets = [
      ...truth.secrets,
      ...tablets.map(({ seatToken }) => seatToken ?? ''),
      session.join?.token ?? 'x'.repeat(99),
    ];
    expect(log.length).toBeGreaterThan(0);
    for (const line of log) expect(secrets.filter((secret) => secret && line.includes(secret))).toEqual([]);
  });
});

describe('a planted leak is found', () => {
  /** The board's cups as the host sees them, a row for each, with something planted. */
  const rows = (plant: (code: string, sample: string, index: number) => Record<string, unknown>) =>
    [...truth.classes]
      .filter(([key]) => key.startsWith('code:'))
      .map(([key, sample], index) => {
        const code = key.slice(5);
        return { code, ...plant(code, sample, index) };
      });
  const first = () => truth.secrets[0] ?? '';

  test('by value', () => {
    expect(
      findLeaks(
        rows((_code, sample) => ({ sample })),
        truth,
      ),
    ).not.toEqual([]);
  });
  test('by an id that is constant per sample', () => {
    expect(
      findLeaks(
        rows((_code, sample) => ({ group: sample === first() ? 'x1' : 'x2' })),
        truth,
      ),
    ).not.toEqual([]);
  });
  test('by the order of rows', () => {
    const sorted = rows(() => ({})).sort((a, b) =>
      (truth.classes.get(`code:${a.code}`) ?? '') < (truth.classes.get(`code:${b.code}`) ?? '') ? -1 : 1,
    );
    expect(findLeaks(sorted, truth)).not.toEqual([]);
  });
  test('by timing', () => {
    const at = (_code: string, sample: string, index: number) => ({
      at: new Date(Date.UTC(2031, 2, 4, sample === first() ? 18 : 19, 0, index % 60)).toISOString(),
    });
    expect(findLeaks(rows(at), truth)).not.toEqual([]);
  });
  test('by a count', () => {
    expect(
      findLeaks(
        rows((_code, sample) => ({ left: sample === first() ? 35 : 36 })),
        truth,
      ),
    ).not.toEqual([]);
  });
  test('by a flag on half of the cups of one bottle', () => {
    let flagged = 0;
    const poured = (_code: string, sample: string) => ({ poured: sample === first() && flagged++ < 18 });
    expect(findLeaks(rows(poured), truth)).not.toEqual([]);
  });
  test('in an event', () => {
    const events = hostEvents().map((event) =>
      'code' in event
        ? { ...event, lot: truth.classes.get(`code:${event.code}`) === first() ? 1 : 2 }
        : event,
    );
    expect(findLeaks(events, truth)).not.toEqual([]);
  });
  test('and rows without a plant are clean', () => {
    expect(
      findLeaks(
        rows(() => ({ state: 'open' })).sort((a, b) => (a.code < b.code ? -1 : 1)),
        truth,
      ),
    ).toEqual([]);
  });
});
