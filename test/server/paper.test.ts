import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { DeskBallot, DeskOffer, DeskView } from '@oddglass/shared/contracts/paper.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionSettings, SessionView } from '@oddglass/shared/contracts/session.ts';
import { readBallotNumber } from '@oddglass/shared/paper/ballot-number.ts';
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
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor, ballotId, trianglePart } from '../support/factories.ts';
import { deskOf, entered, paperCaveats, printOf, typedFrom } from '../support/paper-evening.ts';
import { expectProblem } from '../support/publishing.ts';

// Ballots on paper: what is printed tells no more than a tablet, entering one is nobody's of the panel, and what counts
// counts as from a tablet.

let server: TestServer;
let host: Hosted;
let steward: Hosted;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Steward');
});
afterAll(() => server.close());

async function opened(change: Partial<SessionSettings> = {}): Promise<SessionView> {
  const session = await draft(host, await newTrial(host), { assessors: 4, spareSeats: 1, ...change });
  return moved(host, session, 'seal', 'open');
}

const boardSeat = async ({ id }: SessionView, number: number) =>
  (await host.caller.ok<Board>('GET', `/api/sessions/${id}/board`)).seats[number - 1]!;

/** What the person at a seat would have typed, from the print. */
async function typedAt(session: SessionView, seat: number): Promise<Record<string, string>> {
  const { body } = await printOf(host, session, `?from=${seat}&to=${seat}`);
  return typedFrom(seat, { session: body.session, ...body.ballots[0]! });
}

test('a ballot shows what the tablet of its seat shows, and nothing else', async () => {
  const session = await opened();
  const { body } = await printOf(host, session);
  expect(body.ballots.map(({ seat }) => seat)).toEqual([1, 2, 3, 4]);
  const [first] = body.ballots;
  expect(readBallotNumber(first!.number, session.root!)).toEqual({ seat: 1 });
  const tablet = await seated(server.app, session, 1);
  const view = await tablet.ok<SeatView>('GET', '/api/seat');
  expect(first!.trays).toEqual(
    view.trays.map((tray) => ({
      ...tray,
      sheets: tray.sheets.map(({ ballot: _ballot, answeredBefore: _before, ...sheet }) => sheet),
    })),
  );
  // Words that are written stand on no sheet; a list of all of them is printed once, when it is asked for.
  expect(first!.words).toEqual([]);
  expect(body.wordList).toBeNull();
  const { body: listed } = await printOf(host, session, '?from=2&to=2&words=yes');
  expect(listed.wordList!.map(({ id }) => id).toSorted()).toEqual(view.words.map(({ id }) => id).toSorted());
  expect(body.session).toEqual(view.session);
  expect(Object.keys(first!).toSorted()).toEqual(['number', 'seat', 'spare', 'trays', 'words']);
  // Taken by a tablet, it is printed no more.
  const { body: later } = await printOf(host, session, '?from=1&to=5');
  expect(later.ballots.map(({ seat }) => seat)).toEqual([2, 3, 4, 5]);
  expect(later.onTablets).toEqual([1]);
});

test('ballots are printed from sealing until the close, by host and steward', async () => {
  const trial = await newTrial(host);
  const session = await draft(host, trial, { assessors: 2 });
  expectProblem(await printOf(host, session), 'wrong-state', 409);
  await moved(host, session, 'seal');
  expect((await printOf(host, session)).status).toBe(200);
  expect((await printOf(steward, session)).status).toBe(200);
  await moved(host, session, 'open', 'close');
  expectProblem(await printOf(host, session), 'wrong-state', 409);
  expectProblem(await printOf(steward, session), 'wrong-state', 409);
});

test('where a warm-up cup stands the steward prints: its code would tell a host an arm', async () => {
  const trial = await newTrial(host);
  const [first, second] = trial.arms.map(({ id }) => id);
  const sample = (armId: string, role: 'sample' | 'warm-up' = 'sample') => ({ armId, role, spike: null });
  const session = await moved(
    host,
    await draft(host, trial, {
      assessors: 2,
      parts: [
        {
          kind: 'liking',
          cups: 'own',
          samples: [sample(first!), sample(second!), sample(first!, 'warm-up')],
          replicates: 1,
          cupsEach: null,
          alpha: 0.05,
        },
      ],
    }),
    'seal',
  );
  expectProblem(await printOf(host, session), 'not-allowed', 403);
  expect((await printOf(steward, session)).status).toBe(200);
});

