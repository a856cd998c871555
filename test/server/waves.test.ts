import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { SeatMessage } from '@oddglass/shared/contracts/live.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SealAnnouncement } from '@oddglass/shared/contracts/seal.ts';
import type { JoinOffer, PassedOn, SeatTaken, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { MoveOffer, SessionView } from '@oddglass/shared/contracts/session.ts';
import { readPackage } from '@oddglass/shared/publication/package.ts';
import { verifyPackage, verifyPublication } from '@oddglass/shared/publication/verify.ts';
import { describe, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import {
  Caller,
  draft,
  moved,
  newTrial,
  receiptOf,
  seated,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor } from '../support/factories.ts';
import { expectProblem, publish } from '../support/publishing.ts';
import { until } from '../support/until.ts';

// More people than tablets: seats are called in waves, and a tablet goes on to the next person. Five people and a spare seat,
// two at a time.

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

const PLAN = { assessors: 5, spareSeats: 1, seatsAtOnce: 2 };

async function opened(change: object = PLAN, ...steps: string[]): Promise<SessionView> {
  return moved(host, await draft(host, await newTrial(host), change), 'seal', ...steps, 'open');
}
const call = (who: Hosted, { id }: SessionView, wave: unknown) =>
  who.caller.call<SessionView & ProblemDocument>('POST', `/api/sessions/${id}/call-wave`, { wave });
const boardOf = ({ id }: SessionView) => host.caller.ok<Board>('GET', `/api/sessions/${id}/board`);
const offerOf = (session: SessionView) =>
  new Caller(server.app).ok<JoinOffer>('POST', '/api/join', { token: session.join?.token });
const take = (session: SessionView, seat: number, by = new Caller(server.app)) =>
  by.call<SeatTaken & ProblemDocument>('POST', '/api/join/seat', { code: session.join?.code, seat });
const passOn = (tablet: Caller) => tablet.call<PassedOn & ProblemDocument>('POST', '/api/seat/pass-on', {});
const eventsOf = async ({ id }: SessionView) =>
  (await listEvents(openDb(server.database.pool), id)).map(({ event }) => event);

/** Sits down, answers everything, and is still at the tablet. */
async function finished(session: SessionView, seat: number, comment = ''): Promise<Caller> {
  const tablet = await seated(server.app, session, seat);
  const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
  for (const tray of trays)
    await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, tray.servings[0]!.code, { comment }));
  return tablet;
}

describe('the host calls', () => {
  test('one wave after the other: the opening calls the first, and what is called stays called', async () => {
    const session = await opened();
    expect(session.actions).toContain('call-wave');
    expect((await boardOf(session)).waves).toEqual({ seatsAtOnce: 2, seats: 6, called: 1 });
    expect((await call(host, session, 2)).body.actions).toContain('call-wave');
    expect((await call(steward, session, 3)).body.actions).not.toContain('call-wave');
    expect((await boardOf(session)).waves?.called).toBe(3);
    expect((await eventsOf(session)).filter(({ kind }) => kind === 'wave-called')).toEqual([
      { kind: 'wave-called', wave: 2 },
      { kind: 'wave-called', wave: 3 },
    ]);
  });

  test('no wave twice, none out of turn, and none beyond the last', async () => {
    const session = await opened();
    for (const wave of [3, 5]) expectProblem(await call(host, session, wave), 'wrong-state', 409);
    for (const wave of [1, 0, -1, 2.5, '2', null, undefined])
      expectProblem(await call(host, session, wave), 'invalid-input', 400);
    expect((await call(host, session, 2)).status).toBe(200);
    const again = await call(host, session, 2);
    expectProblem(again, 'wrong-state', 409);
    expect(again.body.detail).toBe('Wave 2 was called last: the next one is wave 3.');
    await call(host, session, 3);
    for (const wave of [3, 4]) expectProblem(await call(host, session, wave), 'wrong-state', 409);
    expect((await boardOf(session)).waves?.called).toBe(3);
  });

  test('and of two who call at once one calls, so that no wave is skipped', async () => {
    const session = await opened();
    const both = await Promise.all([
      call(host, session, 2),
      call(steward, session, 2),
      call(host, session, 2),
    ]);
    expect(both.map(({ status }) => status).toSorted()).toEqual([200, 409, 409]);
    expect((await boardOf(session)).waves?.called).toBe(2);
  });

  test('only while the tasting is open, is not stopped, and has waves', async () => {
    const trial = await newTrial(host);
    const planned = await draft(host, trial, PLAN);
    expectProblem(await call(host, planned, 2), 'wrong-state', 409);
    const session = await moved(host, planned, 'seal');
    expect(session.actions).not.toContain('call-wave');
    expectProblem(await call(host, session, 2), 'wrong-state', 409);
    const open = await moved(host, session, 'open');
    const found = { mould: true, hopped: true, stoodWarm: false, gravityFalling: false, pitchedOn: null };
    const day = { ph: 3.8, phOn: '2031-03-04', meterCalibratedOn: '2031-03-04' };
    await host.caller.ok('POST', `/api/trials/${trial.id}/arms/${trial.arms[0]!.id}/safety`, {
      ...found,
      ...day,
    });
    expectProblem(await call(host, open, 2), 'unsafe-to-taste', 409);
    await moved(host, open, 'close');
    expectProblem(await call(host, open, 2), 'wrong-state', 409);
    const plain = await opened({ assessors: 5, spareSeats: 1 });
    expectProblem(await call(host, plain, 2), 'wrong-state', 409);
  });

  test('a stranger and a tablet call nothing', async () => {
    const session = await opened();
    const tablet = await seated(server.app, session, 1);
    const refused = await tablet.call('POST', `/api/sessions/${session.id}/call-wave`, { wave: 2 });
    expectProblem(refused, 'not-signed-in', 401);
    expect((await boardOf(session)).waves?.called).toBe(1);
  });
});

