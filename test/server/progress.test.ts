import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import type { SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import type { Part, RatingPart } from '@oddglass/shared/contracts/part.ts';
import type { Progress, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import {
  draft,
  firstHost,
  moved,
  newTrial,
  seated,
  startServer,
  type Caller,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor, ballotId, trianglePart } from '../support/factories.ts';
import { expectProblem } from '../support/publishing.ts';

// Where a seat says it is: the board hears what moved it on, once, and nothing that a late or wrong message says.

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

const viewOf = () => tablet.ok<SeatView>('GET', '/api/seat');
const tell = (mark: Partial<Progress>) =>
  tablet.call('POST', '/api/seat/progress', {
    trayNumber: 1,
    part: 1,
    sheet: 1,
    step: 'tasting',
    position: 1,
    ...mark,
  });
const told = async (mark: Partial<Progress>) => expect((await tell(mark)).status).toBe(200);

type Moved = Extract<SessionEventBody, { kind: 'progress' }>;
/** What the board heard of the seat's way, oldest first. */
async function heard(): Promise<Omit<Moved, 'kind' | 'seat'>[]> {
  const events = await listEvents(openDb(server.database.pool), session.id);
  return events.flatMap(({ event }) => {
    if (event.kind !== 'progress') return [];
    const { kind: _kind, seat, ...rest } = event;
    expect(seat).toBe(1);
    return [rest];
  });
}

async function open(trial: TrialView, part: Part): Promise<void> {
  const planned = await draft(host, trial, { assessors: 2, spareSeats: 0, parts: [part] });
  session = await moved(host, planned, 'seal', 'open');
  tablet = await seated(server.app, session, 1);
  ({ trays } = await viewOf());
}

describe('on trays of three cups with one sheet', () => {
  beforeEach(async () => {
    const trial = await newTrial(host);
    await open(trial, trianglePart(trial, { replicates: 3 }));
  });

  test('the cup in hand is told while tasting, and none where the sheet is about all of them', async () => {
    const codes = trays[0]!.servings.map(({ code }) => code);
    await told({ position: 2 });
    await told({ position: 3 });
    await told({ position: null });
    await told({ step: 'choosing', position: null });
    expect(await heard()).toEqual([
      { trayNumber: 1, step: 'tasting', code: codes[1] },
      { trayNumber: 1, step: 'tasting', code: codes[2] },
      { trayNumber: 1, step: 'tasting', code: codes[0] },
      { trayNumber: 1, step: 'choosing', code: null },
    ]);
  });

  test('what it said last is there after a reload', async () => {
    expect((await viewOf()).progress).toBeNull();
    await told({ trayNumber: 2, position: 3 });
    expect((await viewOf()).progress).toEqual({
      trayNumber: 2,
      part: 1,
      sheet: 1,
      step: 'tasting',
      position: 3,
    });
  });

  test('a mark repeated, or of an earlier tray, is no news', async () => {
    await told({ trayNumber: 2, position: 2 });
    const before = await heard();
    await told({ trayNumber: 2, position: 2 });
    await told({ trayNumber: 1, position: 3 });
    expect(await heard()).toEqual(before);
    expect((await viewOf()).progress).toMatchObject({ trayNumber: 2, position: 2 });
  });

  test('a tray or a sheet that the seat does not have is refused by its name', async () => {
    const refusedAt = async (mark: Partial<Progress>) =>
      expectProblem(await tell(mark), 'invalid-input', 400);
    expect(await refusedAt({ trayNumber: 4 })).toEqual(['#/trayNumber']);
    expect(await refusedAt({ sheet: 2 })).toEqual(['#/sheet']);
    expect(await refusedAt({ part: 2 })).toEqual(['#/sheet']);
    expect(await heard()).toEqual([]);
    expect((await viewOf()).progress).toBeNull();
  });

  test('that it rests or has finished is told by its ballots alone', async () => {
    for (const step of ['resting', 'finished'] as const) await told({ step, position: null });
    expect(await heard()).toEqual([]);
    expect((await viewOf()).progress).toBeNull();
    for (const tray of trays)
      await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, tray.servings[0]!.code));
    expect(await heard()).toEqual([
      { trayNumber: 1, step: 'resting', code: null },
      { trayNumber: 2, step: 'resting', code: null },
      { trayNumber: 3, step: 'finished', code: null },
    ]);
    expect((await viewOf()).progress).toEqual({
      trayNumber: 3,
      part: 1,
      sheet: 1,
      step: 'finished',
      position: null,
    });
  });

  test('a ballot of an earlier tray that comes late leaves the mark where it is, until it is the last one', async () => {
    const send = (tray: (typeof trays)[number]) =>
      tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, tray.servings[0]!.code));
    await told({ trayNumber: 3, position: 2 });
    const before = await heard();
    await send(trays[0]!);
    expect(await heard()).toEqual(before);
    expect((await viewOf()).progress).toMatchObject({ trayNumber: 3, step: 'tasting', position: 2 });
    await send(trays[2]!);
    await send(trays[1]!);
    expect(await heard()).toEqual([
      ...before,
      { trayNumber: 3, step: 'resting', code: null },
      { trayNumber: 3, step: 'finished', code: null },
    ]);
  });

  test('nothing is taken in after the tasting has closed', async () => {
    await moved(host, session, 'close');
    expectProblem(await tell({}), 'wrong-state', 409);
    expect(await heard()).toEqual([]);
  });
});

