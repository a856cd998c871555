import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { SafetyFacts } from '@oddglass/shared/contracts/safety.ts';
import type { SeatTaken, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { beforeAll, describe, expect, test } from 'vitest';
import { ballotFor, fitFacts, trialInput } from '../support/factories.ts';
import {
  Caller,
  draft,
  invited,
  moved,
  newTrial,
  seated,
  strangeHost,
  usePanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';

let server: TestServer;
let host: Hosted;
let steward: Hosted;
const today = '2031-03-04';

usePanel((panel) => ({ server, host } = panel));
beforeAll(async () => {
  steward = await invited(host, 'steward', 'Pourer');
});

const facts = (change: Partial<SafetyFacts> = {}) => fitFacts(today, change);
const note = (who: Caller, trial: TrialView, arm: number, change: Partial<SafetyFacts>) =>
  who.call<TrialView & ProblemDocument>(
    'POST',
    `/api/trials/${trial.id}/arms/${trial.arms[arm]?.id}/safety`,
    facts(change),
  );
const open = (session: SessionView, body: unknown = {}) =>
  host.caller.call<SessionView & ProblemDocument>('POST', `/api/sessions/${session.id}/open`, body);
/** A sealed evening on beer without alcohol. */
const sealedWithout = async (): Promise<{ trial: TrialView; session: SessionView }> => {
  const { arms } = trialInput();
  const trial = await newTrial(host, { arms: arms.map((arm) => ({ ...arm, abv: 0.4 })) });
  return { trial, session: await moved(host, await draft(host, trial), 'seal') };
};

describe('the gate before a tasting', () => {
  test('stays shut while nobody has looked at an arm, and says which and why', async () => {
    const trial = await host.caller.ok<TrialView>('POST', `/api/panels/${host.panel}/trials`, trialInput());
    expect(trial.arms.map(({ safety }) => safety)).toEqual([null, null]);
    const session = await moved(host, await draft(host, trial), 'seal');
    await note(host.caller, trial, 0, {});
    const refused = await open(session);
    expect(refused.status).toBe(409);
    expect(refused.body.type).toMatch(/unsafe-to-taste$/);
    expect(refused.body.errors).toEqual([
      {
        pointer: `#/arms/${trial.arms[1]?.id}`,
        detail: expect.stringMatching(/^Warmvessel: .*look at it first/),
      },
    ]);
    expect((await host.caller.ok<SessionView>('GET', `/api/sessions/${session.id}`)).state).toBe('sealed');
    await note(host.caller, trial, 1, {});
    expect((await open(session)).status).toBe(200);
  });

  test.each([
    ['mould', { mould: true }, 409, 409],
    ['mould unknown', { mould: null }, 409, 409],
    ['above pH 4.6', { ph: 4.61 }, 409, 409],
    ['pH 4.3', { ph: 4.3 }, 409, 200],
    ['pH 4.0', { ph: 4 }, 409, 200],
    ['pH 3.99', { ph: 3.99 }, 200, 200],
    ['pH 3.5 of a meter never calibrated', { ph: 3.5, meterCalibratedOn: null }, 409, 409],
    ['stood warm', { stoodWarm: true }, 409, 409],
    ['stood warm, perhaps', { stoodWarm: null }, 409, 409],
  ] as const)('without alcohol, %s', async (_, change, tasted, smelled) => {
    for (const [smellOnly, status] of [
      [false, tasted],
      [true, smelled],
    ] as const) {
      const { trial, session } = await sealedWithout();
      await note(host.caller, trial, 1, change);
      const answer = await open(session, { smellOnly });
      expect(answer.status).toBe(status);
      if (status === 200) expect(answer.body.smellOnly).toBe(smellOnly);
    }
  });

  test('looks again when the last look is two days old', async () => {
    const trial = await newTrial(host);
    const session = await moved(host, await draft(host, trial), 'seal');
    server.clock.now = new Date('2031-03-06T18:00:00Z');
    try {
      expect((await open(session)).status).toBe(409);
      await note(host.caller, trial, 0, {});
      await note(host.caller, trial, 1, {});
      expect((await open(session)).status).toBe(200);
    } finally {
      server.clock.now = new Date('2031-03-04T18:00:00Z');
    }
  });

  test('takes facts from hosts and stewards of the panel, keeps the newest, and refuses nonsense', async () => {
    const trial = await newTrial(host);
    const seen = await note(steward.caller, trial, 0, { mould: true });
    expect(seen.status).toBe(200);
    expect(seen.body.arms[0]?.safety).toMatchObject({ mould: true, writtenBy: 'Pourer' });
    const again = await note(host.caller, trial, 0, {});
    expect(again.body.arms[0]?.safety).toMatchObject({ mould: false, writtenBy: 'Host' });
    expect((await note(host.caller, trial, 0, { ph: 41 })).status).toBe(400);
    const other = await newTrial(host);
    const path = `/api/trials/${trial.id}/arms/${other.arms[0]?.id}/safety`;
    expect((await host.caller.call('POST', path, facts())).status).toBe(404);
    const stranger = await strangeHost(host);
    expect((await note(stranger.caller, trial, 0, {})).status).toBe(404);
    expect((await note(new Caller(server.app), trial, 0, {})).status).toBe(401);
  });
});

describe('mould found while people taste', () => {
  test('stops the tasting for newcomers, tells the seats, takes their answers still, and is told after', async () => {
    const trial = await newTrial(host);
    const session = await moved(host, await draft(host, trial), 'seal', 'open');
    const early = await seated(server.app, session, 1);
    const waiting = new Caller(server.app);
    const { seatToken } = await waiting.ok<SeatTaken>('POST', '/api/join/seat', {
      code: session.join?.code,
      seat: 2,
    });
    await note(steward.caller, trial, 1, { mould: true });

    const after = await host.caller.ok<SessionView>('GET', `/api/sessions/${session.id}`);
    expect(after.stoppedAt).toBe(server.clock.now.toISOString());
    const view = await early.ok<SeatView>('GET', '/api/seat');
    expect(view.session.stopped).toBe(true);
    const late = await waiting.call<ProblemDocument>('POST', '/api/join/seat', {
      code: session.join?.code,
      seat: 3,
    });
    expect(late.status).toBe(409);
    const confirmed = await new Caller(server.app, seatToken).call<ProblemDocument>(
      'POST',
      '/api/seat/cautions',
      {},
    );
    expect(confirmed.status).toBe(409);
    // Which arm it is, would tell people what they have before them.
    for (const told of [late.text, confirmed.text, JSON.stringify(view)])
      expect(told).not.toMatch(/Warmvessel|Coolvessel/);

    // What was tasted before still counts.
    const [tray] = view.trays;
    if (!tray) throw new Error('a seat has a tray');
    const [cup] = tray.servings;
    expect((await early.call('POST', '/api/seat/ballots', ballotFor(tray, cup?.code ?? ''))).status).toBe(
      200,
    );

    await note(host.caller, trial, 1, {});
    expect((await host.caller.ok<SessionView>('GET', `/api/sessions/${session.id}`)).stoppedAt).toBeNull();
    await note(host.caller, trial, 1, { mould: true });
    await moved(host, session, 'close', 'reveal');
    const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
    expect(result.parts[0]?.caveats.map(({ text }) => text)).toContainEqual(
      expect.stringMatching(/^The tasting was stopped/),
    );
  });

  test('is not taken from an old look: a tasting that lasts for days goes on when another arm is noted', async () => {
    const trial = await newTrial(host);
    const session = await moved(host, await draft(host, trial), 'seal', 'open');
    try {
      await note(host.caller, trial, 0, {});
      server.clock.now = new Date('2031-03-06T18:00:00Z');
      await note(host.caller, trial, 1, { phOn: null, ph: null });
      const after = await host.caller.ok<SessionView>('GET', `/api/sessions/${session.id}`);
      expect(after.stoppedAt).toBeNull();
    } finally {
      server.clock.now = new Date('2031-03-04T18:00:00Z');
    }
  });

  test('found at the moment of opening is either judged by it or stops it', async () => {
    for (let round = 0; round < 10; round++) {
      const trial = await newTrial(host);
      const session = await moved(host, await draft(host, trial), 'seal');
      const [opened] = await Promise.all([open(session), note(steward.caller, trial, 1, { mould: true })]);
      const after = await host.caller.ok<SessionView>('GET', `/api/sessions/${session.id}`);
      expect(opened.status === 200 ? after.stoppedAt !== null : after.state === 'sealed').toBe(true);
    }
  });

  test('keeps cups of that arm from being poured, and no others', async () => {
    const trial = await newTrial(host);
    const session = await moved(host, await draft(host, trial), 'seal');
    await note(steward.caller, trial, 1, { mould: true });
    const pour = await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`);
    const tick = (arm: string) =>
      steward.caller.call('POST', `/api/sessions/${session.id}/pour/ticks`, {
        servingIds: pour.samples.find((sample) => sample.arm === arm)?.cups.map(({ servingId }) => servingId),
        poured: true,
      });
    expect((await tick('Warmvessel')).status).toBe(409);
    expect((await tick('Coolvessel')).status).toBe(200);
  });
});

test('smelled only: seats know from the start, and the result says so', async () => {
  const { session } = await sealedWithout();
  const opened = await open(session, { smellOnly: true });
  const tablet = await seated(server.app, opened.body, 1);
  const view = await tablet.ok<SeatView>('GET', '/api/seat');
  expect(view.session).toMatchObject({ smellOnly: true, stopped: false });
  const [tray] = view.trays;
  if (!tray) throw new Error('a seat has a tray');
  await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, tray.servings[0]?.code ?? ''));
  await moved(host, session, 'close', 'reveal');
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  expect(result.session.smellOnly).toBe(true);
  expect(result.parts[0]?.caveats.map(({ text }) => text)).toContainEqual(
    expect.stringMatching(/^Smelled only/),
  );
});
