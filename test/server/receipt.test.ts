import { createHash } from 'node:crypto';
import { publication as publicationContract } from '@oddglass/shared/contracts/publication.ts';
import type { PublicationView, PublishedView, PublishInput } from '@oddglass/shared/contracts/publishing.ts';
import type { ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionEvent } from '@oddglass/shared/contracts/live.ts';
import { emptyBoard, foldBoard, boardTotals } from '@oddglass/shared/rules/board.ts';
import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import { beforeAll, expect, test } from 'vitest';
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
import {
  expectProblem,
  guests,
  playedEvening,
  publish,
  publishing,
  type Evening,
  type Guest,
} from '../support/publishing.ts';

// What an assessor keeps: a way to see their own answers and to take them back, and what that does to live data and to
// what is published.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let reader: Caller;

useStewardsPanel((panel) => ({ server, host, steward } = panel));
beforeAll(async () => {
  reader = new Caller(server.app);
});

const play = (table: readonly Guest[]): Promise<Evening> => playedEvening(server, { host, steward }, table);

const eventsOf = (sessionId: string): Promise<SessionEvent[]> =>
  listEvents(openDb(server.database.pool), sessionId);

const withdraw = (receipt: Caller | undefined): Promise<ReceiptView> =>
  receipt!.ok('POST', '/api/receipt/withdraw', {});

const nextVersion = (id: string, { trial, session }: Evening, change: Partial<PublishInput> = {}) =>
  host.caller.call<PublicationView>(
    'POST',
    `/api/publications/${id}/versions`,
    publishing(trial, [session], change),
  );

test('a receipt shows own answers in words: before the reveal without samples, after it with them', async () => {
  const trial = await newTrial(host);
  const session = await moved(host, await draft(host, trial, { assessors: 3 }), 'seal', 'open');
  const tablet = await seated(server.app, session, 2);
  const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
  const [tray] = trays;
  await tablet.ok('POST', '/api/seat/consent', { rows: true, smallGroup: false });
  await tablet.ok(
    'POST',
    '/api/seat/ballots',
    ballotFor(tray!, tray!.servings[1]!.code, { comment: 'The middle one.' }),
  );
  const receipt = await receiptOf(tablet);

  const before = await receipt.call<ReceiptView>('GET', '/api/receipt');
  expect(before.headers['cache-control']).toBe('no-store');
  expect(before.body).toMatchObject({
    title: 'Pale beer, day 21',
    state: 'open',
    heldOn: '2031-03-04',
    consent: { rows: true, smallGroup: false },
    withdrawn: false,
    comments: [{ part: 1, trayNumber: 1, text: 'The middle one.' }],
    publishedAt: [],
  });
  const chosen = (view: ReceiptView) =>
    view.answers.filter(({ question }) => question === 'chosen as the odd one');
  expect(chosen(before.body).map(({ position, value, sample }) => [position, value, sample])).toEqual([
    [1, 0, null],
    [2, 1, null],
    [3, 0, null],
  ]);
  for (const { name } of trial.arms) expect(before.text).not.toContain(name);

  await moved(host, session, 'close', 'reveal');
  const after = await receipt.ok<ReceiptView>('GET', '/api/receipt');
  expect(chosen(after).map(({ position, value }) => [position, value])).toEqual([
    [1, 0],
    [2, 1],
    [3, 0],
  ]);
  const arms = chosen(after).map(({ arm }) => arm);
  expect(new Set(arms)).toEqual(new Set(trial.arms.map(({ name }) => name)));
  expect(after.comments).toEqual(before.body.comments);
});

