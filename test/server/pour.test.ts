import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  draft,
  firstHost,
  invited,
  moved,
  newTrial,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';

let server: TestServer;
let host: Hosted;
let steward: Hosted;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Steward');
});
afterAll(() => server.close());

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
