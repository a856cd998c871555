import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import { expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { draft, moved, newTrial, useStewardsPanel, type Hosted, type TestServer } from '../support/app.ts';
import { until } from '../support/until.ts';

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

test('ticks are taken in until the session closes; afterwards the sheet is read, and stays as it is', async () => {
  const sealed = await moved(host, await draft(host, await newTrial(host)), 'seal');
  const path = `/api/sessions/${sealed.id}/pour`;
  const read = () => steward.caller.ok<PourView>('GET', path);
  const [first, second, third] = (await read()).samples.flatMap(({ cups }) =>
    cups.map(({ servingId }) => servingId),
  );
  const tick = (servingId: string | undefined, poured: boolean) =>
    steward.caller.call<ProblemDocument>('POST', `${path}/ticks`, { servingIds: [servingId], poured });
  expect((await tick(first, true)).body).toEqual({ poured: 1 });
  await moved(host, sealed, 'open');
  expect((await tick(second, true)).body).toEqual({ poured: 2 });
  // What an arm is like is looked at while cups are poured, and no longer.
  const withoutLook = (view: PourView) => ({
    ...view,
    samples: view.samples.map((one) => ({ ...one, safety: null })),
  });
  const poured = withoutLook(await read());
  for (const step of ['close', 'reveal']) {
    await moved(host, sealed, step);
    for (const late of [await tick(third, true), await tick(first, false)]) {
      expect([late.body.type, late.status]).toEqual(['/problems/wrong-state', 409]);
    }
    expect(await read()).toEqual(poured);
  }
  const { rows } = await server.database.pool.query<{ ticks: number }>(
    'select count(*)::int as ticks from pour_tick where session_id = $1',
    [sealed.id],
  );
  expect(rows[0]?.ticks).toBe(2);
});

type Cup = PourView['samples'][number]['cups'][number];

/** A sealed triangle, its cups bottle by bottle, and a way to tick one after the other with a pause between. */
async function bottles(assessors = 12) {
  const sealed = await moved(
    host,
    await draft(host, await newTrial(host), { assessors, spareSeats: 0 }),
    'seal',
  );
  const path = `/api/sessions/${sealed.id}`;
  const { samples } = await steward.caller.ok<PourView>('GET', `${path}/pour`);
  const tick = async (cups: readonly Cup[], poured = true): Promise<void> => {
    for (const { servingId } of cups) {
      server.clock.now = new Date(server.clock.now.getTime() + 5_000);
      await steward.caller.ok('POST', `${path}/pour/ticks`, { servingIds: [servingId], poured });
    }
  };
  /** What a host's board has heard of pouring: the totals, each with the moment. */
  const heard = async (): Promise<{ cups: number; at: string }[]> =>
    (await listEvents(openDb(server.database.pool), sealed.id)).flatMap(({ at, event }) =>
      event.kind === 'poured' ? [{ cups: event.cups, at }] : [],
    );
  const total = async () => (await host.caller.ok<Board>('GET', `${path}/board`)).poured;
  const seq = async () => (await host.caller.ok<Board>('GET', `${path}/board`)).seq;
  return { sealed, path, samples, tick, heard, total, seq };
}
/** Cups of one seat in the order in which bottles are poured. */
const ofSeat = ({ samples }: PourView | { samples: PourView['samples'] }, seat: number): Cup[] =>
  samples.flatMap(({ cups }) => cups.filter((cup) => cup.seat === seat));

test('a latecomer poured bottle by bottle: a host hears one thing, the same whichever arm is the odd one', async () => {
  const { samples, tick, heard, total, seq } = await bottles();
  const odd: number[] = [];
  const told: string[] = [];
  for (let seat = 1; seat <= 12; seat++) {
    odd.push(samples.findIndex(({ cups }) => cups.filter((cup) => cup.seat === seat).length === 1));
    const [before, at, from] = [await total(), server.clock.now, await seq()];
    const events = (await heard()).length;
    await tick(ofSeat({ samples }, seat).slice(0, 2));
    expect([await total(), await seq()]).toEqual([before, from]);
    await tick(ofSeat({ samples }, seat).slice(2));
    const news = (await heard()).slice(events);
    told.push(
      JSON.stringify([
        news.map(({ cups, at: then }) => [cups - before, Date.parse(then) - at.getTime()]),
        (await total()) - before,
        (await seq()) - from,
      ]),
    );
  }
  // Both kinds of trays are among them, and what was heard tells none of them from another.
  expect(new Set(odd)).toEqual(new Set([0, 1]));
  expect(new Set(told)).toEqual(new Set(['[[[3,15000]],3,1]']));
});

test('seven seats poured cup by cup, bottle by bottle, are told once, at the end; tray by tray, tray by tray', async () => {
  const all = await bottles(7);
  await all.tick(all.samples.flatMap(({ cups }) => cups));
  expect((await all.heard()).map(({ cups }) => cups)).toEqual([21]);
  const each = await bottles(7);
  for (const seat of [3, 1, 2]) await each.tick(ofSeat(each, seat));
  expect((await each.heard()).map(({ cups }) => cups)).toEqual([3, 6, 9]);
});

test('a tick taken back and set again is not heard; a tray taken back is', async () => {
  const { samples, tick, heard, total } = await bottles();
  const [first, second] = [ofSeat({ samples }, 1), ofSeat({ samples }, 2)];
  await tick([...first, ...second]);
  const [cup] = first as [Cup];
  await tick([cup], false);
  expect(await total()).toBe(6);
  await tick([cup]);
  expect((await heard()).map(({ cups }) => cups)).toEqual([3, 6]);
  await tick(first, false);
  expect(await total()).toBe(3);
});

test('other pour lists hear of every tick, and boards of hosts without the key do not', async () => {
  const base = (await server.app.listen({ port: 0, host: '127.0.0.1' })).replace('http', 'ws');
  const { sealed, samples, tick } = await bottles();
  const listen = async ({ caller }: Hosted) => {
    const heard: string[] = [];
    const socket = new WebSocket(`${base}/api/sessions/${sealed.id}/live`, {
      headers: { cookie: caller.cookie ?? '' },
    });
    socket.on('message', (data) => void heard.push((JSON.parse(String(data)) as { type: string }).type));
    await until('a snapshot comes', () => heard.includes('snapshot'));
    return { heard, socket };
  };
  const [pouring, watching] = [await listen(steward), await listen(host)];
  await tick(ofSeat({ samples }, 1).slice(0, 2));
  await until(
    'the other list hears',
    () => pouring.heard.filter((type) => type === 'pour-list').length === 2,
  );
  await tick(ofSeat({ samples }, 1).slice(2));
  await until('the board hears of the tray', () => watching.heard.includes('event'));
  expect(watching.heard).toEqual(['snapshot', 'event']);
  for (const { socket } of [pouring, watching]) socket.terminate();
});
