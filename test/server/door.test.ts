import type { SeatTaken, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { beforeEach, expect, test } from 'vitest';
import {
  Caller,
  draft,
  invited,
  moved,
  newTrial,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor } from '../support/factories.ts';

// Who may sit down, how many seats one browser holds, and how fast seats go to one place.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let open: SessionView;

useStewardsPanel((panel) => ({ server, host, steward } = panel));
beforeEach(async () => {
  open = await tasting();
});

const tasting = async (change: object = {}, ...steps: string[]): Promise<SessionView> =>
  moved(host, await draft(host, await newTrial(host), change), 'seal', ...steps, 'open');

/** A browser at the door: it sends the cookies it has, and keeps those it gets. */
class Guest {
  readonly cookies = new Map<string, string>();
  readonly #from: string;
  constructor(from = '192.0.2.1', signedInAs?: Hosted) {
    this.#from = from;
    const [name, value] = (signedInAs?.caller.cookie ?? '').split('=');
    if (name && value) this.cookies.set(name, value);
  }
  async take(seat: number, session = open) {
    const answer = await server.app.inject({
      method: 'POST',
      url: '/api/join/seat',
      payload: { token: session.join?.token, seat },
      remoteAddress: this.#from,
      headers: { cookie: [...this.cookies].map(([name, value]) => `${name}=${value}`).join('; ') },
    });
    for (const set of answer.cookies) this.cookies.set(set.name, set.value);
    const body = answer.json<ProblemDocument & SeatTaken>();
    return { status: answer.statusCode, type: body.type, detail: body.detail, token: body.seatToken, answer };
  }
}
const taken = { status: 200 };
const later = (seconds: number) =>
  void (server.clock.now = new Date(server.clock.now.getTime() + seconds * 1_000));

test('whoever opened the key does not taste: a steward, and a host who took it; others of the panel may', async () => {
  const second = await invited(host, 'steward', 'Idle');
  await steward.caller.ok('GET', `/api/sessions/${open.id}/pour`);
  const refused = await new Guest('192.0.2.1', steward).take(1);
  expect(refused).toMatchObject({ status: 403, type: '/problems/knows-the-key' });
  expect(refused.detail).toMatch(/Steward.*opened the key/);
  expect(await new Guest('192.0.2.1', second).take(1)).toMatchObject(taken);
  expect(await new Guest('192.0.2.1', host).take(2)).toMatchObject(taken);
  const single = await tasting({}, 'take-key');
  expect(await new Guest('192.0.2.2', host).take(1, single)).toMatchObject({
    status: 403,
    type: '/problems/knows-the-key',
  });
  // In another session they know nothing.
  const other = await tasting();
  expect(await new Guest('192.0.2.3', steward).take(1, other)).toMatchObject(taken);
  // Nobody is asked to sign in.
  expect(await new Guest('192.0.2.3').take(2, single)).toMatchObject(taken);
});

test('one browser holds two seats at a time, and a further one when it has finished at one of them', async () => {
  const guest = new Guest();
  const first = await guest.take(1);
  expect(first).toMatchObject(taken);
  const [cookie] = first.answer.cookies;
  expect(cookie).toMatchObject({ httpOnly: true, path: '/', sameSite: 'Lax' });
  expect(await guest.take(2)).toMatchObject(taken);
  expect(await guest.take(3)).toMatchObject({ status: 409, type: '/problems/seats-held' });
  // Two requests at once get no third seat either.
  const twice = await Promise.all([guest.take(4), guest.take(5)]);
  expect(twice.map(({ status }) => status)).toEqual([409, 409]);
  // Another browser, and another tasting, are not concerned.
  expect(await new Guest('192.0.2.20').take(3)).toMatchObject(taken);
  const other = await tasting();
  expect(await guest.take(1, other)).toMatchObject(taken);

  const tablet = new Caller(server.app, first.token);
  await tablet.ok('POST', '/api/seat/cautions', {});
  const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
  for (const tray of trays)
    await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, tray.servings[0]!.code));
  expect(await guest.take(4)).toMatchObject(taken);
  expect(await guest.take(5)).toMatchObject({ status: 409 });
});

test('two seats go to one browser even when it asks for many at once', async () => {
  const guest = new Guest('192.0.2.30');
  // The cookie comes with the first answer.
  expect(await guest.take(1)).toMatchObject(taken);
  const all = await Promise.all([2, 3, 4, 5].map((seat) => guest.take(seat)));
  expect(all.filter(({ status }) => status === 200)).toHaveLength(1);
});

test('one who drops every cookie gets six seats in a quarter of a minute, and a room behind one router all sit', async () => {
  const club = await tasting({ assessors: 24, spareSeats: 0 });
  const all = await Promise.all(
    Array.from({ length: 24 }, (_, at) => new Guest('198.51.100.7').take(at + 1, club)),
  );
  expect(all.filter(({ status }) => status === 200)).toHaveLength(6);
  const refused = all.find(({ status }) => status !== 200);
  expect(refused).toMatchObject({ status: 429, type: '/problems/seats-too-fast' });
  const wait = Number(refused?.answer.headers['retry-after']);
  expect(wait).toBe(15);
  expect(refused?.detail).toContain('15 seconds');
  // Elsewhere nobody waits.
  const free = all.findIndex(({ status }) => status !== 200) + 1;
  expect(await new Guest('198.51.100.8').take(free, club)).toMatchObject(taken);
  // The same people, who tap again: all of them sit within a minute.
  let left = all.flatMap(({ status }, at) => (status === 200 || at + 1 === free ? [] : [at + 1]));
  for (let round = 0; round < 3; round++) {
    later(15);
    const again = await Promise.all(left.map((seat) => new Guest('198.51.100.7').take(seat, club)));
    left = left.filter((_, at) => again[at]?.status !== 200);
  }
  expect(left).toEqual([]);
});

test('a seat that was not to be had costs nothing of what an address may take', async () => {
  expect(await new Guest('203.0.113.5').take(1)).toMatchObject(taken);
  for (let tried = 0; tried < 10; tried++) {
    expect(await new Guest('203.0.113.5').take(1)).toMatchObject({
      status: 409,
      type: '/problems/seat-taken',
    });
  }
  for (const seat of [2, 3, 4, 5, 6]) expect(await new Guest('203.0.113.5').take(seat)).toMatchObject(taken);
  expect(await new Guest('203.0.113.5').take(7)).toMatchObject({ status: 429 });
});