describe('at the door', () => {
  test('only seats of waves that are called are offered and can be taken, and seats of earlier ones stay open', async () => {
    const session = await opened();
    const offer = await offerOf(session);
    expect(offer.seats).toEqual([
      { number: 1, free: true },
      { number: 2, free: true },
    ]);
    expect(offer.wave).toEqual({ called: 1, of: 3, from: 1 });
    const early = await take(session, 3);
    expectProblem(early, 'wave-not-called', 409);
    expect(early.body.detail).toBe('Seat 3 is not called yet. Wave 1 of 3 sits down now.');
    // A number that is no seat is not waited for.
    expectProblem(await take(session, 7), 'seat-taken', 409);
    expect((await take(session, 1)).status).toBe(200);
    await call(host, session, 2);
    expect((await offerOf(session)).seats.map(({ number, free }) => [number, free])).toEqual([
      [1, false],
      [2, true],
      [3, true],
      [4, true],
    ]);
    expect((await offerOf(session)).wave).toEqual({ called: 2, of: 3, from: 3 });
    // Somebody of the first wave comes late.
    expect((await take(session, 2)).status).toBe(200);
    expect((await take(session, 3)).status).toBe(200);
    expectProblem(await take(session, 6), 'wave-not-called', 409);
    await call(host, session, 3);
    // The spare seat belongs to the last wave.
    expect((await take(session, 6)).status).toBe(200);
  });

  test('whoever knows the key stays out, in whatever wave', async () => {
    const session = await opened();
    await steward.caller.ok('GET', `/api/sessions/${session.id}/pour`);
    const door = async (seat: number) => {
      const browser = new Caller(server.app);
      browser.cookie = steward.caller.cookie;
      return take(session, seat, browser);
    };
    expectProblem(await door(1), 'knows-the-key', 403);
    // Which seats are called is not told them either.
    expectProblem(await door(3), 'knows-the-key', 403);
    await call(steward, session, 2);
    expectProblem(await door(3), 'knows-the-key', 403);
  });

  test('a browser that was handed on holds no more unfinished seats than any other', async () => {
    const session = await opened({ assessors: 8, spareSeats: 0, seatsAtOnce: 4 });
    const browser = new Caller(server.app);
    const sit = (seat: number) => take(session, seat, browser);
    const first = await sit(1);
    const tablet = new Caller(server.app, first.body.seatToken);
    await tablet.ok('POST', '/api/seat/cautions', {});
    const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
    await tablet.ok('POST', '/api/seat/ballots', ballotFor(trays[0]!, trays[0]!.servings[0]!.code));
    expect((await passOn(tablet)).status).toBe(200);
    expect((await sit(2)).status).toBe(200);
    expect((await sit(3)).status).toBe(200);
    expectProblem(await sit(4), 'seats-held', 409);
  });

  test('a guest learns of the waves nothing but which one is called, of how many, and where it begins', async () => {
    const session = await opened();
    const plain = await opened({ assessors: 5, spareSeats: 1 });
    const [offer, other] = [await offerOf(session), await offerOf(plain)];
    expect(Object.keys(offer).toSorted()).toEqual(['seats', 'session', 'wave']);
    expect(Object.keys(offer.wave!).toSorted()).toEqual(['called', 'from', 'of']);
    expect(Object.keys(offer.session).filter((key) => !(key in other.session))).toEqual(['inWaves']);
    expect(offer.session.inWaves).toBe(true);
  });
});

