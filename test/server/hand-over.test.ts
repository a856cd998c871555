import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { MoveOffer, SessionView } from '@oddglass/shared/contracts/session.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import { expect, test } from 'vitest';
import {
  Caller,
  draft,
  moved,
  movedTo,
  newTrial,
  receiptOf,
  seated,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor, trianglePart } from '../support/factories.ts';
import { expectProblem } from '../support/publishing.ts';
import { until } from '../support/until.ts';

// A seat goes to another tablet without anybody learning what was answered at it, and a host who tries is seen.

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

/** An open tasting of two triangles each, with somebody at seat 1 who has answered the first. */
async function answeredOnce(): Promise<{
  session: SessionView;
  tablet: Caller;
  view: SeatView;
  said: BallotReceipt;
}> {
  const trial = await newTrial(host);
  const parts = [trianglePart(trial, { replicates: 2 })];
  const session = await moved(host, await draft(host, trial, { assessors: 3, parts }), 'seal', 'open');
  const tablet = await seated(server.app, session, 1);
  const view = await tablet.ok<SeatView>('GET', '/api/seat');
  const [tray] = view.trays;
  const ballot = ballotFor(tray!, tray!.servings[2]!.code, { comment: 'wetcardboardish third' });
  return { session, tablet, view, said: await tablet.ok('POST', '/api/seat/ballots', ballot) };
}

const handOver = (who: Hosted, { id }: SessionView, seat = 1) =>
  who.caller.call<MoveOffer>('POST', `/api/sessions/${id}/seats/${seat}/hand-over`, {});

const eventsOf = async ({ id }: SessionView): Promise<string[]> =>
  (await listEvents(openDb(server.database.pool), id)).map(({ event }) => event.kind);

test('what the host gets opens no seat by itself, and who holds the seat is not touched by asking', async () => {
  const { session, tablet } = await answeredOnce();
  const { body: way } = await handOver(host, session);
  expect(Object.keys(way).toSorted()).toEqual(['moveToken', 'seat', 'until']);
  expectProblem(await new Caller(server.app, way.moveToken).call('GET', '/api/seat'), 'seat-unknown', 401);
  await tablet.ok('GET', '/api/seat');
  // The browser of whoever made it cannot go it, nor that of anybody else of the panel.
  for (const { caller } of [host, steward]) {
    expectProblem(await caller.call('POST', '/api/join/move', { token: way.moveToken }), 'not-allowed', 403);
  }
  await tablet.ok('GET', '/api/seat');
  expect(await eventsOf(session)).not.toContain('seat-handed-over');
  await movedTo(server.app, way);
  expectProblem(await tablet.call('GET', '/api/seat'), 'seat-unknown', 401);
  expect(await eventsOf(session)).toContain('seat-handed-over');
});

test('a way is gone once, for ten minutes, and a newer one ends it', async () => {
  const { session } = await answeredOnce();
  const first = (await handOver(host, session)).body;
  const second = (await handOver(host, session)).body;
  const knock = (way: MoveOffer) =>
    new Caller(server.app).call('POST', '/api/join/move', { token: way.moveToken });
  expectProblem(await knock(first), 'move-refused', 403);
  expect((await knock(second)).status).toBe(200);
  expectProblem(await knock(second), 'move-refused', 403);
  const late = (await handOver(host, session)).body;
  const start = server.clock.now;
  server.clock.now = new Date(start.getTime() + 10 * 60_000);
  expectProblem(await knock(late), 'move-refused', 403);
  server.clock.now = start;
  const closing = (await handOver(host, session)).body;
  await moved(host, session, 'close');
  expectProblem(await knock(closing), 'move-refused', 403);
});

test('two devices that come at once: one of them has the seat', async () => {
  const { session } = await answeredOnce();
  const { body: way } = await handOver(host, session);
  const both = await Promise.all(
    [1, 2].map(() => new Caller(server.app).call('POST', '/api/join/move', { token: way.moveToken })),
  );
  expect(both.map(({ status }) => status).toSorted()).toEqual([200, 403]);
  expect((await eventsOf(session)).filter((kind) => kind === 'seat-handed-over')).toHaveLength(1);
});

