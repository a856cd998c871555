import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { MoveOffer, SessionView } from '@oddglass/shared/contracts/session.ts';
import type { SeatTaken, SeatView } from '@oddglass/shared/contracts/seat.ts';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  moved,
  movedTo,
  newTrial,
  seated,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor, ballotId, trianglePart } from '../support/factories.ts';
import { expectProblem } from '../support/publishing.ts';
import { until } from '../support/until.ts';

// What is acknowledged is on disk and is what was sent; what is not is refused, and nothing of anybody else's is told with it.

let server: TestServer;
let host: Hosted;
let session: SessionView;
let tablet: Caller;
let trays: SeatView['trays'];

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app);
});
afterAll(() => server.close());
beforeEach(async () => {
  session = await opened();
  tablet = await seated(server.app, session, 1);
  trays = await traysOf(tablet);
});

async function opened(): Promise<SessionView> {
  const trial = await newTrial(host);
  const parts = [trianglePart(trial, { replicates: 2 })];
  return moved(host, await draft(host, trial, { assessors: 3, spareSeats: 0, parts }), 'seal', 'open');
}
const traysOf = async (at: Caller) => (await at.ok<SeatView>('GET', '/api/seat')).trays;
const send = (ballot: object, from = tablet) =>
  from.call<BallotReceipt & { stored?: BallotReceipt }>('POST', '/api/seat/ballots', ballot);
/** A ballot that names a cup of this tray. */
const one = (tray: SeatView['trays'][number], change: Record<string, unknown> = {}) =>
  ballotFor(tray, tray.servings[1]!.code, change);

interface Row {
  id: string;
  holder: number;
  swallowing: string | null;
  session_id: string;
}
const rows = async (): Promise<Row[]> =>
  (await server.database.pool.query<Row>('select * from ballot order by id')).rows;

test('the acknowledgement says what was sent, where and when, and no more than that', async () => {
  const ballot = one(trays[1]!, { comment: 'soft', swallowing: 'spat' });
  const { swallowing: _swallowing, ...said } = ballot as typeof ballot & { swallowing: string };
  const { body, status } = await send(ballot);
  expect(status).toBe(200);
  expect(body).toEqual({ ...said, trayNumber: 2, receivedAt: server.clock.now.toISOString() });
  expect((await traysOf(tablet))[1]!.sheets[0]!.ballot).toEqual(body);
  expect((await rows()).find(({ id }) => id === ballot.id)).toMatchObject({
    session_id: session.id,
    swallowing: 'spat',
    holder: 0,
  });
  const events = await listEvents(openDb(server.database.pool), session.id);
  expect(events.slice(-2).map(({ event }) => event)).toEqual([
    { kind: 'ballot-received', seat: 1, trayNumber: 2, part: 1, sheet: 1 },
    { kind: 'progress', seat: 1, trayNumber: 2, step: 'resting', code: null },
  ]);
});

test('a tray that nobody has or another seat has, and a sheet that its tray does not have, are refused by name', async () => {
  const [theirs] = await traysOf(await seated(server.app, session, 2));
  const before = await rows();
  expect(expectProblem(await send(one(theirs!)), 'not-found', 404)).toEqual(['#/trayId']);
  const nobodys = one(trays[0]!, { trayId: '00000000-0000-4000-8000-000000000000' });
  expect(expectProblem(await send(nobodys), 'not-found', 404)).toEqual(['#/trayId']);
  for (const place of [{ sheet: 2 }, { part: 2 }]) {
    expect(expectProblem(await send(one(trays[0]!, place)), 'invalid-input', 400)).toEqual(['#/sheet']);
  }
  expect(await rows()).toEqual(before);
});

test('a cup of another tray and a word that nobody knows are refused, and where they stand is told', async () => {
  const before = await rows();
  const strange = ballotFor(trays[0]!, trays[1]!.servings[0]!.code);
  expect(expectProblem(await send(strange), 'cup-not-on-tray', 422)).toEqual(['#/answer/chosen/0']);
  const word = ballotFor(trays[0]!, trays[0]!.servings[0]!.code, {}, { descriptors: ['banana', 'no-such'] });
  expect(expectProblem(await send(word), 'invalid-input', 400)).toEqual(['#/answer/descriptors/1']);
  expect(await rows()).toEqual(before);
});