test('a seat is on paper or on a tablet, never both', async () => {
  const session = await opened();
  const aside = (seats: number[], paper = true, who = host) =>
    who.caller.call('POST', `/api/sessions/${session.id}/paper/seats`, { seats, paper });
  expectProblem(await aside([2], true, steward), 'not-allowed', 403);
  expect((await aside([2, 3])).status).toBe(200);
  expect(await boardSeat(session, 2)).toMatchObject({ status: 'paper', online: false });
  const door = new Caller(server.app);
  const join = { code: session.join?.code, seat: 2 };
  expectProblem(await door.call('POST', '/api/join/seat', join), 'seat-taken', 409);
  // Nor is it handed over to one.
  expectProblem(
    await host.caller.call('POST', `/api/sessions/${session.id}/seats/2/hand-over`, {}),
    'not-found',
    404,
  );
  const desk = await deskOf(host, session);
  await seated(server.app, session, 1);
  expectProblem(await aside([1]), 'seat-on-tablet', 409);
  expectProblem(await desk.call('GET', '/api/desk/ballots/1'), 'seat-on-tablet', 409);
  const values = await typedAt(session, 2);
  expectProblem(await entered(desk, 1, values), 'seat-on-tablet', 409);
  // Given back while nothing is entered, and not after.
  expect((await aside([3], false)).status).toBe(200);
  expect(await boardSeat(session, 3)).toMatchObject({ status: 'free' });
  expect((await entered(desk, 2, values)).status).toBe(200);
  expectProblem(await aside([2], false), 'seat-answered', 409);
  expectProblem(
    await host.caller.call('POST', `/api/sessions/${session.id}/seats/2/free`, {}),
    'seat-answered',
    409,
  );
});

test('the desk is opened by a link of a host, once, and by nobody of the panel', async () => {
  const session = await opened();
  const offer = (who: Hosted) =>
    who.caller.call<DeskOffer>('POST', `/api/sessions/${session.id}/paper/desk`, {});
  expectProblem(await offer(steward), 'not-allowed', 403);
  const { body } = await offer(host);
  const knock = (who: Caller, token = body.linkToken) =>
    who.call<{ deskToken: string }>('POST', '/api/desk/open', { token, keeper: 'Wren' });
  for (const { caller } of [host, steward]) expectProblem(await knock(caller), 'not-allowed', 403);
  const way = await knock(new Caller(server.app));
  expect(way.status).toBe(200);
  expectProblem(await knock(new Caller(server.app)), 'desk-refused', 403);
  const desk = new Caller(server.app, way.body.deskToken);
  expect(await desk.ok<DeskView>('GET', '/api/desk')).toMatchObject({
    keeper: 'Wren',
    entered: 'twice',
    open: true,
  });
  // The link opens nothing by itself, a sign-in neither, and the desk opens nothing else.
  for (const who of [new Caller(server.app, body.linkToken), host.caller, steward.caller])
    expectProblem(await who.call('GET', '/api/desk'), 'desk-unknown', 401);
  expectProblem(await desk.call('GET', '/api/seat'), 'seat-unknown', 401);
  expectProblem(await desk.call('GET', `/api/sessions/${session.id}/board`), 'not-signed-in', 401);
  const start = server.clock.now;
  const late = (await offer(host)).body.linkToken;
  server.clock.now = new Date(start.getTime() + 10 * 60_000);
  expectProblem(await knock(new Caller(server.app), late), 'desk-refused', 403);
  server.clock.now = start;
});

