import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { PaperPrint } from '@oddglass/shared/contracts/paper.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { SealAnnouncement } from '@oddglass/shared/contracts/seal.ts';
import type { JoinOffer } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { expect, test } from 'vitest';
import {
  Caller,
  draft,
  moved,
  newTrial,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { settings } from '../support/factories.ts';
import { expectProblem } from '../support/publishing.ts';

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