test('a receipt is made on the device, once, and leads nowhere else', async () => {
  const session = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
  const tablet = await seated(server.app, session, 1);
  const receipt = await receiptOf(tablet);
  // Told again after a lost answer it is the same; another one is not taken.
  await tablet.ok('POST', '/api/seat/receipt', { receiptToken: receipt.seatToken });
  expectProblem(
    await tablet.call('POST', '/api/seat/receipt', { receiptToken: 'A'.repeat(22) }),
    'receipt-issued',
    409,
  );
  await receipt.ok('GET', '/api/receipt');
  // What used to be worked out of the seat's token opens nothing.
  const guessed = createHash('sha256').update(`receipt ${tablet.seatToken}`).digest().subarray(0, 16);
  const derived = new Caller(server.app, guessed.toString('base64url'));
  expectProblem(await derived.call('GET', '/api/receipt'), 'receipt-unknown', 401);
  // Neither token opens the other's door.
  expectProblem(await tablet.call('GET', '/api/receipt'), 'receipt-unknown', 401);
  expectProblem(await receipt.call('GET', '/api/seat'), 'seat-unknown', 401);
  expectProblem(await reader.call('GET', '/api/receipt'), 'receipt-unknown', 401);
  expectProblem(await reader.call('POST', '/api/receipt/withdraw', {}), 'receipt-unknown', 401);
  const stored = await server.database.pool.query<{ receipt_hash: string }>(
    'select * from seat where number = 1',
  );
  expect(JSON.stringify(stored.rows)).not.toContain(receipt.seatToken);
});

test('answers that are taken back leave the live data, n changes and the result says so', async () => {
  const evening = await play(guests(10).map((guest, index) => ({ ...guest, comment: `said by ${index}` })));
  const path = `/api/sessions/${evening.session.id}`;
  const before = await host.caller.ok<ResultDocument>('GET', `${path}/result`);
  expect(before.parts[0]!.served).toMatchObject({ seated: 10, assessors: 10, answers: 10 });
  const gone = await withdraw(evening.receipts[0]);
  expect(gone).toMatchObject({ withdrawn: true, consent: null, answers: [], comments: [] });
  expect(await withdraw(evening.receipts[0])).toEqual(gone);

  // What was found at the reveal stays; a count of nine beside it would tell what the tenth said.
  const after = await host.caller.ok<ResultDocument>('GET', `${path}/result`);
  expect(after.parts).toEqual([]);
  expect(after.atReveal).toEqual({ ...before.atReveal, withdrawnSince: 1 });
  expect(after.withheld![0]!.lede).toContain('One person took their answers back after the reveal');
  const csv = await host.caller.call('GET', `${path}/result.csv`);
  expect(csv.text.match(/\ba\d+\b/g)).toBeNull();

  const left = await server.database.pool.query<{ comment: string }>(
    'select comment from ballot where session_id = $1',
    [evening.session.id],
  );
  expect(left.rows.map(({ comment }) => comment)).toHaveLength(9);
  expect(left.rows.map(({ comment }) => comment)).not.toContain('said by 0');
  // Past the reveal the log names no seat: results before and after would tell what it said.
  const events = await eventsOf(evening.session.id);
  expect(events.at(-1)!.event).toEqual({ kind: 'seat-withdrawn', seat: null });
  expect(events.filter(({ event }) => event.kind === 'seat-withdrawn')).toHaveLength(1);
});

