import type { SampleInput } from '@oddglass/shared/contracts/part.ts';
import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { Caller, moved, newTrial, seated, type Hosted, type TestServer } from '../support/app.ts';
import { ballotId } from '../support/factories.ts';
import { expectProblem, publishing, YES } from '../support/publishing.ts';

import {
  check,
  eventsOf,
  firstPanel,
  liking,
  note,
  openTable,
  planned,
  pourOf,
  spikedOf,
  tick,
  told,
} from '../support/spiking.ts';

// Spiked samples are checked by a second person before they are poured, and the result tells where nobody did.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let second: Hosted;
let trial: TrialView;

beforeAll(async () => {
  ({ server, host, steward, second, trial } = await openTable());
});
afterAll(() => server.close());

describe('a dilution', () => {
  test('is confirmed by another account before a cup of it is ticked, and no event tells of it', async () => {
    const sealed = await moved(host, await planned(liking(trial, told)), 'seal');
    const pour = await pourOf(sealed);
    const [spiked] = spikedOf(pour);
    const plain = pour.samples.find(({ spike }) => spike === null)!;
    const cups = spiked!.cups.map(({ servingId }) => servingId);
    // That both opened the key is told; nothing of what follows is.
    await pourOf(sealed, second);
    const events = await eventsOf(sealed);
    expect(pour.othersWithKey).toEqual(['Sigrid']);

    expectProblem(await tick(sealed, cups.slice(0, 1)), 'dilution-unchecked', 409);
    // One such cup among others holds all of them back.
    const mixed = [plain.cups[0]!.servingId, cups[0]!];
    expectProblem(await tick(sealed, mixed), 'dilution-unchecked', 409);
    expect((await note(sealed, spiked?.id)).body).toEqual({ ok: true });
    expectProblem(await tick(sealed, cups), 'dilution-unchecked', 409);
    expect(spikedOf(await pourOf(sealed))[0]?.dilution).toMatchObject({
      amount: '2.9 mL',
      volumeMl: 120,
      measuredBy: 'Stella',
      byYou: true,
      standing: 'waiting',
      settledBy: null,
    });
    // Whoever measured is not the second person, and others have the key.
    expectProblem(await check(sealed, spiked?.id, 'second'), 'second-person-needed', 409);
    expectProblem(await check(sealed, spiked?.id, 'alone'), 'second-person-needed', 409);
    expectProblem(await tick(sealed, cups), 'dilution-unchecked', 409);
    expect((await pourOf(sealed, second)).samples.find(({ id }) => id === spiked?.id)?.dilution?.byYou).toBe(
      false,
    );
    expect(expectProblem(await check(sealed, spiked?.id, 'alone', second), 'invalid-input', 400)).toEqual([
      '#/by',
    ]);
    expect(await eventsOf(sealed)).toBe(events);

    expect((await check(sealed, spiked?.id, 'second', second)).body).toEqual({ ok: true });
    // Sent again it counts once.
    expect((await check(sealed, spiked?.id, 'second', second)).body).toEqual({ ok: true });
    expect(spikedOf(await pourOf(sealed))[0]?.dilution).toMatchObject({
      standing: 'checked',
      settledBy: 'Sigrid',
    });
    expect(await eventsOf(sealed)).toBe(events);
    expect((await tick(sealed, cups)).body).toEqual({ poured: cups.length });
    const { rows } = await server.database.pool.query<{ kind: string; name: string }>(
      'select kind, name from dilution_step join account on account.id = dilution_step.by where session_id = $1 order by dilution_step.id',
      [sealed.id],
    );
    expect(rows.map(({ kind, name }) => `${kind} ${name}`)).toEqual(['measured Stella', 'checked Sigrid']);
  });

  test('measured anew is checked anew; ticks can be taken back meanwhile, and an older look does not count', async () => {
    const sealed = await moved(host, await planned(liking(trial, told)), 'seal');
    const [spiked] = spikedOf(await pourOf(sealed));
    const [first, ...others] = spiked!.cups.map(({ servingId }) => servingId);
    await note(sealed, spiked?.id);
    const looked = spikedOf(await pourOf(sealed))[0]!.dilution!.measurement;
    await check(sealed, spiked?.id, 'second', second);
    expect((await tick(sealed, [first!])).status).toBe(200);
    await note(sealed, spiked?.id, second);
    expectProblem(await tick(sealed, others), 'dilution-unchecked', 409);
    expect((await tick(sealed, [first!], false)).body).toEqual({ poured: 0 });
    const stale = await check(sealed, spiked?.id, 'second', steward, looked);
    expect(expectProblem(stale, 'invalid-input', 400)).toEqual(['#/measurement']);
    expect((await check(sealed, spiked?.id, 'second', steward)).status).toBe(200);
    expect((await tick(sealed, others)).status).toBe(200);
  });

  test('is nothing for a host without the key, a plain bottle, another session, or after the close', async () => {
    const sealed = await moved(host, await planned(liking(trial, told)), 'seal');
    const pour = await pourOf(sealed);
    const [spiked] = spikedOf(pour);
    expectProblem(await note(sealed, spiked?.id, host), 'key-closed', 403);
    await note(sealed, spiked?.id);
    expectProblem(await check(sealed, spiked?.id, 'second', host), 'key-closed', 403);
    const plain = pour.samples.find(({ spike }) => spike === null);
    expect(expectProblem(await note(sealed, plain?.id), 'invalid-input', 400)).toEqual(['#/sampleId']);
    const other = await moved(host, await planned(liking(trial, told)), 'seal');
    expect(expectProblem(await note(other, spiked?.id), 'invalid-input', 400)).toEqual(['#/sampleId']);
    await moved(host, sealed, 'open', 'close');
    expectProblem(await note(sealed, spiked?.id), 'wrong-state', 409);
    expectProblem(await check(sealed, spiked?.id, 'second', second), 'wrong-state', 409);
  });

  test('by a host who took the key is confirmed by a steward', async () => {
    const sealed = await moved(host, await planned(liking(trial, told)), 'seal', 'take-key');
    const [spiked] = spikedOf(await pourOf(sealed));
    expect((await pourOf(sealed, host)).othersWithKey.sort()).toEqual(['Sigrid', 'Stella']);
    await note(sealed, spiked?.id, host);
    expect((await check(sealed, spiked?.id, 'second', steward)).status).toBe(200);
  });
});

