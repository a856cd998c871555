import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { ChoiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { JoinOffer, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { SiteFileMade, SiteTaken } from '@oddglass/shared/contracts/site-file.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  invited,
  moved,
  newTrial,
  receiptOf,
  seated,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { fitFacts } from '../support/factories.ts';
import { expectProblem } from '../support/publishing.ts';
import { playTablets, type Palate } from '../support/simulated-panel.ts';

// Three places of one sealed plan: one answers on the server that sealed it, two on servers of their own that share
// nothing with it but a file each way, as a place without network does.

let home: TestServer;
let near: TestServer;
let far: TestServer;
let host: Hosted;
let nearHost: Hosted;
let farHost: Hosted;
let steward: Hosted;
let trial: TrialView;
let session: SessionView;

const SITES = [
  { name: 'Cellar', assessors: 6, spareSeats: 0 },
  { name: 'Harbour', assessors: 6, spareSeats: 1 },
  { name: 'Hill farm', assessors: 6, spareSeats: 0 },
];

/** Finds the odd cup, so that an answer that went to another tray would be seen in the count. */
const finds: Palate = ({ cups, tray }): Answer => {
  const odd = cups.find((cup) => tray.filter(({ armId }) => armId === cup.armId).length === 1);
  return { kind: 'choice', chosen: [odd?.code ?? ''], confidence: 'fairly-sure', descriptors: [] };
};

beforeAll(async () => {
  [home, near, far] = await Promise.all([startServer(), startServer(), startServer()]);
  host = await firstHost(home.app);
  nearHost = await firstHost(near.app, 'Near');
  farHost = await firstHost(far.app, 'Far');
  steward = await invited(host, 'steward', 'Steward');
  trial = await newTrial(host);
  session = await moved(
    host,
    await draft(host, trial, { assessors: 18, spareSeats: 1, sites: SITES }),
    'seal',
  );
});
afterAll(() => Promise.all([home.close(), near.close(), far.close()]));

const planOf = (site: number, who = steward, of = session) =>
  who.caller.call<SiteFileMade & ProblemDocument>('POST', `/api/sessions/${of.id}/sites/${site}/plan`);
const join = (file: string, of = session, who = host) =>
  who.caller.call<SiteTaken & ProblemDocument>('POST', `/api/sessions/${of.id}/site-ballots`, { file });
const everything = async (server: TestServer): Promise<string> => {
  const sums = await Promise.all(
    ['seat', 'ballot', 'session', 'session_event', 'site_away', 'deviation', 'serving_note'].map(
      async (table) => {
        const { rows } = await server.database.pool.query(
          `select md5(string_agg(t::text, '|' order by t::text)) as sum from "${table}" t`,
        );
        return String(rows[0].sum);
      },
    ),
  );
  return sums.join();
};

/** A place on a server of its own: the file taken in, the arms looked at, the tasting open. */
async function importedAt(server: TestServer, own: Hosted, made: SiteFileMade) {
  const taken = await own.caller.ok<{ session: string; panel: string }>('POST', '/api/site-plans', {
    file: made.file,
    code: made.code,
  });
  const here: Hosted = { caller: own.caller, panel: taken.panel };
  const view = await own.caller.ok<SessionView>('GET', `/api/sessions/${taken.session}`);
  const there = await own.caller.ok<TrialView>('GET', `/api/trials/${view.trialId}`);
  for (const { id } of there.arms)
    await own.caller.ok(
      'POST',
      `/api/trials/${there.id}/arms/${id}/safety`,
      fitFacts(server.clock.now.toISOString().slice(0, 10)),
    );
  return { here, trial: there, sealed: view, open: await moved(here, view, 'open') };
}

test('a file of a place is for whoever may pour, opens the key, and with its code alone', async () => {
  expectProblem(await planOf(2, host), 'key-closed', 403);
  expectProblem(await planOf(4), 'not-found', 404);
  const made = await planOf(3);
  expect(made.status).toBe(200);
  // Nothing in it tells a cup, a code or an arm to whoever carries it.
  const pour = await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`);
  for (const { arm, id } of pour.samples)
    for (const word of [arm, id]) expect(made.body.file).not.toContain(word);
  expect(Object.keys(JSON.parse(made.body.file))).toEqual(['format', 'root', 'salt', 'sealed', 'site']);
  const board = await host.caller.ok<Board>('GET', `/api/sessions/${session.id}/board`);
  expect(board.keyOpenings.map(({ name }) => name)).toEqual(['Steward']);
  expect(board.sites?.map(({ standing }) => standing)).toEqual(['here', 'here', 'elsewhere']);
  expect(board.seats.filter(({ status }) => status === 'elsewhere').map(({ number }) => number)).toEqual([
    14, 15, 16, 17, 18, 19,
  ]);

  const send = (file: string, code = made.body.code) =>
    farHost.caller.call('POST', '/api/site-plans', { file, code });
  expect(expectProblem(await send(made.body.file, 'ACDE-ACDE-ACDE-ACDE'), 'invalid-input', 400)).toEqual([
    '#/code',
  ]);
  expectProblem(await send(`${made.body.file}\n`), 'site-file-refused', 422);
  const { file } = made.body;
  for (const at of [40, 200, file.length - 60]) {
    const other = file[at] === 'A' ? 'B' : 'A';
    const answer = await send(file.slice(0, at) + other + file.slice(at + 1));
    expect([400, 422]).toContain(answer.status);
  }
  const { rows } = await far.database.pool.query('select count(*)::int as n from session');
  expect(rows[0].n).toBe(0);
});

test('three places taste, one without network: each answer is counted once, and none before it is brought', async () => {
  const harbour = (await planOf(2)).body;
  // Saved again, it is the same place, under another code.
  const again = (await planOf(2)).body;
  expect(again.code).not.toBe(harbour.code);
  const hill = (await planOf(3)).body;
  session = await moved(host, session, 'open');

  const door = new Caller(home.app);
  const offer = await door.ok<JoinOffer>('POST', '/api/join', { code: session.join?.code });
  expect(offer.seats.filter(({ free }) => free).map(({ number }) => number)).toEqual([1, 2, 3, 4, 5, 6]);
  // What answers elsewhere is not offered at all: nobody took it.
  expect(offer.seats.every(({ number }) => number <= 6)).toBe(true);
  expectProblem(
    await door.call('POST', '/api/join/seat', { code: session.join?.code, seat: 9 }),
    'site-elsewhere',
    409,
  );

  const two = await importedAt(near, nearHost, again);
  expect(two.sealed.root).toBe(session.root);
  expect(two.sealed.guest).toMatchObject({
    panel: 'Panel of Host',
    site: 2,
    name: 'Harbour',
    sites: 3,
    firstSeat: 7,
  });
  expect(two.sealed.settings).toMatchObject({ assessors: 6, spareSeats: 1 });
  expect(two.sealed.settings).not.toHaveProperty('sites');
  expectProblem(
    await two.here.caller.call('POST', '/api/site-plans', { file: harbour.file, code: harbour.code }),
    'site-file-refused',
    422,
  );
  const farm = await importedAt(far, farHost, hill);

  await playTablets(home, session, finds, 6);
  const list = await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`);
  await steward.caller.ok('POST', `/api/sessions/${session.id}/pour/ticks`, {
    servingIds: list.samples.flatMap(({ cups }) =>
      cups.filter(({ seat }) => seat === 1).map(({ servingId }) => servingId),
    ),
    poured: true,
  });
  await playTablets(near, two.open, finds, 5);
  await playTablets(far, farm.open, finds, 4);
  // The fifth at the farm guesses, and takes it back once the file has left.
  const tablet = await seated(far.app, farm.open, 5);
  const receipt = await receiptOf(tablet);
  const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
  await tablet.ok('POST', '/api/seat/ballots', {
    id: '10000000-0000-4000-8000-000000000001',
    trayId: trays[0]!.id,
    part: 1,
    sheet: 1,
    answer: { kind: 'choice', chosen: [trays[0]!.servings[0]!.code], confidence: 'guess', descriptors: [] },
    comment: 'of a guess',
  });
  await farm.here.caller.ok(
    'POST',
    `/api/trials/${farm.trial.id}/arms/${farm.trial.arms[0]!.id}/deviations`,
    {
      on: '2031-03-04',
      note: 'stood an hour in the sun',
      sign: null,
    },
  );
  await moved(two.here, two.open, 'close');
  const closed = await moved(farm.here, farm.open, 'close');
  expect(closed.actions).not.toContain('reveal');
  expect((await farm.here.caller.call('POST', `/api/sessions/${closed.id}/reveal`, {})).status).toBe(409);
  expect((await farm.here.caller.call('GET', `/api/sessions/${closed.id}/result`)).status).toBe(409);

  const ballotsOf = (at: { here: Hosted; open: SessionView }) =>
    at.here.caller.ok<SiteFileMade>('GET', `/api/sessions/${at.open.id}/site-ballots`);
  const brought = await ballotsOf(two);
  const late = await ballotsOf(farm);
  expect(await ballotsOf(two)).toEqual(brought);
  expect(brought.file).not.toContain('choice');

  const before = await everything(home);
  const step = Math.ceil(late.file.length / 60);
  for (let at = 0; at < late.file.length; at += step) {
    const other = late.file[at] === 'a' ? 'b' : 'a';
    const answer = await join(late.file.slice(0, at) + other + late.file.slice(at + 1));
    expectProblem(answer, 'site-file-refused', 422);
  }
  expectProblem(await join(`${late.file} `), 'site-file-refused', 422);
  expectProblem(await join('{}'), 'site-file-refused', 422);
  expect(await everything(home)).toBe(before);

  const taken = await join(late.file);
  expect(taken.body).toEqual({ site: 3, name: 'Hill farm', people: 5, ballots: 5, already: false });
  const joined = await everything(home);
  expect((await join(late.file, session, steward)).body).toMatchObject({ people: 5, already: true });
  expect(await everything(home)).toBe(joined);
  const board = await host.caller.ok<Board>('GET', `/api/sessions/${session.id}/board`);
  expect(board.sites?.map(({ standing }) => standing)).toEqual(['here', 'elsewhere', 'joined']);
  expect(
    board.seats.filter(({ status }) => status === 'joined').map(({ number, answered }) => [number, answered]),
  ).toEqual([14, 15, 16, 17, 18].map((seat) => [seat, 1]));
  // Nobody goes on here with a seat of another server.
  expectProblem(
    await host.caller.call('POST', `/api/sessions/${session.id}/seats/14/hand-over`, {}),
    'site-elsewhere',
    409,
  );
  expectProblem(
    await host.caller.call('POST', `/api/sessions/${session.id}/seats/14/free`, {}),
    'site-elsewhere',
    409,
  );

  // Another evening of the same place: taken back after the first file was saved.
  await receipt.ok('POST', '/api/receipt/withdraw', {});
  const other = await ballotsOf(farm);
  expect(other.file).not.toBe(late.file);
  expectProblem(await join(other.file), 'site-ballots-in', 409);

  expect((await join(brought.file)).body).toMatchObject({ site: 2, people: 5, ballots: 5, already: false });
  // The receipt of the place leads to the answers here too.
  expect((await new Caller(home.app, receipt.seatToken).call('GET', '/api/receipt')).status).toBe(200);
  const shut = await moved(host, session, 'close', 'reveal');
  expect((await join(brought.file)).body).toMatchObject({ already: true });
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${shut.id}/result`);
  const part = result.parts[0] as ChoiceResult;
  // Six, five and four found it, one guessed; the guess may have been right.
  expect(part.served).toMatchObject({ assessors: 16, answers: 16 });
  expect(part.test?.counted).toBeGreaterThanOrEqual(15);
  expect(result.session.answersIntact).toBe(true);
  // Three cups of 40 mL that were ticked here, and those of ten seats elsewhere.
  const after = await host.caller.ok<TrialView>('GET', `/api/trials/${trial.id}`);
  const poured = after.arms.flatMap(({ liquid }) => liquid.lines.filter(({ kind }) => kind === 'poured'));
  expect(poured.reduce((sum, { ml }) => sum + Math.abs(ml), 0)).toBe(40 * 3 * 11);
  expect(JSON.stringify(part.caveats)).toContain('At place 3: stood an hour in the sun');
});

test('ballots of another tasting, of a place without a file, or after the close are refused', async () => {
  const elsewhere = await moved(
    host,
    await draft(host, trial, {
      assessors: 12,
      spareSeats: 0,
      cupMl: 10,
      sites: SITES.slice(0, 2).map((site) => ({ ...site, spareSeats: 0 })),
    }),
    'seal',
    'open',
  );
  const made = (await planOf(2, steward, elsewhere)).body;
  const there = await importedAt(near, nearHost, made);
  await playTablets(near, there.open, finds, 2);
  await moved(there.here, there.open, 'close');
  const { file } = await there.here.caller.ok<SiteFileMade>(
    'GET',
    `/api/sessions/${there.open.id}/site-ballots`,
  );
  expectProblem(await join(file, session), 'site-file-refused', 422);
  // Its own address written into it: the seal of the file does not fit any more.
  const forged = JSON.stringify({ ...JSON.parse(file), session: session.id, root: session.root });
  expectProblem(await join(forged, session), 'site-file-refused', 422);
  await moved(host, elsewhere, 'close');
  expectProblem(await join(file, elsewhere), 'wrong-state', 409);
  expectProblem(await planOf(1, steward, elsewhere), 'wrong-state', 409);
});