describe('a tablet goes on to the next person', () => {
  test('once the host has every answer: its token opens nothing any more, and it gets the way in', async () => {
    const session = await opened();
    const tablet = await seated(server.app, session, 1);
    const early = await passOn(tablet);
    expectProblem(early, 'wrong-state', 409);
    expect(early.body.detail).toMatch(/does not have every answer/);
    const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
    await tablet.ok('POST', '/api/seat/ballots', ballotFor(trays[0]!, trays[0]!.servings[0]!.code));
    const receipt = await receiptOf(tablet);
    const passed = await passOn(tablet);
    expect(passed.body).toEqual({ token: session.join?.token });
    for (const [method, path, body] of [
      ['GET', '/api/seat', undefined],
      ['POST', '/api/seat/move', {}],
      ['POST', '/api/seat/consent', { rows: true, smallGroup: true }],
      ['POST', '/api/seat/receipt', { receiptToken: 'A'.repeat(22) }],
      ['POST', '/api/seat/pass-on', {}],
    ] as const)
      expectProblem(await tablet.call(method, path, body), 'seat-unknown', 401);
    // The seat is finished on the board, and nobody can take it.
    expect((await boardOf(session)).seats[0]).toMatchObject({ status: 'finished', answered: 1 });
    expectProblem(await take(session, 1), 'seat-taken', 409);
    // The way back of whoever sat there is their receipt, as before.
    expect((await receipt.ok<ReceiptView>('GET', '/api/receipt')).answers.length).toBeGreaterThan(0);
  });

  test('and whoever looks at the same seat elsewhere loses it at that moment', async () => {
    const session = await opened();
    const tablet = await finished(session, 1);
    const { moveToken } = await tablet.ok<MoveOffer>('POST', '/api/seat/move', {});
    const address = await server.app.listen({ port: 0, host: '127.0.0.1' });
    const heard: SeatMessage[] = [];
    const socket = new WebSocket(`${address.replace('http', 'ws')}/api/seat/live`, [
      'oddglass',
      `seat.${tablet.seatToken}`,
    ]);
    socket.on('message', (data: Buffer) => heard.push(JSON.parse(data.toString()) as SeatMessage));
    await until('the second tab is told of the session', () => heard.some(({ type }) => type === 'session'));
    await passOn(tablet);
    await until('the second tab loses the seat', () => heard.some(({ type }) => type === 'seat-lost'));
    socket.close();
    // A way to it that was asked for before leads nowhere.
    const moved = await new Caller(server.app).call('POST', '/api/join/move', { token: moveToken });
    expectProblem(moved, 'move-refused', 403);
  });

  test('also of somebody who took the answers back', async () => {
    const session = await opened();
    const tablet = await finished(session, 1);
    const receipt = await receiptOf(tablet);
    await receipt.ok('POST', '/api/receipt/withdraw', {});
    expect((await passOn(tablet)).body).toEqual({ token: session.join?.token });
    expect((await boardOf(session)).seats[0]).toMatchObject({ status: 'withdrawn' });
  });

  test('not where everybody sits at once, and not once the tasting is closed', async () => {
    const plain = await opened({ assessors: 5, spareSeats: 1 });
    const there = await finished(plain, 1);
    expectProblem(await passOn(there), 'wrong-state', 409);
    await there.ok('GET', '/api/seat');
    const session = await opened();
    const tablet = await finished(session, 1);
    await moved(host, session, 'close');
    expectProblem(await passOn(tablet), 'wrong-state', 409);
    await tablet.ok('GET', '/api/seat');
  });

  test('two who press at once hand it on once', async () => {
    const session = await opened();
    const tablet = await finished(session, 1);
    const both = await Promise.all([passOn(tablet), passOn(tablet)]);
    expect(both.map(({ status }) => status).toSorted()).toEqual([200, 401]);
    expect((await eventsOf(session)).filter(({ kind }) => kind === 'tablet-passed-on')).toEqual([
      { kind: 'tablet-passed-on', seat: 1 },
    ]);
  });
});