test('whoever hosts and has the key opens no desk, and one that is open is shut by taking it', async () => {
  const session = await opened();
  const desk = await deskOf(host, session);
  const values = await typedAt(session, 1);
  expect((await entered(desk, 1, values)).status).toBe(200);
  const before = await host.caller.ok<DeskOffer>('POST', `/api/sessions/${session.id}/paper/desk`, {});
  await moved(host, session, 'take-key');
  expectProblem(await entered(desk, 1, values, 'second'), 'desk-unknown', 401);
  expectProblem(await desk.call('GET', '/api/desk/ballots/1'), 'desk-unknown', 401);
  expectProblem(
    await new Caller(server.app).call('POST', '/api/desk/open', { token: before.linkToken, keeper: 'Wren' }),
    'desk-refused',
    403,
  );
  const again = await host.caller.call('POST', `/api/sessions/${session.id}/paper/desk`, {});
  expectProblem(again, 'not-allowed', 403);
});

test('a ballot counts after two entries that agree; a difference is shown at its place and settled by the sheet', async () => {
  const session = await opened();
  const [desk, other] = [await deskOf(host, session), await deskOf(host, session, 'Lark')];
  const values = await typedAt(session, 1);
  const first = await entered(desk, 1, values);
  expect(first.body).toMatchObject({ state: 'once', due: 'second', differing: null, counting: null });
  // What was said is told to nobody before it is entered once more.
  const found = await other.call<DeskBallot>('GET', '/api/desk/ballots/1');
  expect(found.body).toMatchObject({
    entries: [{ keeper: 'Wren', step: 'first' }],
    differing: null,
    counting: null,
  });
  const codes = found.body.trays[0]!.servings.map(({ code }) => code);
  const wrong = codes.find((code) => code !== values['1.1.1.cups'])!;
  const second = await entered(other, 1, { ...values, '1.1.1.cups': wrong }, 'second');
  expect(second.body.state).toBe('differs');
  expect(second.body.differing).toMatchObject({
    ids: ['1.1.1.cups'],
    first: { '1.1.1.cups': values['1.1.1.cups'] },
    second: { '1.1.1.cups': wrong },
  });
  expect(await boardSeat(session, 1)).toMatchObject({ status: 'paper-differs', answered: 0 });
  const settled = await entered(desk, 1, values, 'settled');
  expect(settled.body).toMatchObject({ state: 'counts', due: 'corrected' });
  expect(settled.body.entries.map(({ step, keeper }) => [step, keeper])).toEqual([
    ['first', 'Wren'],
    ['second', 'Lark'],
    ['settled', 'Wren'],
  ]);
  expect(await boardSeat(session, 1)).toMatchObject({ status: 'paper-entered', answered: 1 });
});

test('what cannot stand on the sheet is refused at its place, and nothing else changes', async () => {
  const session = await opened();
  const desk = await deskOf(host, session);
  const values = await typedAt(session, 1);
  const refused = await entered(desk, 1, { ...values, '1.1.1.cups': '099', '1.1.1.sure': '4' });
  expectProblem(refused, 'invalid-input', 400);
  const errors = refused.body as unknown as { errors: { pointer: string }[] };
  expect(errors.errors.map(({ pointer }) => pointer)).toEqual(['#/values/1.1.1.cups', '#/values/1.1.1.sure']);
  expectProblem(await entered(desk, 1, { ...values, elsewhere: '1' }), 'invalid-input', 400);
  expectProblem(await entered(desk, 9, values), 'not-found', 404);
  expect(await boardSeat(session, 1)).toMatchObject({ status: 'free' });
});

test('the same entry sent twice counts once, and one that is not due is refused', async () => {
  const session = await opened();
  const desk = await deskOf(host, session);
  const values = await typedAt(session, 1);
  const id = ballotId();
  const [one, two] = [
    await entered(desk, 1, values, 'first', id),
    await entered(desk, 1, values, 'first', id),
  ];
  expect([one.body.entries.length, two.body.entries.length]).toEqual([1, 1]);
  const changed = { ...values, '1.1.1.note': 'otherwise' };
  expectProblem(await entered(desk, 1, changed, 'first', id), 'ballot-differs', 409);
  expectProblem(await entered(desk, 1, values, 'first'), 'paper-moved-on', 409);
  expectProblem(await entered(desk, 1, values, 'corrected'), 'paper-moved-on', 409);
  // Two desks at once: one of them is the first.
  const both = await Promise.all([
    entered(desk, 2, await typedAt(session, 2)),
    entered(desk, 2, await typedAt(session, 2)),
  ]);
  expect(both.map(({ status }) => status).toSorted()).toEqual([200, 409]);
});

