import type { LikingPart, SampleInput } from '@oddglass/shared/contracts/part.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { Cautions, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { VocabularyView } from '@oddglass/shared/contracts/vocabulary.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import { spikeCups, spikeText, type SpikeCup } from '@oddglass/shared/vocabulary/spike-cups.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  invited,
  moved,
  newTrial,
  seated,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotId } from '../support/factories.ts';
import { expectProblem, publishing, YES } from '../support/publishing.ts';

// Spiked samples: told before they are sealed, told to everybody without a cup, checked by a second person before they are
// poured, and told in the result where nobody did.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let second: Hosted;
let trial: TrialView;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Stella');
  second = await invited(host, 'steward', 'Sigrid');
  trial = await newTrial(host);
});
afterAll(() => server.close());

const told: Partial<SampleInput> = { spikeAbv: 'none', spikeAllergens: [] };

function liking(of: TrialView, ...spiked: Partial<SampleInput>[]): LikingPart {
  const arms = of.arms.map(({ id }): SampleInput => ({ armId: id, role: 'sample', spike: null }));
  return {
    kind: 'liking',
    cups: 'own',
    samples: [
      ...arms,
      ...spiked.map((facts): SampleInput => ({
        armId: arms[0]!.armId,
        role: 'spiked',
        spike: 'syrup',
        ...facts,
      })),
    ],
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
  };
}

const planned = (part: LikingPart, of = trial, by = host): Promise<SessionView> =>
  draft(by, of, { assessors: 3, spareSeats: 0, parts: [part] });

const send = (...spiked: Partial<SampleInput>[]) =>
  host.caller.call<ProblemDocument>('POST', `/api/trials/${trial.id}/sessions`, {
    title: 'An evening',
    assessors: 3,
    spareSeats: 0,
    cupMl: 40,
    restSeconds: 0,
    masking: false,
    servingNote: '',
    parts: [liking(trial, ...spiked)],
  });

async function cupOf(id: string, own: number | null = null, by = host): Promise<SpikeCup> {
  const { vocabulary } = await by.caller.ok<VocabularyView>('GET', `/api/panels/${by.panel}/vocabulary`);
  return spikeCups(vocabulary).find(({ reference }) => reference.wordId === id && reference.own === own)!;
}

const chosen = (cup: SpikeCup): Partial<SampleInput> => ({
  spike: spikeText(cup),
  spikeDose: cup.dose,
  spikeReference: cup.reference,
  spikeAllergens: cup.allergens ?? [],
});

const pourOf = (session: SessionView, by = steward): Promise<PourView> =>
  by.caller.ok('GET', `/api/sessions/${session.id}/pour`);
const spikedOf = (pour: PourView) => pour.samples.filter(({ spike }) => spike !== null);
const eventsOf = async (session: SessionView): Promise<number> => {
  const { rows } = await server.database.pool.query<{ events: number }>(
    'select count(*)::int as events from session_event where session_id = $1',
    [session.id],
  );
  return rows[0]?.events ?? 0;
};
const note = (session: SessionView, sampleId: string | undefined, by = steward) =>
  by.caller.call<ProblemDocument>('POST', `/api/sessions/${session.id}/pour/dilutions`, {
    sampleId,
    amount: '2.9 mL',
    volumeMl: 120,
  });
const check = (
  session: SessionView,
  sampleId: string | undefined,
  by: string,
  who = steward,
  measurement?: number,
) =>
  pourOf(session).then((pour) =>
    who.caller.call<ProblemDocument>('POST', `/api/sessions/${session.id}/pour/dilutions/check`, {
      sampleId,
      measurement: measurement ?? pour.samples.find(({ id }) => id === sampleId)?.dilution?.measurement,
      by,
    }),
  );
const tick = (session: SessionView, servingIds: string[], poured = true, by = steward) =>
  by.caller.call<ProblemDocument>('POST', `/api/sessions/${session.id}/pour/ticks`, { servingIds, poured });

