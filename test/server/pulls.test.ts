import { randomUUID } from 'node:crypto';
import type { CalendarDrawn, CalendarView } from '@oddglass/shared/contracts/calendar.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { TrialPulls } from '@oddglass/shared/contracts/pull.ts';
import type { ReadingInput, ReadingView } from '@oddglass/shared/contracts/reading.ts';
import type { CsvImported } from '@oddglass/shared/contracts/reading-import.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import ICAL from 'ical.js';
import { beforeAll, describe, expect, test } from 'vitest';
import {
  Caller,
  draft,
  invited,
  moved,
  newTrial,
  strangeHost,
  usePanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { trialInput } from '../support/factories.ts';
import { readingOf, smallJpeg } from '../support/readings.ts';

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let stranger: Hosted;

usePanel((panel) => ({ server, host } = panel));
beforeAll(async () => {
  steward = await invited(host, 'steward', 'Cellar');
  stranger = await strangeHost(host);
});

const hoursPull = (name: string, hours: number) => ({
  id: randomUUID(),
  name,
  when: { kind: 'hours', hours },
});
/** A trial pitched two days before the clock, with pulls at 0, 24 and 48 hours. */
async function pitched(change: Parameters<typeof newTrial>[1] = {}) {
  const trial = await newTrial(host, change);
  await host.caller.ok('PUT', `/api/trials/${trial.id}/pitched`, { pitchedAt: '2031-03-02T18:00:00Z' });
  const pulls = await host.caller.ok<TrialPulls>('POST', `/api/trials/${trial.id}/pulls`, {
    pulls: [hoursPull('Pitching', 0), hoursPull('Day 1', 24), hoursPull('Day 2', 48)],
  });
  return { trial, pulls: pulls.pulls, arms: trial.arms };
}
const send = (who: Caller, pull: string, arm: string, body: ReadingInput) =>
  who.call<ReadingView & ProblemDocument>('POST', `/api/pulls/${pull}/arms/${arm}/readings`, body);
const read = (trial: TrialView) => host.caller.ok<TrialPulls>('GET', `/api/trials/${trial.id}/pulls`);

describe('pulls', () => {
  test('are planned by hosts, taken now by anybody of the panel, and planned once when sent twice', async () => {
    const { trial } = await pitched();
    const path = `/api/trials/${trial.id}/pulls`;
    const later = { pulls: [hoursPull('Day 90', 90 * 24)] };
    expect((await steward.caller.call('POST', path, later)).status).toBe(403);
    expect((await stranger.caller.call('POST', path, later)).status).toBe(404);
    await host.caller.ok('POST', path, later);
    expect((await host.caller.ok<TrialPulls>('POST', path, later)).pulls).toHaveLength(4);
    const again = await host.caller.call<ProblemDocument>('POST', path, { pulls: [hoursPull('day 90', 1)] });
    expect(again.body.errors?.[0]?.pointer).toBe('#/pulls/0/name');
    const now = { kind: 'unplanned', at: '2031-03-04T18:00:00Z' };
    const taken = await steward.caller.ok<TrialPulls>('POST', path, {
      pulls: [{ id: randomUUID(), name: 'It foamed', when: now }],
    });
    // In the order in which they come.
    expect(taken.pulls.map(({ name }) => name)).toEqual([
      'Pitching',
      'Day 1',
      'Day 2',
      'It foamed',
      'Day 90',
    ]);
  });

  test('are renamed, moved and cancelled while they have no reading, and not after', async () => {
    const { pulls, arms } = await pitched();
    const [first, second] = pulls;
    const moved = await host.caller.ok<TrialPulls>('PATCH', `/api/pulls/${first!.id}`, {
      name: 'At pitching',
      when: { kind: 'day', on: '2031-03-09' },
    });
    expect(moved.pulls.at(-1)).toMatchObject({ name: 'At pitching', when: { on: '2031-03-09' } });
    expect((await steward.caller.call('POST', `/api/pulls/${first!.id}/cancel`, {})).status).toBe(403);
    expect((await stranger.caller.call('POST', `/api/pulls/${first!.id}/cancel`, {})).status).toBe(404);
    await host.caller.ok('POST', `/api/pulls/${first!.id}/cancel`, {});
    expect((await send(host.caller, first!.id, arms[0]!.id, readingOf({ ph: '4,2' }))).body.type).toMatch(
      /pull-cancelled$/,
    );
    expect((await send(steward.caller, second!.id, arms[0]!.id, readingOf({ ph: '4,2' }))).status).toBe(200);
    for (const [method, path] of [
      ['PATCH', ''],
      ['POST', '/cancel'],
    ] as const) {
      const refused = await host.caller.call<ProblemDocument>(method, `/api/pulls/${second!.id}${path}`, {
        name: 'Other',
      });
      expect(refused.body.type).toMatch(/pull-has-readings$/);
    }
  });
});

describe('readings', () => {
  test('are kept as typed and as counted; sent twice they count once; another body is refused', async () => {
    const { trial, pulls, arms } = await pitched();
    const body = readingOf({ ph: '4,20', gravity: '12,0', unit: 'plato', sampleC: 20 });
    const first = await send(steward.caller, pulls[0]!.id, arms[0]!.id, body);
    expect(first.body).toMatchObject({ ph: 4.2, writtenBy: 'Cellar', typed: { ph: { text: '4,20' } } });
    expect(first.body.gravity).toBeCloseTo(1.04838, 5);
    expect((await send(steward.caller, pulls[0]!.id, arms[0]!.id, body)).status).toBe(200);
    expect((await read(trial)).pulls[0]?.readings).toHaveLength(1);
    for (const [arm, other] of [
      [arms[0]!.id, { ...body, note: 'other' }],
      [arms[1]!.id, body],
    ] as const)
      expect((await send(host.caller, pulls[0]!.id, arm, other)).body.type).toMatch(/id-taken$/);
    const word = await send(host.caller, pulls[1]!.id, arms[0]!.id, readingOf({ ph: 'four' }));
    expect(word.body.errors?.[0]?.pointer).toBe('#/typed/ph/text');
    expect((await send(stranger.caller, pulls[0]!.id, arms[0]!.id, readingOf({ ph: '4' }))).status).toBe(404);
    const foreign = await newTrial(host);
    expect((await send(host.caller, pulls[0]!.id, foreign.arms[0]!.id, readingOf({ ph: '4' }))).status).toBe(
      404,
    );
  });

  test('are put right by a row beside the old one, once, and of two devices one is told', async () => {
    const { trial, pulls, arms } = await pitched();
    const [pull, arm] = [pulls[0]!.id, arms[0]!.id];
    const first = readingOf({ ph: '4.9' });
    await send(host.caller, pull, arm, first);
    const right = { ...readingOf({ ph: '4.3' }), replaces: first.id };
    const both = await Promise.all([
      send(host.caller, pull, arm, right),
      send(steward.caller, pull, arm, { ...readingOf({ ph: '4.4' }), replaces: first.id }),
      send(steward.caller, pull, arm, readingOf({ ph: '4.5' })),
    ]);
    expect(both.map(({ status }) => status).sort()).toEqual([200, 409, 409]);
    const rows = (await read(trial)).pulls[0]!.readings;
    expect(rows.map(({ current }) => current)).toEqual([false, true]);
    expect(rows[0]).toMatchObject({ ph: 4.9, writtenBy: 'Host' });
  });
});

describe('what was read speaks before a tasting', () => {
  const typeOf = (answer: { body: ProblemDocument }) => answer.body.type;
  const open = (session: SessionView) =>
    host.caller.call<SessionView & ProblemDocument>('POST', `/api/sessions/${session.id}/open`, {});
  const withoutAlcohol = { arms: trialInput().arms.map((arm) => ({ ...arm, abv: 0.4 })) };

  test.each([
    ['4.7', '2031-03-04'],
    ['3.7', null],
    ['0.5', '2031-03-04'],
  ] as const)('pH %s, meter calibrated on %s, keeps it shut although 3.8 was noted', async (ph, day) => {
    const { trial, pulls, arms } = await pitched(withoutAlcohol);
    const session = await moved(host, await draft(host, trial), 'seal');
    await send(steward.caller, pulls[2]!.id, arms[1]!.id, readingOf({ ph, calibratedOn: day }));
    expect(typeOf(await open(session))).toMatch(/unsafe-to-taste$/);
  });

  test('a pH in the notebook that is older than the note does not count', async () => {
    const { trial, pulls, arms } = await pitched(withoutAlcohol);
    const session = await moved(host, await draft(host, trial), 'seal');
    const early = readingOf({ ph: '5.2', takenAt: '2031-03-02T18:00:00Z' });
    await send(host.caller, pulls[0]!.id, arms[1]!.id, early);
    expect((await open(session)).status).toBe(200);
  });

  test('a reading stops a tasting that is open, and its correction lets it go on', async () => {
    const { trial, pulls, arms } = await pitched(withoutAlcohol);
    const session = await moved(host, await draft(host, trial), 'seal', 'open');
    const state = async () =>
      (await host.caller.ok<SessionView>('GET', `/api/sessions/${session.id}`)).stoppedAt;
    const wrong = readingOf({ ph: '4.8' });
    await send(steward.caller, pulls[2]!.id, arms[1]!.id, wrong);
    expect(await state()).toBe(server.clock.now.toISOString());
    const right = { ...readingOf({ ph: '3.8' }), replaces: wrong.id };
    await send(steward.caller, pulls[2]!.id, arms[1]!.id, right);
    expect(await state()).toBeNull();
  });

  test('a gravity that still falls warns of pressure although nobody noted it', async () => {
    const { trial, pulls, arms } = await pitched();
    const at = (day: string) => `2031-03-${day}T18:00:00Z`;
    const gravity = (text: string, day: string) => readingOf({ gravity: text, takenAt: at(day) });
    await send(host.caller, pulls[0]!.id, arms[0]!.id, gravity('1.014', '02'));
    server.clock.now = new Date('2031-03-05T18:00:00Z');
    try {
      await send(host.caller, pulls[2]!.id, arms[0]!.id, gravity('1.011', '05'));
      const view = await host.caller.ok<TrialView>('GET', `/api/trials/${trial.id}`);
      expect(view.arms.map(({ safety }) => safety?.gravityFalling)).toEqual([true, false]);
    } finally {
      server.clock.now = new Date('2031-03-04T18:00:00Z');
    }
  });
});

describe('photos', () => {
  test('lose what a camera wrote, are served to the panel only, and are counted', async () => {
    const { trial, pulls, arms } = await pitched();
    const put = (who: Caller, body: Buffer, photo: string = randomUUID()) =>
      who.app.inject({
        method: 'PUT',
        url: `/api/pulls/${pulls[0]!.id}/arms/${arms[0]!.id}/photos/${photo}`,
        headers: { cookie: who.cookie ?? '', 'content-type': 'image/jpeg' },
        payload: body,
      });
    const photo = randomUUID();
    const sent = smallJpeg({ secrets: true });
    expect(sent.toString('latin1')).toMatch(/Exif[\s\S]*GPS/);
    expect((await put(steward.caller, sent, photo)).statusCode).toBe(200);
    expect((await put(steward.caller, sent, photo)).statusCode).toBe(200);
    expect((await put(steward.caller, smallJpeg({}), photo)).statusCode).toBe(409);
    const got = await host.caller.app.inject({
      url: `/api/photos/${photo}`,
      headers: { cookie: host.caller.cookie ?? '' },
    });
    expect(got.headers).toMatchObject({
      'content-type': 'image/jpeg',
      'cache-control': 'no-store',
      'x-content-type-options': 'nosniff',
    });
    expect(got.rawPayload.equals(smallJpeg({}))).toBe(true);
    expect((await stranger.caller.call('GET', `/api/photos/${photo}`)).status).toBe(404);
    expect((await new Caller(server.app).call('GET', `/api/photos/${photo}`)).status).toBe(401);
    expect((await put(stranger.caller, sent)).statusCode).toBe(404);
    for (const bad of [
      Buffer.from('\x89PNG\r\n\x1a\n'),
      Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"/>'),
      smallJpeg({}).subarray(0, 60),
      smallJpeg({ side: 1601 }),
    ])
      expect((await put(host.caller, bad)).statusCode).toBe(422);
    expect((await put(host.caller, Buffer.alloc(410_000, 1))).statusCode).toBe(413);
    for (let count = 2; count <= 6; count++) await put(host.caller, sent);
    expect((await put(host.caller, sent)).json<ProblemDocument>().type).toMatch(/too-many-photos$/);
    expect((await read(trial)).pulls[0]?.photos).toHaveLength(6);
  });
});

describe('a file of readings', () => {
  const csv =
    '\ufeffArm;pull;planned;taken_at;pH;SG;colour\r\n' +
    'Coolvessel;Day 1;;;4,5;1,040;x\r\n;;;;;;\r\nCoolvessel;Day 5;120 h;;4,3;1,020;\r\n' +
    'Nobody;Day 1;;;4;;\r\nWarmvessel;Day 1;;3/4/2031;4;;\r\n';

  test('adds what it can, names lines it cannot, adds nothing twice, and comes back out whole', async () => {
    const { trial } = await pitched();
    const path = `/api/trials/${trial.id}/readings/import`;
    expect((await stranger.caller.call('POST', path, { csv, minutesEast: 60 })).status).toBe(404);
    // Day 5 is a pull that is planned, and planning is a host's.
    expect((await steward.caller.call('POST', path, { csv, minutesEast: 60 })).status).toBe(403);
    const first = await host.caller.ok<CsvImported>('POST', path, { csv, minutesEast: 60 });
    expect(first).toMatchObject({ added: 2, there: 0 });
    expect(first.refused.map(({ line }) => line)).toEqual([5, 6]);
    const again = await steward.caller.ok<CsvImported>('POST', path, { csv, minutesEast: 60 });
    expect(again).toMatchObject({ added: 0, there: 2 });
    const out = await steward.caller.call('GET', `/api/trials/${trial.id}/readings.csv`);
    expect(out.headers['content-type']).toMatch(/^text\/csv/);
    const twin = await newTrial(host);
    await host.caller.ok('PUT', `/api/trials/${twin.id}/pitched`, { pitchedAt: '2031-03-02T18:00:00Z' });
    const into = `/api/trials/${twin.id}/readings/import`;
    const copied = await host.caller.ok<CsvImported>('POST', into, { csv: out.text, minutesEast: 0 });
    expect(copied).toMatchObject({ added: 2, refused: [] });
    const bare = ({ pulls }: TrialPulls) =>
      pulls.flatMap(({ name, when, readings }) =>
        readings.map(({ takenAt, typed, ph, gravity }) => ({ name, when, takenAt, typed, ph, gravity })),
      );
    expect(bare(await read(twin))).toEqual(bare(await read(trial)));
  });
});

describe('the calendar of a panel', () => {
  const feed = (token: string) => new Caller(server.app).call('GET', `/api/calendar/${token}/pulls.ics`);

  test('is read by whoever holds its address, until that is drawn again or ended', async () => {
    const panel = await invited(host, 'host', 'Planner');
    const { trial, pulls, arms } = await pitched({ title: 'Cold, warm; and "odd"' });
    const path = `/api/panels/${host.panel}/calendar`;
    expect((await host.caller.ok<CalendarView>('GET', path)).drawnAt).toBeNull();
    expect((await steward.caller.call('POST', path, {})).status).toBe(403);
    expect((await stranger.caller.call('POST', path, {})).status).toBe(404);
    const { token } = await panel.caller.ok<CalendarDrawn>('POST', path, {});
    await host.caller.ok('PATCH', `/api/pulls/${pulls[1]!.id}`, { when: { kind: 'day', on: '2031-04-30' } });
    const answer = await feed(token);
    expect(answer.headers['content-type']).toMatch(/^text\/calendar/);
    const events = new ICAL.Component(ICAL.parse(answer.text) as unknown as [string, unknown[], unknown[]])
      .getAllSubcomponents('vevent')
      .map((one) => new ICAL.Event(one))
      .filter(({ uid }) => pulls.some(({ id }) => uid.startsWith(id)));
    expect(events.map(({ summary }) => summary)).toContain('Day 2 · Cold, warm; and "odd"');
    const day = events.find(({ summary }) => summary.startsWith('Day 1'))!;
    expect([day.startDate.isDate, day.startDate.toString(), day.endDate.toString()]).toEqual([
      true,
      '2031-04-30',
      '2031-05-01',
    ]);
    const second = events.find(({ summary }) => summary.startsWith('Day 2'))!;
    expect(second.startDate.toJSDate().toISOString()).toBe('2031-03-04T18:00:00.000Z');
    for (const told of [...arms.flatMap(({ id, name }) => [id, name]), 'pH', 'gravity'])
      expect(answer.text).not.toContain(told);
    const stored = await server.database.pool.query<{ token_hash: string }>(
      'select token_hash from calendar_address',
    );
    expect(stored.rows.map((row) => row.token_hash)).not.toContain(token);
    const { token: redrawn } = await panel.caller.ok<CalendarDrawn>('POST', path, {});
    expect((await feed(token)).status).toBe(404);
    expect((await feed(redrawn)).status).toBe(200);
    await panel.caller.ok('DELETE', path);
    expect((await feed(redrawn)).status).toBe(404);
    expect(trial.title).toBe('Cold, warm; and "odd"');
  });
});