test('earlier answers are there for the next holder, and nothing of them is told', async () => {
  const { session, said } = await answeredOnce();
  const later = await movedTo(server.app, (await handOver(host, session)).body);
  const seat = await later.call<SeatView>('GET', '/api/seat');
  const [answered, open] = seat.body.trays.map(({ sheets }) => sheets[0]!);
  expect(answered).toMatchObject({ ballot: null, answeredBefore: true });
  expect(open).toMatchObject({ ballot: null, answeredBefore: false });
  expect(seat.body.handedOver).toBe(true);
  expect(seat.text).not.toContain('wetcardboardish');
  expect(seat.text).not.toContain(said.id);
  // Trying every answer gets the same refusal, for the right one too.
  const [tray] = seat.body.trays;
  const tries = await Promise.all(
    tray!.servings.map(({ code }) => later.call('POST', '/api/seat/ballots', ballotFor(tray!, code))),
  );
  for (const one of tries) expectProblem(one, 'sheet-answered', 409);
  expect(new Set(tries.map(({ body }) => JSON.stringify({ ...body, instance: '' }))).size).toBe(1);
  // The rest goes on where it was.
  const [, next] = seat.body.trays;
  const own = await later.ok<BallotReceipt>(
    'POST',
    '/api/seat/ballots',
    ballotFor(next!, next!.servings[0]!.code),
  );
  const { trays } = await later.ok<SeatView>('GET', '/api/seat');
  expect(trays[1]!.sheets[0]!.ballot).toEqual(own);
});

test('the receipt stays with the tablet it was made on, whether it was told before or not', async () => {
  const told = await answeredOnce();
  const receipt = await receiptOf(told.tablet);
  const later = await movedTo(server.app, (await handOver(host, told.session)).body);
  const mine = { receiptToken: 'B'.repeat(22) };
  expectProblem(await later.call('POST', '/api/seat/receipt', mine), 'receipt-issued', 409);
  await receipt.ok('GET', '/api/receipt');
  const untold = await answeredOnce();
  const other = await movedTo(server.app, (await handOver(host, untold.session)).body);
  expectProblem(await other.call('POST', '/api/seat/receipt', mine), 'receipt-issued', 409);
});

test('a receipt told once more is no loss, from the next tablet either', async () => {
  const { session, tablet } = await answeredOnce();
  const { seatToken: receiptToken } = await receiptOf(tablet);
  const later = await movedTo(server.app, (await handOver(host, session)).body);
  await later.ok('POST', '/api/seat/receipt', { receiptToken });
  await new Caller(server.app, receiptToken).ok('GET', '/api/receipt');
});

test('a receipt that a tablet makes while its seat is handed over is not kept', async () => {
  const session = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
  const tablet = await seated(server.app, session, 1);
  const handing = await server.database.pool.connect();
  try {
    await handing.query('begin');
    await handing.query('select 1 from session where id = $1 for update', [session.id]);
    await handing.query(`update seat set token_hash = 'of the next' where session_id = $1 and number = 1`, [
      session.id,
    ]);
    // It still held the seat when it was let in, and waits for its turn.
    const made = tablet.call('POST', '/api/seat/receipt', { receiptToken: 'D'.repeat(22) });
    await until('the tablet waits', async () => {
      const { rows } = await server.database.pool.query<{ waiting: number }>(
        `select count(*)::int as waiting from pg_stat_activity
         where datname = current_database() and wait_event_type = 'Lock'`,
      );
      return rows[0]!.waiting > 0;
    });
    await handing.query('commit');
    expectProblem(await made, 'seat-unknown', 401);
  } finally {
    handing.release();
  }
  expectProblem(
    await new Caller(server.app, 'D'.repeat(22)).call('GET', '/api/receipt'),
    'receipt-unknown',
    401,
  );
});

test('where nothing was answered before, the next tablet gets a receipt of its own', async () => {
  const session = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
  const first = await seated(server.app, session, 2);
  const old = await receiptOf(first);
  const next = await movedTo(server.app, (await handOver(host, session, 2)).body);
  const fresh = await receiptOf(next);
  await fresh.ok('GET', '/api/receipt');
  expectProblem(await old.call('GET', '/api/receipt'), 'receipt-unknown', 401);
});

test('only a host hands over, and none who has the key in hand', async () => {
  const { session } = await answeredOnce();
  expectProblem(await handOver(steward, session), 'not-allowed', 403);
  const { body: before } = await handOver(host, session);
  await moved(host, session, 'take-key');
  // Nor does a way that was left before lead anywhere now.
  expectProblem(
    await new Caller(server.app).call('POST', '/api/join/move', { token: before.moveToken }),
    'move-refused',
    403,
  );
  const refused = await handOver(host, session);
  expectProblem(refused, 'not-allowed', 403);
  expect(refused.text).toContain('single-blind');
  expectProblem(await handOver(host, session, 3), 'not-allowed', 403);
  const blind = await answeredOnce();
  expectProblem(await handOver(host, blind.session, 3), 'not-found', 404);
});

