import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { PaperPrint } from '@oddglass/shared/contracts/paper.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { SealAnnouncement } from '@oddglass/shared/contracts/seal.ts';
import type { JoinOffer } from '@oddglass/shared/contracts/seat.ts';
import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { ChoiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import type { RatingResult } from '@oddglass/shared/contracts/result-rating.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import { draftOf, readOriginal } from '@oddglass/shared/publication/replicate.ts';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { checkSession } from '@oddglass/shared/publication/verify-session.ts';
import { beforeAll, describe, expect, test } from 'vitest';
import {
  Caller,
  draft,
  moved,
  newTrial,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { settings, trialInput } from '../support/factories.ts';
import { expectProblem, publish } from '../support/publishing.ts';
import { playSession, type Palate } from '../support/simulated-panel.ts';
import { palate, storyParts } from '../support/story-evenings.ts';

// One sealed plan at several places of one server: balance within each, lists, board and seats by place.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
useStewardsPanel((panel) => ({ server, host, steward } = panel));

const SITES = [
  { name: 'Cellar', assessors: 6, spareSeats: 1 },
  { name: 'Harbour', assessors: 12, spareSeats: 0 },
];
const PEOPLE = { assessors: 18, spareSeats: 1, sites: SITES };

async function sealedAtTwo(): Promise<SessionView> {
  return moved(host, await draft(host, await newTrial(host), PEOPLE), 'seal');
}

test('orders are balanced within each place, and the seal holds the sizes and no name', async () => {
  const session = await sealedAtTwo();
  const pour = await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`);
  expect(pour.sites).toEqual([
    { site: 1, name: 'Cellar', first: 1, last: 7 },
    { site: 2, name: 'Harbour', first: 8, last: 19 },
  ]);
  const orderOf = (seat: number): string =>
    pour.samples
      .flatMap(({ id, cups }) => cups.map((cup) => ({ ...cup, id })))
      .filter((cup) => cup.seat === seat)
      .sort((a, b) => a.position - b.position)
      .map(({ id }) => id)
      .join();
  const count = (first: number, people: number) =>
    [
      ...Map.groupBy(
        Array.from({ length: people }, (_, at) => orderOf(first + at)),
        (order) => order,
      ).values(),
    ].map(({ length }) => length);
  // Six orders of a triangle (ISO 4120): each once in six seats, twice in twelve.
  expect(count(1, 6)).toEqual([1, 1, 1, 1, 1, 1]);
  expect(count(8, 12)).toEqual([2, 2, 2, 2, 2, 2]);
  const cups = pour.samples.flatMap(({ cups: all }) => all);
  expect([...new Set(cups.filter(({ spare }) => spare).map(({ seat }) => seat))]).toEqual([7]);

  const announced = await host.caller.call<SealAnnouncement>(
    'GET',
    `/api/sessions/${session.id}/announcement`,
  );
  expect(announced.body.settings.body['sites']).toEqual([
    { assessors: 6, spareSeats: 1 },
    { assessors: 12, spareSeats: 0 },
  ]);
  expect(announced.text).not.toMatch(/Cellar|Harbour/);
});

test('seats are offered, shown and printed by place', async () => {
  const session = await moved(host, await sealedAtTwo(), 'open');
  const door = new Caller(server.app);
  const offer = await door.ok<JoinOffer>('POST', '/api/join', { code: session.join?.code });
  expect(offer.sites?.map(({ name, first, last }) => [name, first, last])).toEqual([
    ['Cellar', 1, 7],
    ['Harbour', 8, 19],
  ]);
  const board = await host.caller.ok<Board>('GET', `/api/sessions/${session.id}/board`);
  expect(board.sites?.map(({ name, standing }) => [name, standing])).toEqual([
    ['Cellar', 'here'],
    ['Harbour', 'here'],
  ]);
  expect(board.seats.filter(({ spare }) => spare).map(({ number }) => number)).toEqual([7]);
  const print = await host.caller.ok<PaperPrint>('GET', `/api/sessions/${session.id}/paper`);
  // Everybody who is expected, the spare seat between them left out.
  expect(print.ballots.map(({ seat }) => seat)).toEqual([
    ...Array.from({ length: 6 }, (_, at) => at + 1),
    ...Array.from({ length: 12 }, (_, at) => at + 8),
  ]);
});

test('how cups are served is noted by place, and only ever added', async () => {
  const session = await sealedAtTwo();
  const path = `/api/sessions/${session.id}/pour/conditions`;
  const note = { temperatureC: 9, looks: 'alike', how: '' };
  const far = { ...note, site: 2, transport: 'cool box, two hours by car', minutesSincePour: 12 };
  expect(expectProblem(await steward.caller.call('POST', path, note), 'invalid-input', 400)).toEqual([
    '#/site',
  ]);
  expectProblem(await steward.caller.call('POST', path, { ...far, site: 3 }), 'invalid-input', 400);
  expectProblem(
    await steward.caller.call('POST', path, { ...far, minutesSincePour: -1 }),
    'invalid-input',
    400,
  );
  await steward.caller.ok('POST', path, { ...far, temperatureC: 12 });
  await steward.caller.ok('POST', path, { ...note, site: 1 });
  const view = await steward.caller.ok<PourView>('POST', path, far);
  expect(view.conditions).toBeNull();
  expect(view.siteConditions).toEqual([{ ...note, site: 1 }, far]);
});

test('one place knows nothing of places', async () => {
  const session = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
  const pour = await steward.caller.call('GET', `/api/sessions/${session.id}/pour`);
  const offer = await new Caller(server.app).call('POST', '/api/join', { code: session.join?.code });
  const board = await host.caller.call('GET', `/api/sessions/${session.id}/board`);
  const view = await host.caller.call('GET', `/api/sessions/${session.id}`);
  const seal = await host.caller.call('GET', `/api/sessions/${session.id}/announcement`);
  for (const { text } of [pour, offer, board, view, seal]) expect(text).not.toMatch(/site/i);
  expectProblem(
    await steward.caller.call('POST', `/api/sessions/${session.id}/pour/conditions`, {
      temperatureC: null,
      looks: 'alike',
      how: '',
      site: 1,
    }),
    'invalid-input',
    400,
  );
});

test('a plan is refused whose places name an arm, or do not add up', async () => {
  const trial = await newTrial(host);
  const send = (change: object) =>
    host.caller.call('POST', `/api/trials/${trial.id}/sessions`, settings(trial, { ...PEOPLE, ...change }));
  const named = [{ ...SITES[0]!, name: 'The Coolvessel room' }, SITES[1]!];
  expect(expectProblem(await send({ sites: named }), 'title-tells', 409)).toEqual(['#/sites/0/name']);
  expect(expectProblem(await send({ assessors: 17 }), 'invalid-input', 400)).toEqual(['#/assessors']);
});

describe('three places', () => {
  let trial: TrialView;
  let session: SessionView;
  const THREE = [
    { name: 'Cellar', assessors: 10, spareSeats: 0 },
    { name: 'Harbour', assessors: 12, spareSeats: 0 },
    { name: 'Hill farm', assessors: 11, spareSeats: 1 },
  ];
  // Right at the first place: 7 of 10; at the second 4 of 12; at the third 7 of 11.
  const RIGHT = new Set([1, 2, 3, 4, 5, 6, 7, 11, 12, 13, 14, 23, 24, 25, 26, 27, 28, 29]);
  const answers: Palate = (asked) => palate(RIGHT.has(asked.seat) ? 99 : 0, 6)(asked);

  beforeAll(async () => {
    trial = await newTrial(host, {
      arms: trialInput().arms.map((arm) => ({ ...arm, volumeMl: 20_000 })),
    });
    const settings = { assessors: 33, spareSeats: 1, sites: THREE, parts: storyParts(trial) };
    session = await playSession(server, host, trial, settings, answers, 33);
  });

  test('everybody counts once, and places are told beside a finding that does not rest on them', async () => {
    const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
    const [choice, marks] = result.parts as [ChoiceResult, RatingResult];
    expect(choice.served).toMatchObject({ seated: 33, assessors: 33, answers: 33 });
    expect(choice.test).toMatchObject({ counted: 18, answers: 33 });
    expect(result.session.sites?.map(({ name, standing }) => [name, standing])).toEqual([
      ['Cellar', 'here'],
      ['Harbour', 'here'],
      ['Hill farm', 'here'],
    ]);
    const [byPlace, inMarks] = result.bySite ?? [];
    expect(byPlace?.rows).toEqual([
      { site: 1, people: 10, answers: 10, counted: 7 },
      { site: 2, people: 12, answers: 12, counted: 4 },
      { site: 3, people: 11, answers: 11, counted: 7 },
    ]);
    // R 4.2.2: fisher.test(rbind(c(7, 3), c(4, 8), c(7, 4)))$p.value
    expect(byPlace?.tests[0]).toMatchObject({ by: 'exact', df1: 2, people: 33 });
    expect(byPlace?.tests[0]?.p).toBeCloseTo(0.230537871981, 10);
    expect(byPlace?.reading).toContain('is not shown to depend on the place');
    expect(inMarks?.tests[0]).toMatchObject({ about: 'sour', by: 'f', df1: 2, df2: 30, people: 33 });
    expect(marks.attributes[0]?.samples).toHaveLength(2);
    const csv = await host.caller.call('GET', `/api/sessions/${session.id}/result.csv`);
    expect(csv.text.split('\n')[0]).toMatch(/unit,site/);
  });

  test('readers get the number of places, and by place what their size permits, without a name', async () => {
    await publish(host, { trial, session, receipts: [], tablets: [] }, { address: 'three-places' });
    const answer = await host.caller.call<PublishedView>('GET', '/api/p/three-places');
    expect(answer.text).not.toMatch(/Cellar|Harbour|Hill farm/);
    const { sites } = answer.body.publication!.sessions[0]!;
    expect(sites?.places).toBe(3);
    expect(sites?.compared?.map(({ part }) => part)).toEqual([1, 2]);
    expect(sites?.compared?.[0]?.rows.map(({ counted }) => counted)).toEqual([7, 4, 7]);
    const zip = (await server.app.inject({ method: 'GET', url: '/api/p/three-places/package.zip' }))
      .rawPayload;
    expect(verifyPackage(zip).filter(({ ok }) => !ok)).toEqual([]);
    const files = unzipPackage(zip);
    const readme = new TextDecoder().decode(files.find(({ path }) => path === 'README.md')?.bytes);
    expect(readme).toContain('Tasted at 3 places under one sealed plan');
    expect(readme).not.toMatch(/Cellar|Harbour|Hill farm/);
    // Who repeats it finds the same places, by their sizes.
    const read = readOriginal(zip);
    if (!read.ok) throw new Error(read.sentences.join(' '));
    const again = draftOf(
      read.protocol,
      0,
      trial.arms.map(({ id }) => id),
    );
    expect(again.sites).toEqual(THREE.map((site, at) => ({ ...site, name: `Place ${at + 1}` })));
    // A count moved from one place to another is noticed.
    const { publication } = answer.body;
    const [first] = publication!.sessions;
    const moved = structuredClone(first!);
    moved.sites!.compared![0]!.rows[0]!.counted = 6;
    const checked = checkSession(
      moved as never,
      new Map(publication!.arms.map(({ id, name }) => [id, name])),
    );
    expect(checked.filter(({ ok }) => !ok).map(({ name }) => name)).toEqual([
      expect.stringContaining('places add up to their parts'),
    ]);
  });

  test('of small places nothing is told by place', async () => {
    const small = await playSession(
      server,
      host,
      trial,
      {
        assessors: 12,
        spareSeats: 0,
        cupMl: 10,
        sites: [
          { ...THREE[0]!, assessors: 6 },
          { ...THREE[1]!, assessors: 6 },
        ],
      },
      palate(8, 6),
      12,
    );
    await publish(
      host,
      { trial, session: small, receipts: [], tablets: [] },
      { address: 'two-small-places' },
    );
    const { publication } = await host.caller.ok<PublishedView>('GET', '/api/p/two-small-places');
    expect(publication?.sessions[0]?.sites).toMatchObject({ places: 2, compared: null });
    expect(publication?.sessions[0]?.sites?.saying).toContain('How places differ is withheld');
    const zip = (await server.app.inject({ method: 'GET', url: '/api/p/two-small-places/package.zip' }))
      .rawPayload;
    expect(verifyPackage(zip).filter(({ ok }) => !ok)).toEqual([]);
  });
});
