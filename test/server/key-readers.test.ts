import { openDb } from '@oddglass/db/client.ts';
import { listEvents } from '@oddglass/db/queries/event.ts';
import type { Board } from '@oddglass/shared/contracts/board.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { expect, test } from 'vitest';
import {
  draft,
  invited,
  moved,
  newTrial,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';

// Who read the key before the reveal: on the board by name, in the result as a count.

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

const sealed = async (): Promise<SessionView> => moved(host, await draft(host, await newTrial(host)), 'seal');
const pourOf = (who: Hosted, { id }: SessionView) =>
  who.caller.ok<PourView>('GET', `/api/sessions/${id}/pour`);
const boardOf = ({ id }: SessionView) => host.caller.ok<Board>('GET', `/api/sessions/${id}/board`);
const later = (minutes: number) => {
  server.clock.now = new Date(server.clock.now.getTime() + minutes * 60_000);
  return server.clock.now.toISOString();
};
const blindingOf = async ({ id }: SessionView): Promise<string[]> => {
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${id}/result`);
  return result.parts.flatMap(({ caveats }) =>
    caveats.filter(({ from }) => from === 'blinding').map(({ text }) => text),
  );
};

test('the first reading of the key by each account is told on the board, in the result and nowhere twice', async () => {
  const session = await sealed();
  expect((await boardOf(session)).keyOpenings).toEqual([]);
  const first = later(3);
  await pourOf(steward, session);
  later(1);
  await pourOf(steward, session);
  // The confederate: a second account of the host's, let in while the plan lies sealed.
  later(1);
  const second = await invited(host, 'steward', 'Second');
  const at = later(1);
  await pourOf(second, session);
  expect((await boardOf(session)).keyOpenings).toEqual([
    { name: 'Steward', at: first },
    { name: 'Second', at },
  ]);
  const events = await listEvents(openDb(server.database.pool), session.id);
  expect(events.filter(({ event }) => event.kind === 'key-opened')).toHaveLength(2);
  await moved(host, session, 'open', 'close', 'reveal');
  // What is everybody's after the reveal is no opening.
  await pourOf(host, session);
  expect((await boardOf(session)).keyOpenings).toHaveLength(2);
  expect(await blindingOf(session)).toEqual([
    'Two accounts opened the key before the reveal; one of them had been invited by a host after the plan was sealed.',
  ]);
});

test('ticking cups and noting how they look count as opening the key, and so does taking it', async () => {
  const ticked = await sealed();
  const { samples } = await pourOf(steward, ticked);
  const other = await invited(host, 'steward', 'Ticker');
  await other.caller.ok('POST', `/api/sessions/${ticked.id}/pour/ticks`, {
    servingIds: [samples[0]!.cups[0]!.servingId],
    poured: true,
  });
  expect((await boardOf(ticked)).keyOpenings.map(({ name }) => name)).toEqual(['Steward', 'Ticker']);

  const taken = await moved(host, await sealed(), 'take-key');
  expect((await boardOf(taken)).keyOpenings.map(({ name }) => name)).toEqual(['Host']);
  await pourOf(host, taken);
  await moved(host, taken, 'open', 'close', 'reveal');
  expect((await blindingOf(taken)).at(-1)).toBe('One account opened the key before the reveal.');
});

test('readings that come together are told once', async () => {
  const session = await sealed();
  await Promise.all(Array.from({ length: 6 }, () => pourOf(steward, session)));
  expect((await boardOf(session)).keyOpenings.map(({ name }) => name)).toEqual(['Steward']);
});

test('a session of before it was written down says nothing of it; one whose key nobody opened says so', async () => {
  const session = await moved(host, await sealed(), 'open', 'close', 'reveal');
  expect(await blindingOf(session)).toEqual(['No account opened the key before the reveal.']);
  await server.database.pool.query('update session set key_watched = false where id = $1', [session.id]);
  expect(await blindingOf(session)).toEqual([]);
});
