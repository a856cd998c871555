import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import type {
  DescriptionPart,
  LikingPart,
  RatingPart,
  SampleInput,
} from '@oddglass/shared/contracts/part.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type {
  JoinOffer,
  SeatTaken,
  SeatView,
  SessionAtSeat,
  SheetAtSeat,
} from '@oddglass/shared/contracts/seat.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { describe, expect, test } from 'vitest';
import {
  Caller,
  draft,
  moved,
  newTrial,
  receiptOf,
  seated,
  usePanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor, ballotId, trialInput, trianglePart } from '../support/factories.ts';

// What a seat is told and what it may do: cautions come first, rest is kept, words stand in an order of its own.

let server: TestServer;
let host: Hosted;

usePanel((panel) => ({ server, host } = panel));

const opened = async (trial: TrialView, change: Partial<SessionSettings> = {}) =>
  moved(host, await draft(host, trial, change), 'seal', 'open');
const viewOf = (tablet: Caller) => tablet.ok<SeatView>('GET', '/api/seat');

const flight = (trial: TrialView) => ({
  cups: 'own' as const,
  samples: trial.arms.map(({ id }) => ({ armId: id, role: 'sample' as const, spike: null })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
});

describe('cautions', () => {
  test('no ballot and no progress is taken in before they are confirmed', async () => {
    const open = await opened(await newTrial(host));
    const door = new Caller(server.app);
    const { seatToken } = await door.ok<SeatTaken>('POST', '/api/join/seat', {
      code: open.join!.code,
      seat: 1,
    });
    const tablet = new Caller(server.app, seatToken);
    const { trays, cautionsConfirmedAt } = await viewOf(tablet);
    expect(cautionsConfirmedAt).toBeNull();
    const ballot = ballotFor(trays[0]!, trays[0]!.servings[0]!.code);
    const progress = { trayNumber: 1, part: 1, sheet: 1, step: 'tasting', position: 1 };
    for (const [path, body] of [
      ['ballots', ballot],
      ['progress', progress],
    ] as const) {
      const refused = await tablet.call<ProblemDocument>('POST', `/api/seat/${path}`, body);
      expect([refused.body.type, refused.status]).toEqual(['/problems/cautions-open', 409]);
    }
    const { rows } = await server.database.pool.query<{ kind: string }>(
      `select event->>'kind' as kind from session_event where session_id = $1 order by seq`,
      [open.id],
    );
    expect(rows.map(({ kind }) => kind)).toEqual(['sealed', 'opened', 'seat-taken']);
    expect((await viewOf(tablet)).trays[0]!.sheets[0]!.ballot).toBeNull();

    await tablet.ok('POST', '/api/seat/cautions', {});
    expect((await tablet.call('POST', '/api/seat/ballots', ballot)).status).toBe(200);
  });

  // Three cups of 40 mL; ethanol weighs 0.789 g/mL at 20 C (handbook value).
  test.each([
    ['the first', [9, 4.5], 120 * 0.09 * 0.789],
    ['the second', [4.5, 9], 120 * 0.09 * 0.789],
    ['unknown for one of them', [null, 9], null],
  ])('tell the ethanol of the strongest of the arms poured: %s', async (_name, strengths, grams) => {
    const [arm] = trialInput().arms;
    // A third arm that is not poured is stronger than both.
    const arms = [...strengths, 40].map((abv, at) => ({ ...arm!, name: `Arm ${at + 1}`, abv }));
    const open = await opened(await newTrial(host, { arms }));
    const offer = await new Caller(server.app).ok<JoinOffer>('POST', '/api/join', { code: open.join!.code });
    const { cautions } = (await viewOf(await seated(server.app, open, 1))).session;
    expect(cautions).toMatchObject({ cups: 3, cupMl: 40 });
    if (grams === null) expect(cautions.ethanolGrams).toBeNull();
    else expect(cautions.ethanolGrams).toBeCloseTo(grams, 9);
    expect(offer.session.cautions).toEqual(cautions);
  });
});

describe('what a seat is told of the session', () => {
  const told = async (tablet: Caller) => (await viewOf(tablet)).session;

  test('its questions, its work, its cautions and its seal, and nothing else', async () => {
    const trial = await newTrial(host);
    const change = { masking: true, restSeconds: 45, cupMl: 30 };
    const parts = [trianglePart(trial, { replicates: 2 })];
    const open = await opened(trial, { ...change, parts });
    const tablet = await seated(server.app, open, 1);
    const session: SessionAtSeat = {
      title: 'Pale beer, day 21',
      state: 'open',
      demo: false,
      rehearsal: false,
      masking: true,
      smellOnly: false,
      stopped: false,
      parts: [{ kind: 'triangle' }],
      trays: 2,
      restSeconds: 45,
      fingerprint: fingerprint(open.root!),
      root: open.root!,
      answersRoot: null,
      cautions: {
        allergens: ['gluten', 'sulphites'],
        allergensUnknown: false,
        // Six cups of 30 mL of the stronger arm; ethanol weighs 0.789 g/mL at 20 C (handbook value).
        ethanolGrams: expect.closeTo(180 * 0.043 * 0.789, 9),
        cups: 6,
        cupMl: 30,
      },
    };
    expect(await told(tablet)).toEqual(session);
    // The seal over all answers is told as soon as no more is taken in.
    await moved(host, open, 'close');
    expect(await told(tablet)).toEqual({
      ...session,
      state: 'closed',
      answersRoot: expect.stringMatching(/^[0-9a-f]{64}$/),
    });
  });

  test('an allergen of an arm that is not poured is left out, and one that nobody knows is told as unknown', async () => {
    const [arm] = trialInput().arms;
    const arms = (['gluten', 'sulphites', 'milk'] as const).map((allergen, at) => ({
      ...arm!,
      name: `Arm ${at + 1}`,
      allergens: [allergen],
    }));
    const trial = await newTrial(host, { arms });
    const [plain, ...others] = trial.arms.map(({ id }) => ({
      armId: id,
      role: 'sample' as const,
      spike: null,
    }));
    const liking = (spike: Partial<SampleInput>): LikingPart => ({
      kind: 'liking',
      ...flight(trial),
      samples: [plain!, others[0]!, { ...plain!, role: 'spiked', spikeAbv: 'none', ...spike }],
    });
    const cautionsOf = async (part: LikingPart) =>
      (await told(await seated(server.app, await opened(trial, { parts: [part] }), 1))).cautions;
    const known = await cautionsOf(liking({ spike: 'vanillin 2 mg/L, food grade', spikeAllergens: [] }));
    expect(known).toMatchObject({ allergens: ['gluten', 'sulphites'], allergensUnknown: false });
    const unknown = await cautionsOf(liking({ spike: 'hazel extract 1 mL/L', spikeAllergens: null }));
    expect(unknown).toMatchObject({ allergens: ['gluten', 'sulphites'], allergensUnknown: true });
  });

  test('that all of it is invented, where it is', async () => {
    const { id } = await host.caller.ok<PanelView>('POST', '/api/panels', { name: 'Shown' });
    const shown = { caller: host.caller, panel: id };
    await server.database.pool.query('update panel set demo = true where id = $1', [id]);
    const session = await moved(shown, await draft(shown, await newTrial(shown)), 'seal', 'open');
    expect(await told(await seated(server.app, session, 1))).toMatchObject({ demo: true });
  });
});

test('cautions that are confirmed twice were confirmed the first time, and the board hears of it once', async () => {
  const open = await opened(await newTrial(host));
  const first = server.clock.now;
  const tablet = await seated(server.app, open, 1);
  server.clock.now = new Date(first.getTime() + 60_000);
  const again = await tablet.ok<SeatView>('POST', '/api/seat/cautions', {});
  expect(again.cautionsConfirmedAt).toBe(first.toISOString());
  expect(again).toEqual(await viewOf(tablet));
  const { rows } = await server.database.pool.query(
    `select 1 from session_event where session_id = $1 and event->>'kind' = 'cautions-confirmed'`,
    [open.id],
  );
  expect(rows).toHaveLength(1);
});

test('what somebody agrees to is there at once, refusing included, and says nothing of it before', async () => {
  const open = await opened(await newTrial(host));
  const tablet = await seated(server.app, open, 1);
  expect((await viewOf(tablet)).consent).toBeNull();
  for (const consent of [
    { rows: true, smallGroup: false },
    { rows: false, smallGroup: true },
    { rows: false, smallGroup: false },
  ]) {
    const view = await tablet.ok<SeatView>('POST', '/api/seat/consent', consent);
    expect(view.consent).toEqual(consent);
    expect(view).toEqual(await viewOf(tablet));
  }
});

test('the rest between trays runs from the last ballot of a tray, not from its first', async () => {
  const { arms } = trialInput();
  const trial = await newTrial(host, { arms: [...arms, { ...arms[0]!, name: 'Thirdvessel' }] });
  const part: RatingPart = {
    kind: 'rating',
    ...flight(trial),
    replicates: 2,
    attributes: [{ id: 'sourness', name: 'sourness', low: 'none', high: 'strong' }],
    scale: 'line',
    by: 'sample',
    returning: false,
  };
  const open = await opened(trial, { assessors: 2, spareSeats: 0, restSeconds: 60, parts: [part] });
  const tablet = await seated(server.app, open, 1);
  const later = (seconds: number): void => {
    server.clock.now = new Date(server.clock.now.getTime() + seconds * 1000);
  };
  const [tray, next] = (await viewOf(tablet)).trays;
  const mark = ({ id }: { id: string }, { part: number, sheet, codes }: SheetAtSeat) =>
    tablet.ok('POST', '/api/seat/ballots', {
      id: ballotId(),
      trayId: id,
      part: number,
      sheet,
      answer: {
        kind: 'rating',
        marks: codes.map((code) => ({ code, attributeId: 'sourness', value: 40 })),
      },
      comment: '',
    });
  const [first, second, third] = tray!.sheets;
  // The second cup is marked last, so that neither the first nor the last sheet is the one that counts.
  for (const sheet of [first!, third!, second!]) {
    expect((await viewOf(tablet)).restLeftMs).toBe(0);
    later(25);
    await mark(tray!, sheet);
  }
  expect(tray!.sheets).toHaveLength(3);
  expect((await viewOf(tablet)).restLeftMs).toBe(60_000);
  later(60);
  expect((await viewOf(tablet)).restLeftMs).toBe(0);
  later(-15);
  expect((await viewOf(tablet)).restLeftMs).toBe(15_000);
  // Whoever has begun with the next tray rests no more, though most of it is open.
  await mark(next!, next!.sheets[0]!);
  expect((await viewOf(tablet)).restLeftMs).toBe(0);
});

test('a rest is kept on the tray before the next one only, and ends with its first ballot', async () => {
  const trial = await newTrial(host);
  const parts = [trianglePart(trial, { replicates: 2 })];
  const open = await opened(trial, { assessors: 2, spareSeats: 0, restSeconds: 60, parts });
  const tablet = await seated(server.app, open, 1);
  const { trays } = await viewOf(tablet);
  const answer = (tray: (typeof trays)[number]) =>
    tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, tray.servings[0]!.code));
  expect((await viewOf(tablet)).restLeftMs).toBe(0);
  await answer(trays[0]!);
  expect((await viewOf(tablet)).restLeftMs).toBe(60_000);
  await answer(trays[1]!);
  expect((await viewOf(tablet)).restLeftMs).toBe(0);
});