test('before the cautions are confirmed nothing is taken in', async () => {
  const { seatToken } = await new Caller(server.app).ok<SeatTaken>('POST', '/api/join/seat', {
    code: session.join!.code,
    seat: 2,
  });
  const early = new Caller(server.app, seatToken);
  const before = await rows();
  expectProblem(await send(one((await traysOf(early))[0]!), early), 'cautions-open', 409);
  expect(await rows()).toEqual(before);
});

test('an id that another tasting takes at the same moment is not acknowledged twice', async () => {
  const [theirs] = await traysOf(await seated(server.app, await opened(), 1));
  const ballot = one(trays[0]!);
  const rival = await server.database.pool.connect();
  try {
    await rival.query('begin');
    await rival.query(
      `insert into ballot (id, session_id, tray_id, part, sheet, answer, comment, received_at)
       select $1, seat.session_id, tray.id, 1, 1, '{}', '', now()
       from tray join seat on seat.id = tray.seat_id where tray.id = $2`,
      [ballot.id, theirs!.id],
    );
    // Nothing of it can be seen yet; whoever stores the same id waits for how it ends.
    const sent = send(ballot);
    await until('the second one waits', async () => {
      const { rows: found } = await server.database.pool.query<{ waiting: number }>(
        `select count(*)::int as waiting from pg_stat_activity
         where datname = current_database() and wait_event_type = 'Lock'`,
      );
      return found[0]!.waiting > 0;
    });
    await rival.query('commit');
    const refused = await sent;
    expectProblem(refused, 'ballot-differs', 409);
    // The tablet can mend it, and is told how.
    expect(refused.text).toContain('Send it with a new id.');
  } finally {
    rival.release();
  }
  expect((await traysOf(tablet))[0]!.sheets[0]!.ballot).toBeNull();
  const events = await listEvents(openDb(server.database.pool), session.id);
  expect(events.map(({ event }) => event.kind)).not.toContain('ballot-received');
});

test('an id that is in use at another seat or tasting is refused, and what it was used for is not told', async () => {
  const other = await seated(server.app, session, 2);
  const elsewhere = await seated(server.app, await opened(), 1);
  for (const from of [other, elsewhere]) {
    const ballot = one((await traysOf(from))[0]!, { comment: 'said in private' });
    expect((await send(ballot, from)).status).toBe(200);
    const before = await rows();
    const refused = await send(one(trays[0]!, { id: ballot.id }));
    expectProblem(refused, 'ballot-differs', 409);
    expect(refused.body.stored).toBeUndefined();
    expect(refused.text).toContain('This ballot id is in use elsewhere.');
    expect(refused.text).not.toContain('said in private');
    expect(await rows()).toEqual(before);
  }
  expect((await traysOf(tablet))[0]!.sheets[0]!.ballot).toBeNull();
});

test('the same answer sent anew under another id is acknowledged as the one that stands', async () => {
  const first = await send(one(trays[0]!, { comment: 'kept' }));
  const [before, events] = [await rows(), await listEvents(openDb(server.database.pool), session.id)];
  server.clock.now = new Date(server.clock.now.getTime() + 1_000);
  const again = await send(one(trays[0]!, { id: ballotId(), comment: 'kept' }));
  expect([again.status, again.body]).toEqual([200, first.body]);
  const other = await send(ballotFor(trays[0]!, trays[0]!.servings[2]!.code));
  expectProblem(other, 'ballot-differs', 409);
  expect(other.body.stored).toEqual(first.body);
  // Nor may an id stand for two sheets.
  const moved = await send(one(trays[1]!, { id: first.body.id, comment: 'kept' }));
  expectProblem(moved, 'ballot-differs', 409);
  expect(await rows()).toEqual(before);
  expect(await listEvents(openDb(server.database.pool), session.id)).toEqual(events);
});

test('after a hand-over a ballot is acknowledged under its own id alone, to whoever brings it', async () => {
  const ballot = one(trays[0]!);
  const { body: receipt } = await send(ballot);
  const way = await host.caller.ok<MoveOffer>('POST', `/api/sessions/${session.id}/seats/1/hand-over`, {});
  const next = await movedTo(server.app, way);
  expect((await send(ballot, next)).body).toEqual(receipt);
  expectProblem(await send({ ...ballot, id: ballotId() }, next), 'sheet-answered', 409);
  // What the next holder says is theirs.
  const own = one(trays[1]!);
  expect((await send(own, next)).status).toBe(200);
  expect((await rows()).find(({ id }) => id === own.id)).toMatchObject({ holder: 1 });
  expect((await send({ ...own, id: ballotId() }, next)).status).toBe(200);
});