describe('nothing of it shows where there is room for all', () => {
  test('in views, offers, boards, pour lists, events and the seal', async () => {
    for (const change of [
      { assessors: 5, spareSeats: 1 },
      { assessors: 5, spareSeats: 1, seatsAtOnce: 6 },
      { assessors: 5, spareSeats: 1, seatsAtOnce: 200 },
    ]) {
      const session = await opened(change);
      expect(session.actions).not.toContain('call-wave');
      expect('waves' in (await boardOf(session))).toBe(false);
      const offer = await offerOf(session);
      expect('wave' in offer || 'inWaves' in offer.session).toBe(false);
      expect(offer.seats).toHaveLength(6);
      expect((await take(session, 6)).status).toBe(200);
      const pour = await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`);
      expect('waves' in pour).toBe(false);
      expect((await eventsOf(session)).map(({ kind }) => kind)).not.toContain('wave-called');
      const { rows } = await server.database.pool.query<{ wave: number | null }>(
        'select wave from session where id = $1',
        [session.id],
      );
      expect(rows).toEqual([{ wave: null }]);
    }
  });
});

test('seats at a time are sealed with the plan where they are given, and left out of the seal where not', async () => {
  const sealedOf = async (change: object) => {
    const session = await opened(change);
    const told = await host.caller.ok<SealAnnouncement>('GET', `/api/sessions/${session.id}/announcement`);
    return told.settings.body;
  };
  expect(await sealedOf(PLAN)).toMatchObject(PLAN);
  expect('seatsAtOnce' in (await sealedOf({ assessors: 5, spareSeats: 1 }))).toBe(false);
});

test('a plan for fewer seats at a time than one, or for half a seat, is refused at its field', async () => {
  const trial = await newTrial(host);
  const session = await draft(host, trial);
  for (const seatsAtOnce of [0, -4, 2.5, 201]) {
    const refused = await host.caller.call<ProblemDocument>('PUT', `/api/sessions/${session.id}`, {
      ...session.settings,
      seatsAtOnce,
    });
    expectProblem(refused, 'invalid-input', 400);
    expect(refused.body.errors?.map(({ pointer }) => pointer)).toEqual(['#/seatsAtOnce']);
  }
});

test('the pour list says which wave is called, and the result in how many waves people tasted', async () => {
  const session = await opened();
  const pour = () => steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`);
  expect((await pour()).waves).toEqual({ seatsAtOnce: 2, seats: 6, called: 1 });
  for (const seat of [1, 2]) await passOn(await finished(session, seat));
  await call(host, session, 2);
  expect((await pour()).waves?.called).toBe(2);
  for (const seat of [3, 4]) await passOn(await finished(session, seat));
  await call(host, session, 3);
  await finished(session, 5);
  await moved(host, session, 'close', 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  expect(result.session.waves).toEqual({ called: 3, seatsAtOnce: 2 });
  expect(result.parts[0]!.served.answers).toBe(5);
  const caveats = result.parts[0]!.caveats.map(({ text }) => text);
  expect(caveats.some((text) => text.startsWith('People tasted in three waves of at most two'))).toBe(true);
});

test('where only the first wave was called people tasted at once, and the result says nothing of waves', async () => {
  const session = await opened();
  await finished(session, 1);
  await finished(session, 2);
  await moved(host, session, 'close', 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  expect('waves' in result.session).toBe(false);
});

test('a tasting in waves is published as it was sealed, and its package verifies', async () => {
  const trial = await newTrial(host);
  const plan = { assessors: 10, spareSeats: 0, seatsAtOnce: 5 };
  const session = await moved(host, await draft(host, trial, plan), 'seal', 'open');
  for (let seat = 1; seat <= 5; seat += 1) await passOn(await finished(session, seat));
  await call(host, session, 2);
  for (let seat = 6; seat <= 10; seat += 1) await finished(session, seat);
  await moved(host, session, 'close', 'reveal');
  const { address } = await publish(host, { trial, session, receipts: [], tablets: [] });
  const zip = await server.app.inject({ method: 'GET', url: `/api/p/${address}/package.zip` });
  const checks = verifyPackage(zip.rawPayload);
  expect(checks.filter(({ ok }) => !ok)).toEqual([]);
  expect(checks.length).toBeGreaterThan(10);
  const publication = readPackage(zip.rawPayload);
  const [told] = publication.sessions;
  expect(told?.seal.leaves.find(({ kind }) => kind === 'settings')?.body).toMatchObject(plan);
  const caveats = told?.parts[0]?.caveats.map(({ text }) => text) ?? [];
  expect(caveats.some((text) => text.startsWith('People tasted in two waves of at most five'))).toBe(true);
  // Seats at a time stand under the seal: another number is found.
  const bent = structuredClone(publication);
  const leaf = bent.sessions[0]!.seal.leaves.find(({ kind }) => kind === 'settings')!;
  leaf.body['seatsAtOnce'] = 10;
  expect(verifyPublication(bent).some(({ ok }) => !ok)).toBe(true);
});
