import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
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
import { ballotFor } from '../support/factories.ts';
import { publish, YES } from '../support/publishing.ts';

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

const note = (who: Hosted, session: SessionView, body: unknown) =>
  who.caller.call<PourView & ProblemDocument>('POST', `/api/sessions/${session.id}/pour/conditions`, body);
const SEEN = { temperatureC: 9.5, looks: 'differ', how: 'Warmvessel is quartzlike' } as const;
const caveatsOf = (result: Pick<ResultDocument, 'parts'> | undefined) =>
  result?.parts[0]?.caveats.map(({ text }) => text) ?? [];

test('who pours notes temperature and looks; nobody else reads them before the reveal, and readers never how', async () => {
  const trial = await newTrial(host);
  const session = await moved(
    host,
    await draft(host, trial, { assessors: 10, spareSeats: 0 }),
    'seal',
    'open',
  );
  expect((await note(host, session, SEEN)).status).toBe(403);
  expect((await note(steward, session, { ...SEEN, temperatureC: 95 })).status).toBe(400);
  expect(
    (await note(steward, session, { temperatureC: null, looks: 'alike', how: '' })).body.conditions,
  ).toEqual({
    temperatureC: null,
    looks: 'alike',
    how: '',
  });
  expect((await note(steward, session, SEEN)).body.conditions).toEqual(SEEN);

  for (let seat = 1; seat <= 10; seat++) {
    const tablet = await seated(server.app, session, seat);
    await tablet.ok('POST', '/api/seat/consent', YES);
    const view = await tablet.call<SeatView>('GET', '/api/seat');
    const [tray] = view.body.trays;
    if (!tray) throw new Error('a seat has a tray');
    const told = seat === 1 ? { swallowing: 'spat' } : seat === 2 ? {} : { swallowing: 'swallowed' };
    const ballot = ballotFor(tray, tray.servings[0]?.code ?? '', told);
    expect((await tablet.call('POST', '/api/seat/ballots', ballot)).status).toBe(200);
    // Sent again, as a tablet does that heard nothing: the same.
    expect((await tablet.call('POST', '/api/seat/ballots', ballot)).status).toBe(200);
    expect((await tablet.call('POST', '/api/seat/ballots', { ...ballot, swallowing: 'gulped' })).status).toBe(
      400,
    );
    expect(view.text).not.toMatch(/quartzlike/);
  }
  for (const path of [
    `/api/sessions/${session.id}`,
    `/api/sessions/${session.id}/board`,
    `/api/trials/${trial.id}`,
  ])
    expect((await host.caller.call('GET', path)).text).not.toMatch(/quartzlike|swallowing/);

  await moved(host, session, 'close', 'reveal');
  expect((await note(steward, session, SEEN)).status).toBe(409);
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  const said = caveatsOf(result);
  expect(said).toContainEqual(
    expect.stringMatching(
      /looked different in the cups \(Warmvessel is quartzlike\)\. Without masking light/,
    ),
  );
  expect(said).toContainEqual(expect.stringMatching(/8 were swallowed, 1 spat and 0 some of each/));

  // One person of ten who spat is not for readers, nor words that name an arm.
  const { address } = await publish(host, { trial, session, receipts: [], tablets: [] });
  const { publication } = await host.caller.ok<PublishedView>('GET', `/api/p/${address}`);
  expect(caveatsOf(publication?.sessions[0])).toContainEqual(
    expect.stringMatching(/looked different in the cups\./),
  );
  expect(JSON.stringify(publication)).not.toMatch(/quartzlike|spat and/);
  expect(caveatsOf(publication?.sessions[0])).toContainEqual(
    expect.stringMatching(/^Whether the cups were swallowed or spat was told and is withheld/),
  );
});

test('readers are told how many swallowed and how many spat where each is several of many', async () => {
  const trial = await newTrial(host);
  const session = await moved(
    host,
    await draft(host, trial, { assessors: 10, spareSeats: 0 }),
    'seal',
    'open',
  );
  for (let seat = 1; seat <= 10; seat++) {
    const tablet = await seated(server.app, session, seat);
    await tablet.ok('POST', '/api/seat/consent', YES);
    const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
    const [tray] = trays;
    if (!tray) throw new Error('a seat has a tray');
    const swallowing = seat <= 4 ? 'spat' : 'swallowed';
    await tablet.ok(
      'POST',
      '/api/seat/ballots',
      ballotFor(tray, tray.servings[0]?.code ?? '', { swallowing }),
    );
  }
  const revealed = await moved(host, session, 'close', 'reveal');
  const { address } = await publish(host, { trial, session: revealed, receipts: [], tablets: [] });
  const { publication } = await host.caller.ok<PublishedView>('GET', `/api/p/${address}`);
  const said = caveatsOf(publication?.sessions[0]);
  expect(said).toContainEqual(expect.stringMatching(/6 were swallowed, 4 spat and 0 some of each/));
  expect(said.join(' ')).not.toMatch(/withheld: so few did otherwise/);
  // Counts, and nothing that goes with a person.
  expect(JSON.stringify(publication)).not.toContain('"swallowing"');
});
