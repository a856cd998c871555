import type { Cautions, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { spikeText } from '@oddglass/shared/vocabulary/spike-cups.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { Caller, moved, seated, type Hosted, type TestServer } from '../support/app.ts';
import { expectProblem } from '../support/publishing.ts';

import {
  chosen,
  cupOf,
  liking,
  openTable,
  planned,
  pourOf,
  send,
  spikedOf,
  told,
} from '../support/spiking.ts';

// Spiked samples: told before they are sealed, and told to everybody without a cup.

let server: TestServer;
let host: Hosted;
let trial: TrialView;

beforeAll(async () => {
  ({ server, host, trial } = await openTable());
});
afterAll(() => server.close());

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
