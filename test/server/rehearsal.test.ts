import { buildApp } from '@oddglass/server/app.ts';
import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import { listLiquid } from '@oddglass/db/queries/liquid.ts';
import { findSession } from '@oddglass/db/queries/session.ts';
import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { RehearsalInput, RehearsalView } from '@oddglass/shared/contracts/rehearsal.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SealAnnouncement, SealView } from '@oddglass/shared/contracts/seal.ts';
import type { JoinOffer } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { Story } from '@oddglass/shared/contracts/story.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { lowerTail, upperTail } from '@oddglass/shared/stats/binomial.ts';
import { describe, expect, test } from 'vitest';
import {
  Caller,
  draft,
  moved,
  newTrial,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { trianglePart } from '../support/factories.ts';
import { keyOf } from '../support/simulated-panel.ts';
import { until } from '../support/until.ts';

// A rehearsal: a copy of a plan that shares nothing with it but what it asks, played by simulated people over the API.

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

const AT_ONCE: RehearsalInput = {
  people: 12,
  dPrime: 2,
  attributeSteps: {},
  positionBias: 0,
  careless: 0,
  leaving: { share: 0, from: 1, to: 1 },
  pace: null,
};
const SLOW: RehearsalInput = { ...AT_ONCE, pace: 30 };

const rehearse = ({ id }: SessionView, change: Partial<RehearsalInput> = {}): Promise<SessionView> =>
  host.caller.ok('POST', `/api/sessions/${id}/rehearsal`, { ...AT_ONCE, ...change });
const standing = ({ id }: SessionView): Promise<RehearsalView> =>
  host.caller.ok('GET', `/api/sessions/${id}/rehearsal`);
const play = ({ id }: SessionView): Promise<RehearsalView> =>
  host.caller.ok('POST', `/api/sessions/${id}/rehearsal/play`, {});
const stop = ({ id }: SessionView): Promise<RehearsalView> =>
  host.caller.ok('POST', `/api/sessions/${id}/rehearsal/stop`, {});
const boardOf = ({ id }: SessionView): Promise<Board> => host.caller.ok('GET', `/api/sessions/${id}/board`);
const over = (session: SessionView): Promise<void> =>
  until('the rehearsal is over', async () => (await standing(session)).play !== 'playing');
const seatedOn = async (session: SessionView): Promise<number> =>
  (await boardOf(session)).seats.filter(({ status }) => status !== 'free').length;
const refused = async (who: Hosted, method: string, path: string, body?: unknown) => {
  const { status, body: problem } = await who.caller.call<{ type: string; detail: string }>(
    method,
    path,
    body,
  );
  return { status, type: problem.type, detail: problem.detail };
};

describe('a copy', () => {
  test('asks the same, is sealed and marked, and shares no id, seed, root or way in with the session', async () => {
    const trial = await newTrial(host);
    const session = await moved(host, await draft(host, trial), 'seal');
    const copy = await rehearse(session);
    expect(copy).toMatchObject({ state: 'sealed', rehearsal: true, settings: session.settings });
    expect(session.rehearsal).toBe(false);
    const [own, theirs] = await Promise.all([keyOf(server, session.id), keyOf(server, copy.id)]);
    const idsOf = ({ servings, samples }: typeof own): string[] => [
      ...servings.flatMap(({ servingId, trayId, seatId }) => [servingId, trayId, seatId]),
      ...samples.keys(),
    ];
    expect(idsOf(theirs).length).toBe(idsOf(own).length);
    expect(idsOf(own).filter((id) => new Set(idsOf(theirs)).has(id))).toEqual([]);
    const { rows } = await server.database.pool.query<{ seed: string }>(
      'select seed from plan_key where session_id = any($1)',
      [[session.id, copy.id]],
    );
    expect(new Set(rows.map(({ seed }) => seed)).size).toBe(2);
    expect(copy.root).not.toBe(session.root);
    const open = [await moved(host, session, 'open'), await moved(host, copy, 'open')];
    expect(new Set(open.map(({ join }) => join?.token)).size).toBe(2);
    expect(new Set(open.map(({ join }) => join?.code)).size).toBe(2);
  });

  test('its key is as little evidence of the session’s as a fresh draw: orders and codes agree as often as by chance', async () => {
    const trial = await newTrial(host);
    const parts = [trianglePart(trial, { replicates: 4 })];
    const settings = { assessors: 60, spareSeats: 0, cupMl: 5, parts };
    const session = await moved(host, await draft(host, trial, settings), 'seal');
    const orders = async (
      id: string,
    ): Promise<{ order: Map<string, string>; codes: Map<string, string> }> => {
      const { servings } = await keyOf(server, id);
      const trays = Map.groupBy(servings, ({ seat, trayNumber }) => `${seat}/${trayNumber}`);
      const order = new Map<string, string>();
      const codes = new Map<string, string>();
      for (const [place, cups] of trays) {
        const sorted = cups.toSorted((a, b) => a.position - b.position);
        order.set(place, sorted.map(({ armId }) => trial.arms.findIndex(({ id }) => id === armId)).join(''));
        for (const { position, code } of sorted) codes.set(`${place}/${position}`, code);
      }
      return { order, codes };
    };
    const own = await orders(session.id);
    const agreeing = { order: 0, codes: 0 };
    const copies = 3;
    for (let copy = 0; copy < copies; copy += 1) {
      const theirs = await orders((await rehearse(session, { people: 12 })).id);
      for (const [place, order] of own.order) if (theirs.order.get(place) === order) agreeing.order += 1;
      for (const [place, code] of own.codes) if (theirs.codes.get(place) === code) agreeing.codes += 1;
    }
    // Exact binomial limits, each passed by chance once in a million: one order in six, one code in the pool of 615 or so.
    const trays = own.order.size * copies;
    expect(trays).toBe(720);
    expect(upperTail(agreeing.order, trays, 1 / 6)).toBeGreaterThan(1e-6);
    expect(lowerTail(agreeing.order, trays, 1 / 6)).toBeGreaterThan(1e-6);
    expect(upperTail(agreeing.codes, own.codes.size * copies, 1 / 600)).toBeGreaterThan(1e-6);
  });

  test('is made by a host, of a draft or a sealed session, and not of one that is open or of a rehearsal', async () => {
    const trial = await newTrial(host);
    const plan = await draft(host, trial);
    const at = (id: string) => `/api/sessions/${id}/rehearsal`;
    expect((await refused(steward, 'POST', at(plan.id), AT_ONCE)).type).toContain('not-allowed');
    const copy = await rehearse(plan);
    expect(copy.state).toBe('sealed');
    expect((await refused(host, 'POST', at(copy.id), AT_ONCE)).type).toContain('wrong-state');
    const open = await moved(host, plan, 'seal', 'open');
    expect((await refused(host, 'POST', at(open.id), AT_ONCE)).type).toContain('wrong-state');
    expect((await refused(host, 'GET', at(open.id))).status).toBe(404);
  });

  test('more people than seats, and attributes that nobody asks for, are refused; nothing is left behind', async () => {
    const trial = await newTrial(host);
    const plan = await draft(host, trial);
    const at = `/api/sessions/${plan.id}/rehearsal`;
    const many = await host.caller.call<{ errors: unknown }>('POST', at, { ...AT_ONCE, people: 15 });
    expect(many.body.errors).toEqual([{ pointer: '#/people', detail: 'There are 14 seats in this plan.' }]);
    expect((await refused(host, 'POST', at, { ...AT_ONCE, attributeSteps: { sour: 3 } })).status).toBe(400);
    const { rehearsals } = await host.caller.ok<TrialView>('GET', `/api/trials/${trial.id}`);
    expect(rehearsals).toEqual([]);
  });

  test('it says so: to assessors before they sit down, in its seal, on the pour list and in what can be announced', async () => {
    const trial = await newTrial(host);
    const copy = await moved(host, await rehearse(await draft(host, trial)), 'open');
    const offer = await new Caller(server.app).ok<JoinOffer>('POST', '/api/join', { code: copy.join?.code });
    expect(offer.session.rehearsal).toBe(true);
    const pour = await steward.caller.ok<PourView>('GET', `/api/sessions/${copy.id}/pour`);
    expect(pour.rehearsal).toBe(true);
    const announced = await host.caller.ok<SealAnnouncement>('GET', `/api/sessions/${copy.id}/announcement`);
    expect(announced.about).toMatch(/^A rehearsal: nothing in it is tasted/);
    expect(announced.settings.body).toMatchObject({ rehearsal: true });
  });

  test('nothing of it takes liquid or waits for somebody to look at the arms', async () => {
    const trial = await host.caller.ok<TrialView>('POST', `/api/panels/${host.panel}/trials`, {
      title: 'Nobody looked',
      question: 'Does it matter?',
      factor: 'oak',
      arms: ['One', 'Other'].map((name) => ({
        name,
        differs: 'in oak',
        volumeMl: 10,
        abv: 5,
        allergens: [],
      })),
    });
    const copy = await moved(host, await rehearse(await draft(host, trial)), 'open');
    await play(copy);
    await over(copy);
    await moved(host, copy, 'close', 'reveal');
    const after = await host.caller.ok<TrialView>('GET', `/api/trials/${trial.id}`);
    expect(after.arms.map(({ volumeMl }) => volumeMl)).toEqual([10, 10]);
    expect(after.arms.map(({ liquid }) => liquid.reservedMl)).toEqual([0, 0]);
    const db = openDb(server.database.pool);
    expect(
      await listLiquid(
        db,
        after.arms.map(({ id }) => id),
      ),
    ).toEqual([]);
    // Names of its arms can still be corrected.
    expect(after.arms.map(({ sealed }) => sealed)).toEqual([false, false]);
  });
});

describe('playing', () => {
  test('over the API to the end: board, result as a rehearsal, apart from tastings and story, never published', async () => {
    const trial = await newTrial(host);
    const parts = [trianglePart(trial, { replicates: 2 })];
    const copy = await moved(
      host,
      await rehearse(await draft(host, trial, { parts }), { dPrime: 6 }),
      'open',
    );
    expect(await standing(copy)).toMatchObject({ play: 'ready', mayPlay: true });
    expect((await play(copy)).play).toBe('playing');
    await over(copy);
    expect((await standing(copy)).play).toBe('played');
    const board = await boardOf(copy);
    const finished = board.seats.filter(({ status }) => status === 'finished');
    expect(finished).toHaveLength(12);
    expect(finished.every(({ answered }) => answered === 2)).toBe(true);

    const revealed = await moved(host, copy, 'close', 'reveal');
    const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${copy.id}/result`);
    expect(result.session.rehearsal).toBe(true);
    const [part] = result.parts;
    if (part?.kind !== 'triangle') throw new Error('a triangle was asked');
    expect(part.test.answers).toBe(24);
    // With a d-prime of 6 triangles are right by 0.991 (Ennis 1993): fewer than 18 of 24 come once in 10^8.
    expect(part.test.counted ?? 0).toBeGreaterThanOrEqual(18);
    const seal = await host.caller.ok<SealView>('GET', `/api/sessions/${copy.id}/seal`);
    expect(seal.leaves?.length).toBeGreaterThan(0);

    const view = await host.caller.ok<TrialView>('GET', `/api/trials/${trial.id}`);
    expect(view.rehearsals.map(({ id }) => id)).toEqual([copy.id]);
    expect(view.sessions.map(({ id }) => id)).not.toContain(copy.id);
    const panel = await host.caller.ok<PanelView>('GET', `/api/panels/${host.panel}`);
    expect(JSON.stringify(panel)).not.toContain(copy.id);
    const story = await host.caller.call<Story>('GET', `/api/trials/${trial.id}/story`);
    expect(story.text).not.toContain(copy.id);
    for (const [method, path] of [
      ['POST', `/api/trials/${trial.id}/publications`],
      ['POST', `/api/trials/${trial.id}/publications/preview`],
    ] as const) {
      const { status, text } = await host.caller.call(method, path, {
        sessionIds: [revealed.id],
        title: 'A rehearsal',
        licence: 'CC-BY-4.0',
        armNames: Object.fromEntries(trial.arms.map(({ id, name }) => [id, name])),
        comments: [],
        caveatAnswers: [],
        agreeSmall: false,
        listed: false,
      });
      expect(text).toContain('is a rehearsal: nothing was tasted');
      if (!path.endsWith('preview')) expect(status).toBeGreaterThanOrEqual(400);
    }
    const { headers } = await host.caller.call('GET', `/api/sessions/${copy.id}/result.csv`);
    expect(String(headers['content-disposition'])).toContain('filename="rehearsal-');
  });

  test('as many leave as was set, between the answers that were set', async () => {
    const trial = await newTrial(host);
    const parts = [trianglePart(trial, { replicates: 3 })];
    const change = { leaving: { share: 1, from: 1, to: 2 } };
    const copy = await moved(host, await rehearse(await draft(host, trial, { parts }), change), 'open');
    await play(copy);
    await over(copy);
    const answered = (await boardOf(copy)).seats
      .filter(({ status }) => status !== 'free')
      .map((one) => one.answered);
    expect(answered).toHaveLength(12);
    expect(answered.every((count) => count === 1 || count === 2)).toBe(true);
    expect(new Set(answered).size).toBe(2);
  });

  test('what a board hears follows the seed and never the cups: other plans, the same steps at every seat', async () => {
    const trial = await newTrial(host);
    const parts = [trianglePart(trial, { replicates: 3 })];
    const plan = await draft(host, trial, { parts });
    const steps = async (): Promise<Map<number, string[]>> => {
      const change = { leaving: { share: 0.4, from: 0, to: 2 }, seed: '0123456789abcdef', careless: 0.3 };
      const copy = await moved(host, await rehearse(plan, change), 'open');
      await play(copy);
      await over(copy);
      const heard = new Map<number, string[]>();
      for (const { event } of await listEvents(openDb(server.database.pool), copy.id)) {
        if (!('seat' in event) || event.seat === null) continue;
        // Codes are drawn anew for each plan.
        const told = JSON.stringify({ ...event, code: undefined });
        heard.set(event.seat, [...(heard.get(event.seat) ?? []), told]);
      }
      return heard;
    };
    const [one, other] = [await steps(), await steps()];
    expect(one.size).toBe(12);
    expect([...one].sort()).toEqual([...other].sort());
  });

  test('the same seed is kept and told; a seed is drawn where none was given', async () => {
    const plan = await draft(host, await newTrial(host));
    const given = await standing(await rehearse(plan, { seed: '00112233445566ff' }));
    expect(given.simulation.seed).toBe('00112233445566ff');
    const drawn = await standing(await rehearse(plan));
    expect(drawn.simulation.seed).toMatch(/^[0-9a-f]{16}$/);
    expect(drawn.simulation.seed).not.toBe((await standing(await rehearse(plan))).simulation.seed);
  });

  test('in waves they sit down as the host calls them, and the last wave ends it', async () => {
    const session = await draft(host, await newTrial(host), { assessors: 10, spareSeats: 0, seatsAtOnce: 4 });
    const copy = await moved(host, await rehearse(session, { people: 10 }), 'open');
    await play(copy);
    const finished = async (): Promise<number> =>
      (await boardOf(copy)).seats.filter(({ status }) => status === 'finished').length;
    await until('the first wave is through', async () => (await finished()) === 4);
    expect(await seatedOn(copy)).toBe(4);
    expect((await standing(copy)).play).toBe('playing');
    await host.caller.ok('POST', `/api/sessions/${copy.id}/call-wave`, { wave: 2 });
    await until('the second is', async () => (await finished()) === 8);
    expect((await standing(copy)).play).toBe('playing');
    await host.caller.ok('POST', `/api/sessions/${copy.id}/call-wave`, { wave: 3 });
    await over(copy);
    expect(await finished()).toBe(10);
    expect((await standing(copy)).play).toBe('played');
  });

  test('of several places no file of a rehearsal is made', async () => {
    const places = [
      { name: 'Mill', assessors: 3, spareSeats: 0 },
      { name: 'Barn', assessors: 3, spareSeats: 0 },
    ];
    const session = await draft(host, await newTrial(host), { assessors: 6, spareSeats: 0, sites: places });
    const copy = await rehearse(session, { people: 6 });
    const answer = await refused(steward, 'POST', `/api/sessions/${copy.id}/sites/1/plan`, {});
    expect(answer).toMatchObject({
      status: 409,
      detail: expect.stringContaining('A rehearsal is played here'),
    });
  });

  test('a host stops it and goes on; a steward does neither; one at a time for a panel', async () => {
    const plan = await draft(host, await newTrial(host));
    const copy = await moved(host, await rehearse(plan, SLOW), 'open');
    const other = await moved(host, await rehearse(plan, SLOW), 'open');
    const at = `/api/sessions/${copy.id}/rehearsal`;
    expect((await refused(steward, 'POST', `${at}/play`, {})).type).toContain('not-allowed');
    await play(copy);
    await until('somebody sits', async () => (await seatedOn(copy)) > 0);
    expect((await refused(host, 'POST', `${at}/play`, {})).type).toContain('rehearsal-plays');
    const second = await refused(host, 'POST', `/api/sessions/${other.id}/rehearsal/play`, {});
    expect(second.type).toContain('rehearsal-plays');
    expect((await refused(steward, 'POST', `${at}/stop`, {})).status).toBe(403);
    expect(await steward.caller.ok<RehearsalView>('GET', at)).toMatchObject({
      play: 'playing',
      mayPlay: false,
    });
    expect((await stop(copy)).play).toBe('stopped');
    const seats = await seatedOn(copy);
    expect(seats).toBeLessThan(12);
    expect((await play(copy)).play).toBe('playing');
    await until('more sit', async () => (await seatedOn(copy)) > seats);
    await stop(copy);
  });

  test('closing and deleting end it; deleting takes everything along, at any time', async () => {
    const plan = await draft(host, await newTrial(host));
    const closed = await moved(host, await rehearse(plan, SLOW), 'open');
    await play(closed);
    await until('somebody sits', async () => (await seatedOn(closed)) > 0);
    await moved(host, closed, 'close');
    await over(closed);
    expect(await standing(closed)).toMatchObject({ play: 'stopped', mayPlay: false });

    const gone = await moved(host, await rehearse(plan, SLOW), 'open');
    await play(gone);
    await until('somebody sits', async () => (await seatedOn(gone)) > 0);
    expect((await refused(steward, 'DELETE', `/api/sessions/${gone.id}`)).status).toBe(403);
    await host.caller.ok('DELETE', `/api/sessions/${gone.id}`);
    expect((await refused(host, 'GET', `/api/sessions/${gone.id}/rehearsal`)).status).toBe(404);
    const { rows } = await server.database.pool.query(
      'select 1 from seat where session_id = $1 union all select 1 from serving_key where session_id = $1',
      [gone.id],
    );
    expect(rows).toEqual([]);
    // The player has noticed: the next one may play.
    const next = await moved(host, await rehearse(plan), 'open');
    await until('the next one plays', async () => {
      const { status } = await host.caller.call('POST', `/api/sessions/${next.id}/rehearsal/play`, {});
      return status === 200;
    });
    await over(next);
    await host.caller.ok('DELETE', `/api/sessions/${(await moved(host, next, 'close', 'reveal')).id}`);
    // A tasting stays.
    const tasting = await moved(host, plan, 'seal');
    expect((await refused(host, 'DELETE', `/api/sessions/${tasting.id}`)).type).toContain('wrong-state');
  });

  test('a server that ends in between leaves a state that says so, and it can be gone on with', async () => {
    const plan = await draft(host, await newTrial(host));
    const copy = await moved(host, await rehearse(plan, SLOW), 'open');
    const { pool, url } = server.database;
    const other = await buildApp({ pool, databaseUrl: url, clock: () => server.clock.now });
    await other.ready();
    const there = new Caller(other);
    there.cookie = host.caller.cookie;
    await there.ok('POST', `/api/sessions/${copy.id}/rehearsal/play`, {});
    await until('somebody sits', async () => (await seatedOn(copy)) > 0);
    await other.close();
    const seats = await seatedOn(copy);
    expect((await findSession(openDb(pool), copy.id))?.rehearsal?.play).toBe('playing');
    expect(await standing(copy)).toMatchObject({ play: 'interrupted', mayPlay: true });
    await play(copy);
    await until('more sit', async () => (await seatedOn(copy)) > seats);
    await stop(copy);
    expect((await standing(copy)).play).toBe('stopped');
  });
});
