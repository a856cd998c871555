import type { PublicationIndex } from '@oddglass/shared/contracts/publication-index.ts';
import type {
  PublicationView,
  PublishedView,
  PublishPreview,
} from '@oddglass/shared/contracts/publishing.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import { rowsOf } from '@oddglass/shared/publication/verify-tables.ts';
import { beforeAll, expect, test } from 'vitest';
import { Caller, invited, usePanel, type Hosted, type TestServer } from '../support/app.ts';
import {
  expectProblem,
  guests,
  playedEvening,
  publish,
  publishing,
  type Evening,
} from '../support/publishing.ts';

// What archives and those who look across studies get, from the host's form to the index of a panel.

let server: TestServer;
let host: Hosted;
let reader: Caller;
let evening: Evening;

usePanel((panel) => ({ server, host } = panel));
beforeAll(async () => {
  const steward = await invited(host, 'steward', 'Steward');
  reader = new Caller(server.app);
  evening = await playedEvening(server, { host, steward }, guests(12));
});

const get = (path: string) => server.app.inject({ method: 'GET', url: path });
const DEPOSIT = {
  doi: 'https://doi.org/10.5072/cool.1',
  contact: 'panel@example.org',
  contactPublic: true,
  related: [{ relation: 'References' as const, identifier: '10.5072/cited' }],
};

test('what a host gives for archives is in the publication and its files, and nowhere where nothing was given', async () => {
  const { address } = await publish(host, evening, { address: 'deposited', deposit: DEPOSIT });
  const view = await reader.ok<PublishedView>('GET', `/api/p/${address}`);
  expect(view.publication?.deposit).toEqual({
    doi: '10.5072/cool.1',
    contact: 'panel@example.org',
    related: DEPOSIT.related,
  });
  expect(view.publication?.software).toEqual({
    name: 'Oddglass',
    version: expect.stringMatching(/^\d+\.\d+\.\d+$/),
  });
  const zip = (await get(`/api/p/${address}/package.zip`)).rawPayload;
  expect(view.zip?.bytes).toBe(zip.length);
  const paths = unzipPackage(zip).map(({ path }) => path);
  expect(paths).toEqual(expect.arrayContaining(['ro-crate-metadata.json', 'report.csv']));
  expect((await get(`/api/p/${address}/CITATION.cff`)).payload).toContain('doi: "10.5072/cool.1"');

  const bare = await publish(host, evening, { address: 'not-deposited' });
  const read = await reader.ok<PublishedView>('GET', `/api/p/${bare.address}`);
  expect(read.publication).not.toHaveProperty('deposit');
});

test('an e-mail address without the tick is refused, by field, in the preview and on publishing', async () => {
  const body = publishing(evening.trial, [evening.session]);
  const deposit = { ...DEPOSIT, doi: 'none', contactPublic: false };
  const path = `/api/trials/${evening.trial.id}/publications`;
  const preview = await host.caller.ok<PublishPreview>('POST', `${path}/preview`, { ...body, deposit });
  expect(preview.refusals.map(({ pointer }) => pointer)).toEqual(['#/deposit/doi', '#/deposit/contact']);
  expect(preview.publication).not.toHaveProperty('deposit');
  const mail = { ...deposit, doi: '' };
  const again = await host.caller.ok<PublishPreview>('POST', `${path}/preview`, { ...body, deposit: mail });
  expect(again.refusals.map(({ pointer }) => pointer)).toEqual(['#/deposit/contact']);
  const refused = await host.caller.call('POST', path, { ...body, address: 'mailed', deposit: mail });
  expect(expectProblem(refused, 'invalid-input', 400)).toEqual(['#/deposit/contact']);
});

test('a withdrawn publication keeps neither DOI nor contact', async () => {
  const { id } = await publish(host, evening, { address: 'called-back', deposit: DEPOSIT });
  await host.caller.ok<PublicationView>('POST', `/api/publications/${id}/withdraw`, {});
  const stored = await server.database.pool.query<{ result: string; choices: object }>(
    'select result, choices from publication_version where publication_id = $1',
    [id],
  );
  const kept = JSON.stringify(stored.rows);
  expect(kept).not.toContain('10.5072');
  expect(kept).not.toContain('panel@example.org');
});

test('the index has each tasting once, without what is withdrawn or not listed, as JSON and CSV alike', async () => {
  const index = await reader.ok<PublicationIndex>('GET', `/api/p/list/${host.panel}/index.json`);
  // Published at two addresses on one day, and at a third that was withdrawn.
  expect(index.parts).toHaveLength(1);
  const [line] = index.parts;
  expect([line?.address, ...(line?.alsoAt ?? [])].sort()).toEqual(['deposited', 'not-deposited']);
  expect(line).toMatchObject({
    root: evening.session.root,
    kind: 'triangle',
    scale: 'd-prime',
    n: 12,
    part: 1,
  });
  // Eight of twelve right: the d-prime of a triangle at two thirds is 2.32 (Ennis 1993, table for the triangle; from memory).
  expect(line?.effect).toBeCloseTo(2.32, 1);
  expect(line?.url).toMatch(/\/p\/[\w-]+\?version=1$/);

  const csv = await get(`/api/p/list/${host.panel}/index.csv`);
  expect(csv.headers['content-type']).toBe('text/csv; charset=utf-8');
  const [names = [], ...rows] = rowsOf(csv.payload);
  expect(names).toEqual(index.columns.map(({ name }) => name));
  expect(rows).toHaveLength(1);
  expect(Number(rows[0]?.[names.indexOf('effect')])).toBe(line?.effect);
  expect(rows[0]?.[names.indexOf('root')]).toBe(line?.root);

  const docs = (await get('/api/docs/json')).json<{
    paths: Record<string, { get: { description: string } }>;
  }>();
  const told = docs.paths['/api/p/list/{panel}/index.csv']?.get.description ?? '';
  for (const { name, meaning } of index.columns) expect(told).toContain(`\`${name}\`: ${meaning}`);

  expect((await get(`/api/p/list/${evening.trial.id}/index.json`)).statusCode).toBe(404);
  await host.caller.ok('POST', `/api/publications/${await idAt('deposited')}/withdraw`, {});
  await host.caller.ok('POST', `/api/publications/${await idAt('not-deposited')}/withdraw`, {});
  expect((await reader.ok<PublicationIndex>('GET', `/api/p/list/${host.panel}/index.json`)).parts).toEqual(
    [],
  );
  expect(rowsOf((await get(`/api/p/list/${host.panel}/index.csv`)).payload)).toEqual([names]);
});

async function idAt(address: string): Promise<string> {
  const { rows } = await server.database.pool.query<{ id: string }>(
    'select id from publication where address = $1',
    [address],
  );
  return rows[0]?.id ?? '';
}
