import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { expect, test } from 'vitest';
import {
  draft,
  moved,
  newTrial,
  seated,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor, oddCodes, trianglePart } from '../support/factories.ts';
import { publish } from '../support/publishing.ts';

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

test('a first tray that does not count is poured and answered, and reaches no number, row or opened count', async () => {
  const trial = await newTrial(host);
  const PEOPLE = 12;
  const planned = await draft(host, trial, {
    assessors: PEOPLE,
    spareSeats: 0,
    parts: [trianglePart(trial, { warmUpTray: true })],
  });
  const session = await moved(host, planned, 'seal', 'open');
  const pour = await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`);
  expect(pour.trays).toBe(2);
  expect(pour.samples.flatMap(({ cups }) => cups)).toHaveLength(PEOPLE * 2 * 3);
  const odd = oddCodes(pour);
  for (let seat = 1; seat <= PEOPLE; seat++) {
    const tablet = await seated(server.app, session, seat);
    await tablet.ok('POST', '/api/seat/consent', { rows: true, smallGroup: true });
    const { trays, session: told } = await tablet.ok<SeatView>('GET', '/api/seat');
    expect(trays.map(({ trayNumber, warmUp }) => [trayNumber, warmUp])).toEqual([
      [1, true],
      [2, false],
    ]);
    expect(told.cautions.cups).toBe(6);
    for (const tray of trays) {
      const right = odd.get(`${seat}/${tray.trayNumber}`) ?? '';
      // Everybody is wrong on the tray that does not count; four are wrong on the other.
      const miss = tray.warmUp || seat <= 4;
      const other = tray.servings.find(({ code }) => code !== right)?.code ?? '';
      await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, miss ? other : right));
    }
  }
  await moved(host, session, 'close', 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  const [part] = result.parts;
  expect(part).toMatchObject({
    served: { assessors: PEOPLE, unanswered: 0 },
    test: { answers: PEOPLE, counted: 8 },
  });
  expect(part?.caveats.map(({ text }) => text)).toContainEqual(
    expect.stringMatching(/^The first tray of each person/),
  );

  const { address } = await publish(host, { trial, session, receipts: [], tablets: [] });
  const { publication } = await host.caller.ok<PublishedView>('GET', `/api/p/${address}`);
  expect(publication?.sessions[0]?.parts[0]).toMatchObject({ test: { answers: PEOPLE, counted: 8 } });
  expect(publication?.sessions[0]?.rows?.length).toBeGreaterThan(0);
  const zip = await server.app.inject({ method: 'GET', url: `/api/p/${address}/package.zip` });
  const checks = verifyPackage(new Uint8Array(zip.rawPayload));
  expect(checks.length).toBeGreaterThan(20);
  expect(checks.filter(({ ok }) => !ok)).toEqual([]);
});
