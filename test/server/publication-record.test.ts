import { randomUUID } from 'node:crypto';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type {
  PublicationView,
  PublishedView,
  PublishPreview,
} from '@oddglass/shared/contracts/publishing.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { readPackage, unzipPackage } from '@oddglass/shared/publication/package.ts';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { beforeAll, expect, test } from 'vitest';
import { draft, invited, moved, usePanel, type Hosted, type TestServer } from '../support/app.ts';
import { guests, playedEvening, publish, publishing, type Evening } from '../support/publishing.ts';

// How the arms were made and what was read of them, from the notebook to what anybody may read.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let evening: Evening;
let trial: TrialView;

const HOUR = 3_600_000;
const later = (hours: number): string => new Date(server.clock.now.getTime() + hours * HOUR).toISOString();
const typed = (text: string) => ({
  ph: { text, meterCalibratedOn: null },
  gravity: null,
  temperature: { text: '21', unit: 'C' },
  taken: { text: '60', unit: 'mL' },
});

async function reading(pull: string, arm: string, change: object = {}): Promise<string> {
  const id = randomUUID();
  await host.caller.ok('POST', `/api/pulls/${pull}/arms/${arm}/readings`, {
    id,
    replaces: null,
    takenAt: later(0),
    typed: typed('4.4'),
    added: '',
    looks: '',
    smell: '',
    note: '',
    confirmed: [],
    ...change,
  });
  return id;
}

const preview = (record?: object) =>
  host.caller.ok<PublishPreview>('POST', `/api/trials/${trial.id}/publications/preview`, {
    ...publishing(evening.trial, [evening.session]),
    ...(record ? { record } : { record: undefined }),
  });

usePanel((panel) => ({ server, host } = panel));
beforeAll(async () => {
  steward = await invited(host, 'steward', 'Wilma');
  evening = await playedEvening(server, { host, steward }, guests(10));
  trial = evening.trial;
  const [cool, warm] = trial.arms.map(({ id }) => id);
  await host.caller.ok('PATCH', `/api/trials/${trial.id}`, {
    base: 'One pale wort',
    making: { recipe: 'Secret hops' },
  });
  for (const [arm, vessel] of [
    [cool, 'carboy'],
    [warm, 'the vat of Wilma'],
  ])
    await host.caller.ok('PATCH', `/api/trials/${trial.id}/arms/${arm}`, { making: { vessel } });
  await host.caller.ok('PUT', `/api/trials/${trial.id}/pitched`, { pitchedAt: later(-24 * 9.5) });
  const pulls = [randomUUID(), randomUUID()];
  await host.caller.ok('POST', `/api/trials/${trial.id}/pulls`, {
    pulls: [
      { id: pulls[0], name: 'Pull of Ada', when: { kind: 'hours', hours: 72 } },
      { id: pulls[1], name: 'in between', when: { kind: 'unplanned', at: later(-1) } },
    ],
  });
  const first = await reading(pulls[0]!, cool!, { takenAt: later(-24 * 6.5), typed: typed('4.9') });
  await reading(pulls[0]!, cool!, { takenAt: later(-24 * 6.5), typed: typed('4.1'), replaces: first });
  await reading(pulls[1]!, warm!, { takenAt: later(-1), smell: 'Ada smelled plums' });
});

async function published(address: string): Promise<Publication> {
  const { publication } = await host.caller.ok<PublishedView>('GET', `/api/p/${address}`);
  if (!publication) throw new Error('nothing is published');
  return publication;
}

