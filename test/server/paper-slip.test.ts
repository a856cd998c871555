import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SessionSettings, SessionView } from '@oddglass/shared/contracts/session.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  moved,
  newTrial,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { deskOf, entered, printOf, typedFrom } from '../support/paper-evening.ts';
import { expectProblem } from '../support/publishing.ts';

// What somebody who tasted on paper gets: a slip, and six digits that nobody who prints knows.

let server: TestServer;
let host: Hosted;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app);
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

test('the slip and its six digits lead to the answers, and take them back', async () => {
  const session = await opened();
  const desk = await deskOf(host, session);
  const values = { ...(await typedAt(session, 1)), digits: '481 207', 'consent-rows': '1' };
  await entered(desk, 1, values);
  await entered(desk, 1, values, 'second');
  const { ballots } = (await printOf(host, session, '?from=1&to=1')).body;
  const slip = { ballot: ballots[0]!.number, digits: '481207', fingerprint: session.fingerprint! };
  const show = (change: Partial<typeof slip> = {}) =>
    new Caller(server.app).call<{ receiptToken: string; root: string }>('POST', '/api/receipt/slip', {
      ...slip,
      ...change,
    });
  expectProblem(await show({ digits: '481208' }), 'paper-receipt-refused', 403);
  expectProblem(await show({ fingerprint: 'f'.repeat(12) }), 'paper-receipt-refused', 403);
  const found = await show();
  expect(found.body.root).toBe(session.root);
  const receipt = new Caller(server.app, found.body.receiptToken);
  expect(await receipt.ok<ReceiptView>('GET', '/api/receipt')).toMatchObject({
    consent: { rows: true, smallGroup: false },
  });
  await moved(host, session, 'close');
  const { answers, sealed } = await receipt.ok<ReceiptView>('GET', '/api/receipt');
  expect(answers.length).toBeGreaterThan(0);
  expect(sealed).not.toBeNull();
  await receipt.ok('POST', '/api/receipt/withdraw', {});
  await moved(host, session, 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  expect(result.parts[0]!.served.assessors).toBe(0);
  const { rows } = await server.database.pool.query('select id from paper_entry where session_id = $1', [
    session.id,
  ]);
  expect(rows).toEqual([]);
});

test('answers taken back before the close are not entered again, and guesses at digits come to an end', async () => {
  const session = await opened({ paperEntry: 'once' });
  const desk = await deskOf(host, session);
  const values = { ...(await typedAt(session, 1)), digits: '111222' };
  await entered(desk, 1, values);
  const { ballots } = (await printOf(host, session, '?from=1&to=1')).body;
  const show = (digits: string) =>
    new Caller(server.app).call<{ receiptToken: string }>('POST', '/api/receipt/slip', {
      ballot: ballots[0]!.number,
      digits,
      fingerprint: session.root!,
    });
  const { body } = await show('111222');
  await new Caller(server.app, body.receiptToken).ok('POST', '/api/receipt/withdraw', {});
  expectProblem(await entered(desk, 1, values), 'seat-withdrawn', 409);
  expect(await boardSeat(session, 1)).toMatchObject({ status: 'withdrawn' });
  for (let guess = 0; guess < 10; guess++) expect((await show(`00000${guess}`)).status).toBe(403);
  expectProblem(await show('111222'), 'too-many-attempts', 429);
});