describe('what is told of a spike', () => {
  test('silence is refused at its field; none and unknown are taken', async () => {
    const at = '#/parts/0/samples/2';
    expect(expectProblem(await send({}), 'invalid-input', 400)).toEqual([
      `${at}/spikeAbv`,
      `${at}/spikeAllergens`,
    ]);
    expect(expectProblem(await send({ ...told, spikeAbv: 70 }), 'invalid-input', 400)).toEqual([
      `${at}/spikeAbv`,
    ]);
    for (const facts of [
      told,
      { spikeAbv: null, spikeAllergens: null },
      { spikeAbv: 7, spikeAllergens: ['milk' as const] },
    ]) {
      expect((await send(facts)).status).toBe(200);
    }
  });

  test('a draft from before it was asked opens, and is not sealed before it is told', async () => {
    const session = await planned(liking(trial, told));
    const at = ['parts', '0', 'samples', '2'];
    await server.database.pool.query('update session set settings = settings #- $2 #- $3 where id = $1', [
      session.id,
      [...at, 'spikeAbv'],
      [...at, 'spikeAllergens'],
    ]);
    const kept = await host.caller.ok<SessionView>('GET', `/api/sessions/${session.id}`);
    expect(kept.settings.parts).toEqual([liking(trial, {})]);
    const sealing = await host.caller.call('POST', `/api/sessions/${session.id}/seal`);
    expect(expectProblem(sealing, 'invalid-input', 400)).toEqual(['#/parts/0/samples/2/spikeAbv']);
  });

  test('a session sealed before it was asked is read, poured and tasted, with what nobody told as unknown', async () => {
    const sealed = await moved(host, await planned(liking(trial, told)), 'seal');
    const at = ['parts', '0', 'samples', '2'];
    await server.database.pool.query('update session set settings = settings #- $2 #- $3 where id = $1', [
      sealed.id,
      [...at, 'spikeAbv'],
      [...at, 'spikeAllergens'],
    ]);
    expect(spikedOf(await pourOf(sealed))).toMatchObject([
      { allergens: ['gluten'], allergensUnknown: true, dose: null, recipe: null, dilution: null },
    ]);
    const open = await moved(host, sealed, 'open');
    const { session } = await (await seated(server.app, open, 1)).ok<SeatView>('GET', '/api/seat');
    expect(session.cautions).toMatchObject({
      allergens: ['gluten', 'sulphites'],
      allergensUnknown: true,
      ethanolGrams: null,
    });
  });

  test('one bottle told in two ways over two parts is refused', async () => {
    const parts = [liking(trial, told), liking(trial, { ...told, spikeAllergens: ['egg'] })];
    const answer = await host.caller.call('POST', `/api/trials/${trial.id}/sessions`, {
      ...(await planned(liking(trial))).settings,
      parts,
    });
    expect(expectProblem(answer, 'invalid-input', 400)).toEqual(['#/parts/1/samples/2/spike']);
  });
});