describe('what is told afterwards', () => {
  /** Three people like what they get; pouring is as `dilute` has it. */
  async function evening(
    by: Hosted,
    of: TrialView,
    spiked: Partial<SampleInput>[],
    dilute: (session: SessionView) => Promise<void>,
  ): Promise<{ session: SessionView; result: ResultDocument }> {
    const open = await moved(by, await planned(liking(of, ...spiked), of, by), 'seal', 'open');
    await dilute(open);
    for (const seat of [1, 2, 3]) {
      const tablet = await seated(server.app, open, seat);
      await tablet.ok('POST', '/api/seat/consent', YES);
      const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
      for (const tray of trays) {
        for (const [at, { part, sheet, codes }] of tray.sheets.entries()) {
          const answer = { kind: 'liking', code: codes[0], value: 3 + ((at + seat) % 5) };
          await tablet.ok('POST', '/api/seat/ballots', {
            id: ballotId(),
            trayId: tray.id,
            part,
            sheet,
            answer,
            comment: '',
          });
        }
      }
    }
    const session = await moved(by, open, 'close', 'reveal');
    return {
      session,
      result: await by.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`),
    };
  }
  const servingCaveats = (result: ResultDocument) =>
    result.parts[0]!.caveats.filter(({ from }) => from === 'serving').map(({ text }) => text);

  test('a dilution that a second person checked is nothing to tell; one that nobody recorded is', async () => {
    const checked = await evening(host, trial, [told], async (session) => {
      const [spiked] = spikedOf(await pourOf(session));
      await note(session, spiked?.id);
      await check(session, spiked?.id, 'second', second);
    });
    expect(servingCaveats(checked.result)).toEqual([]);
    const silent = await evening(host, trial, [told], async () => undefined);
    expect(servingCaveats(silent.result)).toEqual([
      'Whether a second person checked the dilution was not recorded.',
    ]);
  });

  test('going on alone is recorded, told in result, publication and package, and names nobody', async () => {
    // A panel with one steward.
    const cellar = await firstPanel('Solveig');
    const own = await newTrial(cellar.host);
    const { session, result } = await evening(
      cellar.host,
      own,
      [told, { spike: 'brittle', spikeAbv: null, spikeAllergens: null }],
      async (open) => {
        const pour = await pourOf(open, cellar.steward);
        expect(pour.othersWithKey).toEqual([]);
        for (const { id, cups } of spikedOf(pour)) {
          await note(open, id, cellar.steward);
          const [{ measurement } = { measurement: 0 }] = spikedOf(await pourOf(open, cellar.steward)).flatMap(
            (sample) => (sample.id === id && sample.dilution ? [sample.dilution] : []),
          );
          const body = { sampleId: id, measurement, by: 'alone' };
          expectProblem(
            await cellar.steward.caller.call('POST', `/api/sessions/${open.id}/pour/dilutions/check`, {
              ...body,
              by: 'second',
            }),
            'second-person-needed',
            409,
          );
          await cellar.steward.caller.ok('POST', `/api/sessions/${open.id}/pour/dilutions/check`, body);
          const servings = cups.map(({ servingId }) => servingId);
          expect((await tick(open, servings, true, cellar.steward)).status).toBe(200);
        }
      },
    );
    const sentence = /^The dilution of 2 of 2 spiked samples was not checked by a second person/;
    expect(servingCaveats(result)).toEqual([expect.stringMatching(sentence)]);

    const { address } = await cellar.host.caller.ok<{ address: string }>(
      'POST',
      `/api/trials/${own.id}/publications`,
      {
        ...publishing(own, [session]),
        agreeSmall: true,
      },
    );
    const read = await new Caller(server.app).call<PublishedView>('GET', `/api/p/${address}`);
    const { publication } = read.body;
    expect(publication?.cautions).toEqual({ allergens: ['gluten', 'sulphites'], allergensUnknown: true });
    expect(publication?.sessions[0]?.parts[0]?.caveats.map(({ text }) => text)).toEqual(
      expect.arrayContaining([expect.stringMatching(sentence)]),
    );
    const zip = await server.app.inject({ method: 'GET', url: `/api/p/${address}/package.zip` });
    const files = unzipPackage(zip.rawPayload);
    const readme = new TextDecoder().decode(files.find(({ path }) => path === 'README.md')?.bytes);
    expect(readme).toMatch(/not checked by a second person/);
    expect(readme).toMatch(/cereals with gluten and sulphites\. Of something that was added nobody knew/);
    for (const text of [read.text, ...files.map(({ bytes }) => new TextDecoder().decode(bytes))]) {
      expect(text).not.toMatch(/Solveig|2\.9 mL/);
    }
  });

  test('others who have the key and are not there are said to be so', async () => {
    const { result } = await evening(host, trial, [told], async (session) => {
      const [spiked] = spikedOf(await pourOf(session));
      await note(session, spiked?.id);
      expect((await check(session, spiked?.id, 'others-absent')).status).toBe(200);
      expect(spikedOf(await pourOf(session))[0]?.dilution?.standing).toBe('others-absent');
    });
    expect(servingCaveats(result)).toEqual([
      expect.stringMatching(/^The dilution was not checked by a second person/),
    ]);
  });
});