test('the record goes along unless it is left out, with standing values by day and nobody in it', async () => {
  const { address } = await publish(host, evening, { address: 'with-record' });
  const { record } = await published(address);
  const [cool, warm] = trial.arms.map(({ name }) => name);
  expect(record?.readings).toEqual([
    { arm: cool, day: 3, pull: 'planned', ph: 4.1, gravity: null, temperatureC: 21, notes: '' },
    { arm: warm, day: 9, pull: 'unplanned', ph: 4.4, gravity: null, temperatureC: 21, notes: '' },
  ]);
  expect(record?.tastings).toHaveLength(1);
  const zip = await server.app.inject({ method: 'GET', url: `/api/p/${address}/package.zip` });
  expect(verifyPackage(zip.rawPayload).filter(({ ok }) => !ok)).toEqual([]);
  expect(readPackage(zip.rawPayload).record).toEqual(record);
  const files = unzipPackage(zip.rawPayload).map(({ path, bytes }) => [
    path,
    new TextDecoder().decode(bytes),
  ]);
  expect(files.map(([path]) => path)).toEqual(
    expect.arrayContaining(['making.csv', 'readings.csv', 'tastings.csv']),
  );
  const all = JSON.stringify(files.filter(([path]) => path !== 'result.json')) + JSON.stringify(record);
  // The host is in the name of the panel; nobody else may be anywhere, and no word that was not passed.
  expect(all).not.toMatch(/Wilma|\bAda\b|plums|\bvat\b|Secret|pale wort/);
});

test('a word goes along once it is passed, and is looked at for names before', async () => {
  const { recordTexts, publication } = await preview();
  expect(publication?.record?.base).toEqual([]);
  expect(recordTexts.map(({ text, note, flags }) => [text, note, flags.length])).toEqual([
    ['One pale wort', false, 0],
    ['carboy', false, 0],
    ['the vat of Wilma', false, 1],
    ['Secret hops', true, 0],
    ['Ada smelled plums', true, 0],
  ]);
  const shown = await preview({ include: true, texts: ['carboy', 'One pale wort', 'nobody wrote this'] });
  expect(shown.publication?.record?.base).toEqual([{ label: 'shared base', value: 'One pale wort' }]);
  const vessel = shown.publication?.record?.making.find(({ field }) => field === 'vessel');
  expect(vessel).toMatchObject({ standing: 'differs', values: ['carboy', 'left out by the host'] });
  const caveats = JSON.stringify(
    shown.publication?.sessions.flatMap(({ parts }) => parts.map((part) => part.caveats)),
  );
  expect(caveats).toContain('Vessel differs besides the factor');
  expect(caveats).not.toContain('Wilma');
  expect(JSON.stringify(shown.publication)).not.toContain('nobody wrote this');
});

test('left out, it is said so, and a version of before it was told stays as it was', async () => {
  const view = await publish(host, evening, {
    address: 'without-record',
    record: { include: false, texts: [] },
  });
  const told = await published(view.address);
  expect(told.record).toBeUndefined();
  expect(told.disclosure.join(' ')).toContain('The host left out how the arms were made');
  expect(JSON.stringify(told)).not.toContain('Wilma');
  expect(view.choices?.record).toEqual({ include: false, texts: [] });

  // As older versions lie in the database: no such choice, and no such field.
  await server.database.pool.query(`update publication_version set choices = choices - 'record'`);
  const { publications } = await host.caller.ok<{ publications: PublicationView[] }>(
    'GET',
    `/api/trials/${trial.id}/publications`,
  );
  expect(publications.map(({ choices }) => choices?.record)).toEqual([
    { include: true, texts: [] },
    { include: true, texts: [] },
  ]);
  const old = await published(view.address);
  expect(old).toEqual(told);
});

test('a tasting that is not revealed leaves no trace in it', async () => {
  const before = (await preview()).publication?.record;
  await moved(
    host,
    await draft(host, trial, { assessors: 4, spareSeats: 0, title: 'Still secret' }),
    'seal',
    'open',
  );
  const after = await preview();
  expect(after.publication?.record).toEqual(before);
  expect(JSON.stringify(after.publication?.record)).not.toContain('Still secret');
});

test('a withdrawal takes the record along', async () => {
  const view = await publish(host, evening, {
    address: 'to-be-withdrawn',
    record: { include: true, texts: ['carboy'] },
  });
  await host.caller.ok('POST', `/api/publications/${view.id}/withdraw`, {});
  const { rows } = await server.database.pool.query<{ result: string; choices: object }>(
    'select result, choices from publication_version where publication_id = $1',
    [view.id],
  );
  expect(JSON.stringify(rows)).not.toMatch(/carboy|temperatureC.{0,5}21/);
});