describe('a spike chosen from a reference cup', () => {
  test('brings dose, recipe, alcohol and allergens along, united for everybody and told of no cup', async () => {
    const [nutty, warming] = [await cupOf('nutty'), await cupOf('warming')];
    const sealed = await moved(host, await planned(liking(trial, chosen(nutty), chosen(warming))), 'seal');
    const pour = await pourOf(sealed);
    const nuts = pour.samples.find(({ spike }) => spike === spikeText(nutty));
    expect(nuts).toMatchObject({
      allergens: ['gluten', 'nuts'],
      allergensUnknown: false,
      dose: { amount: 15, unit: 'g', perMl: 500 },
      recipe: { how: nutty.reference.how, caution: nutty.reference.caution },
    });
    const open = await moved(host, sealed, 'open');
    const tablet = await seated(server.app, open, 1);
    const view = await tablet.call<SeatView>('GET', '/api/seat');
    const { cautions } = view.body.session;
    // 30 mL of 40 % in 470 mL of 4.1 %: (12 + 19.27) / 500, for each of four cups.
    const strongest = (100 * (30 * 0.4 + 470 * 0.041)) / 500;
    expect(cautions).toEqual({
      allergens: ['gluten', 'nuts', 'sulphites'],
      allergensUnknown: false,
      ethanolGrams: expect.closeTo((4 * 40 * strongest * 0.789) / 100, 9),
      cups: 4,
      cupMl: 40,
    } satisfies Cautions);
    // The words to choose from name nuts and spirits, as they do in every session.
    const { words: _words, ...asked } = view.body;
    expect(JSON.stringify(asked)).not.toMatch(/hazelnut|vodka|nutty|warming|spike/i);
    const offer = await new Caller(server.app).call('POST', '/api/join', { code: open.join?.code });
    expect(offer.text).not.toMatch(/hazelnut|vodka|nutty|warming|spike/i);
  });

  test('has to be as the vocabulary has it, when it is sent and when it is sealed', async () => {
    const nutty = await cupOf('nutty');
    const pointer = '#/parts/0/samples/2/spikeReference';
    for (const change of [
      { spikeAllergens: [] },
      { spikeDose: { ...nutty.dose, amount: 1500 } },
      { spikeReference: { ...nutty.reference, wordId: 'no-such-word' } },
    ]) {
      expect(expectProblem(await send({ ...chosen(nutty), ...change }), 'invalid-input', 400)).toEqual([
        pointer,
      ]);
    }
    const session = await planned(liking(trial, chosen(nutty)));
    await server.database.pool.query(
      'update session set settings = jsonb_set(settings, $2, $3) where id = $1',
      [session.id, ['parts', '0', 'samples', '2', 'spikeReference', 'how'], JSON.stringify('Steep walnuts.')],
    );
    const sealing = await host.caller.call('POST', `/api/sessions/${session.id}/seal`);
    expect(expectProblem(sealing, 'invalid-input', 400)).toEqual([pointer]);
  });

  test("is offered from the panel's own; what one does not tell has to be told, and no refused substance comes in by it", async () => {
    const change = async (onVersion: number, reference: object) =>
      host.caller.ok('POST', `/api/panels/${host.panel}/vocabulary/changes`, {
        onVersion,
        change: { kind: 'reference-added', id: 'smoke', reference },
      });
    const dose = { amount: 10, unit: 'mL', per: '1 litre of the beer' };
    await change(0, { how: 'Stir in the house syrup.', dose, caution: 'Sweet.', allergens: [] });
    await change(1, {
      how: 'Stir in a trace of ethanethiol.',
      dose,
      caution: 'Sweet.',
      allergens: [],
      abv: 0,
    });
    const own = await cupOf('smoke', 0);
    expect(own.dose).toEqual({ amount: 10, unit: 'mL', perMl: 1000 });
    const { spikeAllergens: _none, ...silent } = chosen(own);
    expect(expectProblem(await send(silent), 'invalid-input', 400)).toEqual([
      '#/parts/0/samples/2/spikeAbv',
      '#/parts/0/samples/2/spikeAllergens',
    ]);
    expect((await send({ ...silent, spikeAbv: null, spikeAllergens: null })).status).toBe(200);
    // It is not offered; sent all the same, as the vocabulary has it, it is refused for what it is.
    expect(await cupOf('smoke', 1)).toBeUndefined();
    const stench = { ...own.reference, own: 1, how: 'Stir in a trace of ethanethiol.', abv: 0 };
    const answer = await send({ ...silent, ...told, spikeReference: stench });
    expect(answer.body.errors?.[0]?.detail).toMatch(/^Never add mercaptans to a cup: /);
  });
});

describe('a dilution', () => {
  test('is confirmed by another account before a cup of it is ticked, and no event tells of it', async () => {
    const sealed = await moved(host, await planned(liking(trial, told)), 'seal');
    const pour = await pourOf(sealed);
    const [spiked] = spikedOf(pour);
    const plain = pour.samples.find(({ spike }) => spike === null)!;
    const cups = spiked!.cups.map(({ servingId }) => servingId);
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

/** Another panel of the same host, with one steward of its own. */
async function firstPanel(name: string): Promise<{ host: Hosted; steward: Hosted }> {
  const { id } = await host.caller.ok<{ id: string }>('POST', '/api/panels', { name: 'A cellar' });
  const there = { caller: host.caller, panel: id };
  return { host: there, steward: await invited(there, 'steward', name) };
}