test('who leaves while the tasting is open is told apart on the board, and no more is taken in', async () => {
  const session = await moved(
    host,
    await draft(host, await newTrial(host), { assessors: 4 }),
    'seal',
    'open',
  );
  const tablet = await seated(server.app, session, 3);
  const other = await seated(server.app, session, 1);
  const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
  const ballot = ballotFor(trays[0]!, trays[0]!.servings[0]!.code);
  await tablet.ok('POST', '/api/seat/ballots', ballot);
  const receipt = await receiptOf(tablet);
  await withdraw(receipt);
  const board = foldBoard(emptyBoard(session.settings), await eventsOf(session.id));
  expect(board.seats[2]).toMatchObject({ number: 3, status: 'withdrawn', answered: 0, code: null });
  expect(boardTotals(board)).toMatchObject({ seated: 1, answered: 0, sheetsOfSeated: 1 });
  const view = await tablet.ok<SeatView>('GET', '/api/seat');
  expect(view.withdrawn).toBe(true);
  expect(view.trays[0]!.sheets[0]!.ballot).toBeNull();
  expectProblem(await tablet.call('POST', '/api/seat/ballots', ballot), 'seat-withdrawn', 409);
  expectProblem(
    await tablet.call('POST', '/api/seat/consent', { rows: true, smallGroup: true }),
    'seat-withdrawn',
    409,
  );
  expect((await other.ok<SeatView>('GET', '/api/seat')).withdrawn).toBe(false);
  // The seat stays taken.
  expectProblem(
    await reader.call('POST', '/api/join/seat', { code: session.join!.code, seat: 3 }),
    'seat-taken',
    409,
  );
  // Before the reveal nobody knows what it said: results simply count without them, and say so.
  await moved(host, session, 'close', 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  expect(result.parts[0]!.served).toMatchObject({ seated: 1, assessors: 0 });
  expect(result.parts[0]!.caveats.map(({ text }) => text)).toContain(
    'One person took their answers back. All numbers were counted anew without them.',
  );
});

test('after one or two withdrawals no version is made, after three the next is without them', async () => {
  const evening = await play(guests(14).map((guest, index) => ({ ...guest, comment: `line ${index}` })));
  const { id, address } = await publish(host, evening, { comments: ['line 4'] });
  const first = await reader.ok<PublishedView>('GET', `/api/p/${address}?version=1`);
  // Right, wrong and right: what three of them said together tells of no single one.
  for (const [count, seat] of [1, 2].entries()) {
    await withdraw(evening.receipts[seat]);
    const refused = await nextVersion(id, evening);
    expect(expectProblem(refused, 'not-publishable', 409), `${count}`).toEqual(['#/sessionIds/0']);
    // Nor at another address, by which the same could be subtracted.
    const beside = await host.caller.call(
      'POST',
      `/api/trials/${evening.trial.id}/publications`,
      publishing(evening.trial, [evening.session]),
    );
    expect(expectProblem(beside, 'not-publishable', 409)).toEqual(['#/sessionIds/0']);
  }
  await withdraw(evening.receipts[4]);
  // What they wrote cannot be passed any more.
  expect(
    expectProblem(await nextVersion(id, evening, { comments: ['line 4'] }), 'not-publishable', 409),
  ).toEqual(['#/comments/0']);
  const next = await nextVersion(id, evening);
  expect([next.status, next.body.versions.map(({ version }) => version)]).toEqual([200, [1, 2]]);
  const second = publicationContract.parse(
    (await reader.ok<PublishedView>('GET', `/api/p/${address}`)).publication,
  );
  expect(second.sessions[0]).toMatchObject({ assessors: 11, seated: 11, withdrawn: 3 });
  expect(new Set(second.sessions[0]!.rows!.map(({ person }) => person)).size).toBe(11);
  expect(second.comments).toEqual([]);
  expect(await reader.ok('GET', `/api/p/${address}?version=1`)).toEqual(first);
  const mine = await evening.receipts[0]!.ok<ReceiptView>('GET', '/api/receipt');
  expect(mine.publishedAt).toEqual([address]);
});

test('a withdrawn publication is still what a new one may not be subtracted from', async () => {
  const evening = await play(guests(12));
  const { id } = await publish(host, evening);
  await host.caller.ok('POST', `/api/publications/${id}/withdraw`, {});
  await withdraw(evening.receipts[0]);
  const again = await host.caller.call(
    'POST',
    `/api/trials/${evening.trial.id}/publications`,
    publishing(evening.trial, [evening.session]),
  );
  expect(expectProblem(again, 'not-publishable', 409)).toEqual(['#/sessionIds/0']);
});

test('one who left before the first version does not stand in the way of the second', async () => {
  const evening = await play(guests(12));
  await withdraw(evening.receipts[0]);
  const { id, address } = await publish(host, evening);
  const { publication } = await reader.ok<PublishedView>('GET', `/api/p/${address}`);
  expect(publication!.sessions[0]).toMatchObject({ assessors: 11, withdrawn: 1 });
  expect((await nextVersion(id, evening)).status).toBe(200);
  await withdraw(evening.receipts[1]);
  expect((await nextVersion(id, evening)).status).toBe(409);
});

test('somebody who never answered does not help to make up a batch', async () => {
  const evening = await play([...guests(12), { answer: '-' }, { answer: '-' }]);
  const { id } = await publish(host, evening);
  for (const seat of [12, 13, 0]) await withdraw(evening.receipts[seat]);
  // The session is named: the batch is too small, whatever its answers were.
  expect(expectProblem(await nextVersion(id, evening), 'not-publishable', 409)).toEqual(['#/sessionIds/0']);
  const beside = await host.caller.call(
    'POST',
    `/api/trials/${evening.trial.id}/publications`,
    publishing(evening.trial, [evening.session]),
  );
  expect(expectProblem(beside, 'not-publishable', 409)).toEqual(['#/sessionIds/0']);
});