test('somebody goes on on another tablet of their own: the same holder, all answers there', async () => {
  const { session, tablet, said } = await answeredOnce();
  const receipt = await receiptOf(tablet);
  const way = await tablet.ok<MoveOffer>('POST', '/api/seat/move', {});
  expect(way.seat).toBe(1);
  const next = await movedTo(server.app, way);
  expectProblem(await tablet.call('GET', '/api/seat'), 'seat-unknown', 401);
  const view = await next.ok<SeatView>('GET', '/api/seat');
  expect(view.trays[0]!.sheets[0]!.ballot).toEqual(said);
  expect(view.handedOver).toBe(false);
  await next.ok('POST', '/api/seat/receipt', { receiptToken: receipt.seatToken });
  expect(await eventsOf(session)).toContain('seat-moved');
  // What the host does then is a hand-over all the same.
  const third = await movedTo(server.app, (await handOver(host, session)).body);
  expect((await third.ok<SeatView>('GET', '/api/seat')).trays[0]!.sheets[0]!.ballot).toBeNull();
  await third.ok<MoveOffer>('POST', '/api/seat/move', {});
});

test('a seat taken by mistake is made free; one that has answered is not', async () => {
  const { session } = await answeredOnce();
  const tablet = await seated(server.app, session, 2);
  await receiptOf(tablet);
  await tablet.ok('POST', '/api/seat/consent', { rows: true, smallGroup: true });
  const free = (who: Hosted, seat: number) =>
    who.caller.call('POST', `/api/sessions/${session.id}/seats/${seat}/free`, {});
  expectProblem(await free(steward, 2), 'not-allowed', 403);
  expect((await free(host, 2)).status).toBe(200);
  expectProblem(await tablet.call('GET', '/api/seat'), 'seat-unknown', 401);
  expectProblem(await free(host, 2), 'not-found', 404);
  expectProblem(await free(host, 1), 'seat-answered', 409);
  const next = await seated(server.app, session, 2);
  const view = await next.ok<SeatView>('GET', '/api/seat');
  expect(view).toMatchObject({ consent: null, progress: null });
  await receiptOf(next);
  expect((await eventsOf(session)).filter((kind) => kind === 'seat-freed')).toHaveLength(1);
});

test('the result says how often seats were handed over, and no more of it', async () => {
  const { session } = await answeredOnce();
  const later = await movedTo(server.app, (await handOver(host, session)).body);
  const { trays } = await later.ok<SeatView>('GET', '/api/seat');
  await later.ok('POST', '/api/seat/ballots', ballotFor(trays[1]!, trays[1]!.servings[0]!.code));
  await movedTo(server.app, (await handOver(host, session)).body);
  await moved(host, session, 'close', 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  expect(result.session.handedOver).toBe(2);
  expect(result.parts[0]!.caveats.map(({ text }) => text)).toContainEqual(
    expect.stringMatching(/^Two times a seat was handed over/),
  );
});

test('a former holder gets nothing of what comes after, by any door of a seat', async () => {
  const { session, tablet } = await answeredOnce();
  const receipt = await receiptOf(tablet);
  const later = await movedTo(server.app, (await handOver(host, session)).body);
  const { trays } = await later.ok<SeatView>('GET', '/api/seat');
  const ballot = ballotFor(trays[1]!, trays[1]!.servings[0]!.code, { comment: 'said by the next' });
  const doors = [
    ['GET', '/api/seat'],
    ['POST', '/api/seat/cautions', {}],
    ['POST', '/api/seat/consent', { rows: true, smallGroup: true }],
    ['POST', '/api/seat/ballots', ballot],
    ['POST', '/api/seat/move', {}],
    ['POST', '/api/seat/receipt', { receiptToken: 'C'.repeat(22) }],
    ['POST', '/api/seat/progress', { trayNumber: 2, part: 1, sheet: 1, step: 'tasting', position: 1 }],
  ] as const;
  for (const [method, path, body] of doors)
    expectProblem(await tablet.call(method, path, body), 'seat-unknown', 401);
  await later.ok('POST', '/api/seat/ballots', ballot);
  // The receipt of the seat is the person's own, whoever sat there last: it tells all that was said at it, and takes it back.
  const own = await receipt.call('GET', '/api/receipt');
  expect(own.text).toContain('wetcardboardish third');
  expect(own.text).toContain('said by the next');
  expect((await receipt.call('POST', '/api/receipt/withdraw', {})).status).toBe(200);
  expectProblem(await later.call('POST', '/api/seat/ballots', ballot), 'seat-withdrawn', 409);
});

test('neither steward nor host reads a ballot before the reveal, by any route there is', async () => {
  const { session, said } = await answeredOnce();
  const chosen = JSON.stringify(said.answer);
  for (const { caller } of [host, steward]) {
    for (const path of ['', '/board', '/pour', '/result', '/result.csv', '/figures.csv', '/seal']) {
      const { text } = await caller.call('GET', `/api/sessions/${session.id}${path}`);
      expect(text).not.toContain(chosen);
      expect(text).not.toContain('wetcardboardish');
      expect(text).not.toContain(said.id);
    }
    for (const [method, path] of [
      ['GET', '/api/seat'],
      ['GET', '/api/receipt'],
    ] as const)
      expect((await caller.call(method, path)).status).toBe(401);
  }
});
