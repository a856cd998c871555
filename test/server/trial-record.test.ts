import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { PublicationView } from '@oddglass/shared/contracts/publishing.ts';
import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import { armMaking } from '@oddglass/shared/contracts/making.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { ArmView, TrialView } from '@oddglass/shared/contracts/trial.ts';
import { beforeAll, describe, expect, test } from 'vitest';
import {
  draft,
  moved,
  newTrial,
  strangeHost,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { guests, playedEvening, publish } from '../support/publishing.ts';

// The record of a trial: corrected with who and when, its liquid counted, its fairness asked about.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let stranger: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));
beforeAll(async () => {
  stranger = await strangeHost(host);
});

const of = (trial: { id: string }, path = ''): string => `/api/trials/${trial.id}${path}`;
const armNamed = (trial: TrialView, at: number): ArmView => trial.arms[at] as ArmView;
const read = (trial: { id: string }) => host.caller.ok<TrialView>('GET', of(trial));

describe('corrections', () => {
  test('are kept with what was there before, who and when, and change nothing that is the same', async () => {
    // A factor that names a field outright would be about it from the start.
    expect((await newTrial(host)).factorFields).toEqual(['temperatureC']);
    const trial = await newTrial(host, { factor: 'how warm it stood' });
    const change = {
      question: 'Which of the two goes on?',
      making: { recipe: 'Pale malt.', originalGravity: 1.05, batchMl: 20_000, hopped: null },
      factorFields: ['temperatureC'],
      title: trial.title,
    };
    const after = await host.caller.ok<TrialView>('PATCH', of(trial), change);
    expect(after).toMatchObject({ question: change.question, making: change.making });
    expect(after.changes.map(({ field, before, after }) => [field, before, after]).sort()).toEqual([
      ['batch, mL', 'unknown', '20000'],
      ['original gravity', 'unknown', '1.05'],
      ['question', trial.question, change.question],
      ['recipe', 'unknown', 'Pale malt.'],
      ['what the factor is about', 'not said', 'temperature'],
    ]);
    expect(new Set(after.changes.map(({ writtenBy }) => writtenBy))).toEqual(new Set(['Host']));
    const again = await host.caller.ok<TrialView>('PATCH', of(trial), change);
    expect(again.changes).toEqual(after.changes);
  });

  test('keep the original gravity as it was typed, with the specific gravity that goes with it', async () => {
    const trial = await newTrial(host);
    const typed = (value: number, unit: string) => ({
      making: { originalGravityTyped: { value, unit } },
    });
    const { making, changes } = await host.caller.ok<TrialView>('PATCH', of(trial), typed(12, 'plato'));
    // 1.0484: the usual formula at 12 degrees Plato, and the ASBC table to its fourth decimal (from memory).
    expect(making).toMatchObject({
      originalGravity: 1.0484,
      originalGravityTyped: { value: 12, unit: 'plato' },
    });
    expect(changes.map(({ after }) => after)).toEqual(['12 °P (SG 1.0484)']);
    // Twelve of specific gravity is a unit forgotten, and is not stored as anything.
    const refused = await host.caller.call<ProblemDocument>('PATCH', of(trial), typed(12, 'sg'));
    expect(refused).toMatchObject({
      status: 400,
      body: { errors: [{ pointer: '#/making/originalGravityTyped/value' }] },
    });
    expect((await read(trial)).making).toEqual(making);
  });

  test('of an arm tell each field, and an arm is copied with one thing changed', async () => {
    const trial = await newTrial(host);
    const first = armNamed(trial, 0);
    const making = armMaking.parse({ vessel: 'glass jar', temperatureC: 18 });
    const changed = await host.caller.ok<TrialView>('PATCH', of(trial, `/arms/${first.id}`), { making });
    expect(armNamed(changed, 0).making).toEqual(making);
    expect(changed.changes.map(({ arm, field, after }) => [arm, field, after]).sort()).toEqual([
      [first.name, 'temperature', '18 °C'],
      [first.name, 'vessel', 'glass jar'],
    ]);
    const copy = { name: 'Third', differs: 'held at 24', volumeMl: 900, abv: null, allergens: [] };
    const grown = await host.caller.ok<TrialView>('POST', of(trial, '/arms'), {
      ...copy,
      making: { ...making, temperatureC: 24 },
    });
    expect(grown.arms.map(({ name }) => name)).toEqual([...trial.arms.map(({ name }) => name), 'Third']);
    expect(armNamed(grown, 2)).toMatchObject({
      volumeMl: 900,
      making: { vessel: 'glass jar', temperatureC: 24 },
    });
    const twice = await host.caller.call<ProblemDocument>('POST', of(trial, '/arms'), copy);
    expect(twice).toMatchObject({ status: 400, body: { errors: [{ pointer: '#/name' }] } });
    for (let more = grown.arms.length; more < 8; more++)
      await host.caller.ok('POST', of(trial, '/arms'), { ...copy, name: `Arm ${more}` });
    expect((await host.caller.call('POST', of(trial, '/arms'), { ...copy, name: 'Ninth' })).status).toBe(400);
    expect((await read(trial)).arms).toHaveLength(8);
  });

  test('leave what a session sealed as it was sealed', async () => {
    const evening = await playedEvening(server, { host, steward }, guests(6));
    const { trialId } = await host.caller.ok<SessionView>('GET', `/api/sessions/${evening.session.id}`);
    const before = await read({ id: trialId });
    await host.caller.ok('PATCH', of({ id: trialId }), { title: 'Another title', factor: 'another factor' });
    const { session } = await host.caller.ok<ResultDocument>(
      'GET',
      `/api/sessions/${evening.session.id}/result`,
    );
    expect(session).toMatchObject({ trialTitle: before.title, factor: before.factor });
    const renamed = await host.caller.call('PATCH', of({ id: trialId }, `/arms/${armNamed(before, 0).id}`), {
      name: 'Renamed',
    });
    expect(renamed).toMatchObject({ status: 409, body: { type: '/problems/arm-sealed' } });
  });

  test('archive a trial and take it back; the panel tells it apart', async () => {
    const trial = await newTrial(host);
    const listed = async () =>
      (await host.caller.ok<PanelView>('GET', `/api/panels/${trial.panelId}`)).trials.find(
        ({ id }) => id === trial.id,
      );
    expect(await listed()).toMatchObject({ archived: false, finding: null });
    const archived = await host.caller.ok<TrialView>('PATCH', of(trial), { archived: true });
    expect(archived.archivedAt).not.toBeNull();
    expect(await listed()).toMatchObject({ archived: true });
    const back = await host.caller.ok<TrialView>('PATCH', of(trial), { archived: false });
    expect(back.archivedAt).toBeNull();
    expect(back.changes.map(({ field, after }) => [field, after])).toEqual([
      ['archived', 'no'],
      ['archived', 'yes'],
    ]);
  });

  test('are for hosts of the panel', async () => {
    const trial = await newTrial(host);
    const arm = armNamed(trial, 0).id;
    const tries: [string, string, object][] = [
      ['PATCH', '', { title: 'Mine now' }],
      ['POST', '/arms', { name: 'X', differs: 'x', volumeMl: 1, abv: null, allergens: [] }],
      ['POST', `/arms/${arm}/liquid`, { kind: 'loss', ml: 1 }],
      ['POST', '/fair-test', { finding: 'unknown vessel', grounds: [], answer: 'No.' }],
    ];
    for (const [method, path, body] of tries) {
      expect((await steward.caller.call(method, of(trial, path), body)).status, path).toBe(403);
      expect((await stranger.caller.call(method, of(trial, path), body)).status, path).toBe(404);
    }
    expect(await read(trial)).toEqual(trial);
  });
});

describe('the ledger', () => {
  const leftOf = (trial: TrialView, at = 0) => armNamed(trial, at).liquid;

  test('counts, losses and additions are lines of their own, and a count puts right what came before', async () => {
    const trial = await newTrial(host);
    const arm = armNamed(trial, 0);
    const note = (kind: string, ml: number, words = '') =>
      host.caller.ok<TrialView>('POST', of(trial, `/arms/${arm.id}/liquid`), { kind, ml, note: words });
    await note('loss', 100.5, 'yeast left behind');
    await note('added', 20);
    const after = leftOf(await note('counted', 3000));
    expect(after.lines.map(({ kind, ml, leftMl }) => [kind, ml, leftMl])).toEqual([
      ['filled', arm.volumeMl, arm.volumeMl],
      ['loss', 100.5, arm.volumeMl - 100.5],
      ['added', 20, arm.volumeMl - 80.5],
      ['counted', 3000, 3000],
    ]);
    expect(
      (await host.caller.call('POST', of(trial, `/arms/${arm.id}/liquid`), { kind: 'loss', ml: -1 })).status,
    ).toBe(400);
  });

  test('a sealed tasting holds back what its plan needs and nothing moves with a cup; the reveal says what was poured', async () => {
    const trial = await newTrial(host);
    const sealed = await moved(host, await draft(host, trial), 'seal');
    const held = await read(trial);
    expect(leftOf(held).reservedMl).toBeGreaterThan(0);
    expect(armNamed(held, 0).volumeMl).toBe(leftOf(held).leftMl - leftOf(held).reservedMl);
    const pour = await steward.caller.ok<{ samples: { cups: { servingId: string }[] }[] }>(
      'GET',
      `/api/sessions/${sealed.id}/pour`,
    );
    for (const { cups } of pour.samples.slice(0, 1)) {
      await steward.caller.ok('POST', `/api/sessions/${sealed.id}/pour/ticks`, {
        servingIds: cups.map(({ servingId }) => servingId),
        poured: true,
      });
    }
    expect((await read(trial)).arms.map(({ liquid }) => liquid)).toEqual(
      held.arms.map(({ liquid }) => liquid),
    );
    await moved(host, sealed, 'open', 'close', 'reveal');
    const after = await read(trial);
    const { settings } = await host.caller.ok<SessionView>('GET', `/api/sessions/${sealed.id}`);
    const taken = after.arms.map(({ liquid }) => liquid.lines.filter(({ kind }) => kind === 'poured'));
    expect(after.arms.map(({ liquid }) => liquid.reservedMl)).toEqual(after.arms.map(() => 0));
    // One bottle was ticked: of the other nothing was poured.
    expect(taken.flat().map(({ ml }) => ml)).toEqual([(pour.samples[0]?.cups.length ?? 0) * settings.cupMl]);
  });

  test('a count made after pouring and before the reveal holds what was poured already', async () => {
    const trial = await newTrial(host);
    const sealed = await moved(host, await draft(host, trial), 'seal');
    const pour = await steward.caller.ok<{ samples: { cups: { servingId: string }[] }[] }>(
      'GET',
      `/api/sessions/${sealed.id}/pour`,
    );
    const cups = pour.samples[0]?.cups.map(({ servingId }) => servingId) ?? [];
    const tick = async (servingIds: string[]) => {
      server.clock.now = new Date(server.clock.now.getTime() + 60_000);
      await steward.caller.ok('POST', `/api/sessions/${sealed.id}/pour/ticks`, { servingIds, poured: true });
      server.clock.now = new Date(server.clock.now.getTime() + 60_000);
    };
    await tick(cups.slice(0, 3));
    // Both arms, so that the test need not know which one was poured.
    for (const { id } of trial.arms)
      await host.caller.ok('POST', of(trial, `/arms/${id}/liquid`), { kind: 'counted', ml: 2000 });
    await tick(cups.slice(3, 5));
    const { settings } = await moved(host, sealed, 'open', 'close', 'reveal');
    const left = (await read(trial)).arms.map(({ liquid }) => liquid.leftMl).sort();
    expect(left).toEqual([2000 - 2 * settings.cupMl, 2000].sort());
  });

  test('a plan that needs what another one holds back is not sealed', async () => {
    const trial = await newTrial(host);
    const first = await moved(host, await draft(host, trial), 'seal');
    const held = leftOf(await read(trial)).reservedMl;
    await host.caller.ok('POST', of(trial, `/arms/${armNamed(trial, 0).id}/liquid`), {
      kind: 'counted',
      ml: held + 1,
    });
    const second = await draft(host, trial);
    const refused = await host.caller.call<ProblemDocument>('POST', `/api/sessions/${second.id}/seal`, {});
    expect(refused).toMatchObject({ status: 409, body: { type: '/problems/not-enough-liquid' } });
    expect(first.state).toBe('sealed');
  });
});

describe('the fair-test check', () => {
  test('finds a difference, takes an answer, and asks again when what it stands on changes', async () => {
    const trial = await newTrial(host);
    const [one, two] = [armNamed(trial, 0), armNamed(trial, 1)];
    const make = (arm: ArmView, making: object) =>
      host.caller.ok<TrialView>('PATCH', of(trial, `/arms/${arm.id}`), { making });
    await make(one, { closure: 'airlock' });
    const found = await make(two, { closure: 'open' });
    const closure = found.fairTest.find(({ id }) => id === 'difference closure')!;
    expect(closure.says).toContain(`${one.name} airlock and ${two.name} open`);
    const give = (grounds: string[]) =>
      host.caller.call<TrialView>('POST', of(trial, '/fair-test'), {
        finding: closure.id,
        grounds,
        answer: 'Both stood full to the brim.',
      });
    expect(await give(['something else'])).toMatchObject({ status: 409 });
    const answered = (await give(closure.grounds)).body;
    const now = (trialNow: TrialView) =>
      trialNow.fairTest.find(({ id }) => id === closure.id)?.answered?.answer;
    expect(now(answered)).toBe('Both stood full to the brim.');
    expect(now(await make(two, { closure: 'porous' }))).toBeUndefined();
  });

  test('follows the result and the publication, and what undoes the factor is said first', async () => {
    const evening = await playedEvening(server, { host, steward }, guests(12));
    const { trialId } = await host.caller.ok<SessionView>('GET', `/api/sessions/${evening.session.id}`);
    const trial = await read({ id: trialId });
    const arm = armNamed(trial, 0);
    await host.caller.ok('PATCH', of(trial), { factorFields: [] });
    await host.caller.ok('PATCH', of(trial, `/arms/${arm.id}`), {
      making: { organisms: ['lactic-bacteria'], temperatureC: 30 },
    });
    await host.caller.ok('PATCH', of(trial, `/arms/${armNamed(trial, 1).id}`), {
      making: { temperatureC: 20 },
    });
    const noted = await host.caller.ok<TrialView>('POST', of(trial, `/arms/${arm.id}/deviations`), {
      on: '2031-03-05',
      note: 'It foamed overnight.',
      sign: 'foam-early',
    });
    expect(noted.fairTest[0]?.undoes).toContain(arm.name);
    const { parts } = await host.caller.ok<ResultDocument>(
      'GET',
      `/api/sessions/${evening.session.id}/result`,
    );
    expect(parts[0]?.finding.headline).toMatch(new RegExp(`^${arm.name} probably carries something`));
    const texts = parts[0]?.caveats.filter(({ from }) => from === 'fair-test').map(({ text }) => text) ?? [];
    expect(texts.join('\n')).toContain('Temperature differs besides the factor');
    expect(texts.at(-1)).toMatch(/^Not told for every arm: /);

    const { address } = await publish(host, evening, {
      listed: true,
      caveatAnswers: [{ armId: arm.id, on: '2031-03-05', text: 'It foamed overnight.', answer: 'Yes.' }],
    });
    const { publication } = await host.caller.ok<
      PublicationView & { publication: { sessions: { parts: typeof parts }[] } }
    >('GET', `/api/p/${address}`);
    const told = publication.sessions[0]?.parts[0];
    expect(told?.finding.headline).toMatch(/^\S.* probably carries something/);
    expect(told?.caveats.some(({ from }) => from === 'fair-test')).toBe(true);
  });
});