test('a ballot of an earlier tray that comes late does not make the rest before the next one longer', async () => {
  const trial = await newTrial(host);
  const parts = [trianglePart(trial, { replicates: 3 })];
  const open = await opened(trial, { assessors: 2, spareSeats: 0, restSeconds: 60, parts });
  const tablet = await seated(server.app, open, 1);
  const { trays } = await viewOf(tablet);
  for (const tray of [trays[1]!, trays[0]!]) {
    await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, tray.servings[0]!.code));
    server.clock.now = new Date(server.clock.now.getTime() + 20_000);
  }
  expect((await viewOf(tablet)).restLeftMs).toBe(20_000);
});

test('a tray that does not count is told as such, and cups by their place, code and mark alone', async () => {
  const trial = await newTrial(host);
  const open = await opened(trial, { parts: [trianglePart(trial, { warmUpTray: true })] });
  const { trays, ...view } = await viewOf(await seated(server.app, open, 3));
  expect(view).toMatchObject({ seat: 3, withdrawn: false, handedOver: false });
  expect(trays.map(({ trayNumber, part, warmUp }) => [trayNumber, part, warmUp])).toEqual([
    [1, 1, true],
    [2, 1, false],
  ]);
  for (const { servings } of trays) {
    expect(servings.map(({ position, mark }) => [position, mark])).toEqual([
      [1, null],
      [2, null],
      [3, null],
    ]);
    for (const serving of servings) expect(Object.keys(serving)).toEqual(['id', 'position', 'code', 'mark']);
  }
});