test('corrections stand beside what was entered, the newest counts, and the close ends them', async () => {
  const session = await opened({ paperEntry: 'once' });
  const desk = await deskOf(host, session);
  const values = await typedAt(session, 1);
  expect((await entered(desk, 1, values)).body).toMatchObject({ state: 'counts', counting: values });
  const corrected = { ...values, '1.1.1.sure': '3', '1.1.1.note': 'read again' };
  await entered(desk, 1, corrected, 'corrected');
  const { rows } = await server.database.pool.query<{ step: string; at: Date; keeper: string }>(
    'select step, entered_at as at, keeper from paper_entry join paper_desk on paper_desk.id = desk_id where paper_entry.session_id = $1 order by number',
    [session.id],
  );
  expect(rows).toEqual(
    ['first', 'corrected'].map((step) => ({ step, keeper: 'Wren', at: server.clock.now })),
  );
  await moved(host, session, 'close');
  expectProblem(await entered(desk, 1, values, 'corrected'), 'wrong-state', 409);
  const { rows: ballots } = await server.database.pool.query<{
    answer: unknown;
    comment: string;
    step: string;
  }>(
    'select answer, comment, step from ballot join paper_entry on paper_entry.id = paper_entry_id where ballot.session_id = $1',
    [session.id],
  );
  expect(ballots).toMatchObject([
    { comment: 'read again', step: 'corrected', answer: { confidence: 'guess' } },
  ]);
  // Only what counts is taken in.
  const { rows: stored } = await server.database.pool.query('select id from ballot where session_id = $1', [
    session.id,
  ]);
  expect(stored).toHaveLength(1);
});

test('what was entered once of two times, or differs, does not count', async () => {
  const session = await opened();
  const desk = await deskOf(host, session);
  await entered(desk, 1, await typedAt(session, 1));
  const two = await typedAt(session, 2);
  await entered(desk, 2, two);
  await entered(desk, 2, { ...two, '1.1.1.sure': '.' }, 'second');
  await moved(host, session, 'close', 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  expect(result.parts[0]!.served).toMatchObject({ seated: 2, assessors: 0 });
  expect(result.session.paper).toBeUndefined();
});

test('paper and tablets in one session: all count, and the result says how many came from paper', async () => {
  const session = await opened();
  const desk = await deskOf(host, session);
  const values = await typedAt(session, 1);
  await entered(desk, 1, values);
  await entered(desk, 1, values, 'second');
  const tablet = await seated(server.app, session, 2);
  const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
  await tablet.ok('POST', '/api/seat/ballots', ballotFor(trays[0]!, trays[0]!.servings[0]!.code));
  await moved(host, session, 'close', 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  expect(result.parts[0]!.served).toMatchObject({ seated: 2, assessors: 2, answers: 2, unanswered: 0 });
  expect(result.session.paper).toEqual({ ballots: 1, entered: 'twice' });
  expect(result.session.answersIntact).toBe(true);
  expect(paperCaveats(result)).toEqual([
    expect.stringMatching(/^One ballot came from paper, entered twice.*neither time nor order.*neighbour\.$/),
  ]);
});

test('neither steward nor host reads what was entered before the reveal, by any route there is', async () => {
  const trial = await newTrial(host);
  const session = await moved(
    host,
    await draft(host, trial, { assessors: 2, parts: [trianglePart(trial)] }),
    'seal',
    'open',
  );
  const desk = await deskOf(host, session);
  await entered(desk, 1, { ...(await typedAt(session, 1)), '1.1.1.note': 'wetcardboardish' });
  for (const { caller } of [host, steward]) {
    for (const path of ['', '/board', '/pour', '/paper', '/result', '/seal']) {
      expect((await caller.call('GET', `/api/sessions/${session.id}${path}`)).text).not.toContain(
        'wetcardboardish',
      );
    }
    for (const path of ['/api/desk', '/api/desk/ballots/1'])
      expect((await caller.call('GET', path)).status).toBe(401);
  }
});