describe('on a tray with a sheet for each cup', () => {
  const flight: Omit<RatingPart, 'samples'> = {
    kind: 'rating',
    cups: 'own',
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
    attributes: [{ id: 'sourness', name: 'sourness', low: 'none', high: 'strong' }],
    scale: 'line',
    by: 'sample',
    returning: false,
  };
  beforeEach(async () => {
    const trial = await newTrial(host);
    const samples = trial.arms.map(({ id }) => ({ armId: id, role: 'sample' as const, spike: null }));
    await open(trial, { ...flight, samples });
  });
  const mark = (sheet: SeatView['trays'][number]['sheets'][number]) =>
    tablet.ok('POST', '/api/seat/ballots', {
      id: ballotId(),
      trayId: trays[0]!.id,
      part: sheet.part,
      sheet: sheet.sheet,
      answer: {
        kind: 'rating',
        marks: sheet.codes.map((code) => ({ code, attributeId: 'sourness', value: 40 })),
      },
      comment: '',
    });

  test('the cup of a sheet is in hand while it is answered', async () => {
    const [, second] = trays[0]!.sheets;
    await told({ sheet: 2, step: 'answering', position: null });
    expect(await heard()).toEqual([{ trayNumber: 1, step: 'answering', code: second!.codes[0] }]);
  });

  test('a mark on a sheet that was answered meanwhile is late, and the next sheet is not', async () => {
    const [first] = trays[0]!.sheets;
    await told({ step: 'answering', position: null });
    await mark(first!);
    const before = await heard();
    await told({ step: 'reviewing', position: null });
    expect(await heard()).toEqual(before);
    expect((await viewOf()).progress).toMatchObject({ sheet: 1, step: 'answering' });
    await told({ sheet: 2, step: 'answering', position: null });
    expect(await heard()).toHaveLength(before.length + 1);
  });

  test('a tray rests or is finished with the last of its sheets, whichever that is', async () => {
    const [first, second] = trays[0]!.sheets;
    await mark(second!);
    expect(await heard()).toEqual([]);
    expect((await viewOf()).progress).toBeNull();
    await mark(first!);
    expect(await heard()).toEqual([{ trayNumber: 1, step: 'finished', code: null }]);
    // It stands at the end, though the sheet that came last is the first.
    expect((await viewOf()).progress).toMatchObject({ sheet: 2, step: 'finished' });
  });
});