test('cautions of a tasting that was stopped are not confirmed any more', async () => {
  const open = await opened(await newTrial(host));
  const door = new Caller(server.app);
  const { seatToken } = await door.ok<SeatTaken>('POST', '/api/join/seat', {
    code: open.join!.code,
    seat: 1,
  });
  const tablet = new Caller(server.app, seatToken);
  await server.database.pool.query('update session set stopped_at = now() where id = $1', [open.id]);
  const refused = await tablet.call<ProblemDocument>('POST', '/api/seat/cautions', {});
  expect([refused.body.type, refused.status]).toEqual(['/problems/unsafe-to-taste', 409]);
  expect((await viewOf(tablet)).cautionsConfirmedAt).toBeNull();
});

test('who took their answers back is told so, and finds none of them', async () => {
  const tablet = await seated(server.app, await opened(await newTrial(host)), 1);
  const [tray] = (await viewOf(tablet)).trays;
  await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray!, tray!.servings[0]!.code));
  await (await receiptOf(tablet)).ok('POST', '/api/receipt/withdraw', {});
  const { withdrawn, trays } = await viewOf(tablet);
  expect(withdrawn).toBe(true);
  expect(trays[0]!.sheets[0]).toMatchObject({ ballot: null, answeredBefore: false });
});

test('words stand in another order at every seat, and in the same after a reload', async () => {
  const trial = await newTrial(host);
  const part: DescriptionPart = {
    kind: 'description',
    ...flight(trial),
    words: ['banana', 'clove', 'smoke', 'sulphur', 'rotten-egg'],
    intensity: false,
  };
  const open = await opened(trial, { assessors: 4, spareSeats: 0, parts: [part] });
  const orders: string[][] = [];
  for (const seat of [1, 2, 3, 4]) {
    const tablet = await seated(server.app, open, seat);
    const ids = (view: SeatView) => view.words.map(({ id }) => id);
    const order = ids(await viewOf(tablet));
    expect(order.length).toBeGreaterThan(100);
    expect(ids(await viewOf(tablet))).toEqual(order);
    orders.push(order);
  }
  expect(new Set(orders.map(String)).size).toBe(4);
  expect(new Set(orders.map((order) => String(order.toSorted()))).size).toBe(1);
});
