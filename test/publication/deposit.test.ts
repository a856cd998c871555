import { createHash } from 'node:crypto';
import { depositInput, depositTold } from '@oddglass/shared/contracts/deposit.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { citationFile, schemaOrgDataset } from '@oddglass/shared/publication/citation.ts';
import { packageFiles, zipPackage } from '@oddglass/shared/publication/package.ts';
import { consentStatement } from '@oddglass/shared/publication/deposit.ts';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { describe, expect, it } from 'vitest';
import { readCitation } from '../support/data-package.ts';
import { fixturePublication } from './package-fixture.ts';

// What research archives get: RO-Crate, Data Package, Citation File Format, and the Dataset of search engines.

const URL_OF = 'https://example.org/p/warm-or-cool';
const bare = fixturePublication();
const deposited: Publication = {
  ...bare,
  software: { name: 'Oddglass', version: '0.1.0' },
  deposit: {
    doi: '10.5072/warm.1',
    contact: 'panel@example.org',
    related: [
      { relation: 'IsDerivedFrom', identifier: '10.5072/earlier' },
      { relation: 'IsPartOf', identifier: 'https://example.org/series' },
      { relation: 'References', identifier: '10.5072/cited' },
    ],
  },
};
type Entity = Record<string, unknown> & { '@id': string; '@type': string };

const textIn = (publication: Publication, path: string, url: string | null = URL_OF): string =>
  new TextDecoder().decode(packageFiles(publication, url).find((one) => one.path === path)?.bytes);
const graphOf = (publication: Publication, url: string | null = URL_OF): Entity[] =>
  (JSON.parse(textIn(publication, 'ro-crate-metadata.json', url)) as { '@graph': Entity[] })['@graph'];
const named = (graph: readonly Entity[], id: string): Entity => {
  const found = graph.find((one) => one['@id'] === id);
  if (!found) throw new RangeError(`nothing is called ${id}`);
  return found;
};

describe('what a host gives for archives', () => {
  const read = (change: object) => depositInput.safeParse(change);

  it('is all optional, and nothing of it is told where nothing was given', () => {
    expect(depositTold(depositInput.parse({}))).toBeNull();
    expect(depositTold(depositInput.parse({ doi: '', contact: ' ' }))).toBeNull();
  });

  it.each([
    ['10.5072/a-b.1', '10.5072/a-b.1'],
    [' https://doi.org/10.5072/a ', '10.5072/a'],
    ['doi: 10.5072/a', '10.5072/a'],
    ['http://dx.doi.org/10.5072.12/a(1)', '10.5072.12/a(1)'],
  ])('takes the DOI %j as people paste it', (given, kept) => {
    expect(depositInput.parse({ doi: given }).doi).toBe(kept);
  });

  it.each(['10.5072', '11.5072/a', '10.50/a', '10.5072/a b', '10.5072/<a>', 'https://example.org/10.5072/a'])(
    'refuses %j as a DOI',
    (doi) => {
      expect(read({ doi }).error?.issues.map(({ path }) => path)).toEqual([['doi']]);
    },
  );

  it('takes an e-mail address only with the tick that everybody may read it, and a page without', () => {
    const contact = 'panel@example.org';
    expect(read({ contact }).error?.issues).toMatchObject([{ path: ['contact'] }]);
    expect(read({ contact, contactPublic: true }).success).toBe(true);
    expect(read({ contact: 'https://example.org/ask' }).success).toBe(true);
    for (const none of ['ask at the bar', 'a@b', 'javascript:alert(1)', '<a@example.org>']) {
      expect(read({ contact: none, contactPublic: true }).success).toBe(false);
    }
  });
});

// RO-Crate Metadata Specification 1.1, by the names of its sections.
describe.each([
  ['with all that a host can give', deposited, URL_OF],
  ['with nothing of it, at no address', bare, null],
])('the RO-Crate of a package %s', (_, publication, url) => {
  const graph = graphOf(publication, url);
  const document = JSON.parse(textIn(publication, 'ro-crate-metadata.json', url)) as Record<string, unknown>;
  const files = packageFiles(publication, url);
  const root = named(graph, './');
  const ids = (value: unknown): string[] =>
    (Array.isArray(value) ? value : [value]).map((one) => (one as Entity)['@id']);

  it('has the context of 1.1 and a flat graph (RO-Crate JSON-LD; Appendix: RO-Crate JSON-LD, Extending)', () => {
    expect(document['@context']).toEqual([
      'https://w3id.org/ro/crate/1.1/context',
      { sha256: 'http://schema.org/sha256' },
    ]);
    expect(Object.keys(document)).toEqual(['@context', '@graph']);
    expect(new Set(graph.map((one) => one['@id'])).size).toBe(graph.length);
    for (const one of graph) expect([typeof one['@id'], typeof one['@type']]).toEqual(['string', 'string']);
    // Flattened: what is named within an entity is a reference and nothing more, and leads somewhere.
    for (const [, value] of graph.flatMap((one) => Object.entries(one))) {
      for (const inner of (Array.isArray(value) ? value : [value]) as unknown[]) {
        if (typeof inner !== 'object' || inner === null) continue;
        expect(Object.keys(inner)).toEqual(['@id']);
        const id = (inner as Entity)['@id'];
        if (!id.startsWith('https://w3id.org/')) expect(named(graph, id)).toBeDefined();
      }
    }
  });

  it('describes itself (Root Data Entity, RO-Crate Metadata File Descriptor)', () => {
    expect(named(graph, 'ro-crate-metadata.json')).toEqual({
      '@id': 'ro-crate-metadata.json',
      '@type': 'CreativeWork',
      conformsTo: { '@id': 'https://w3id.org/ro/crate/1.1' },
      about: { '@id': './' },
    });
  });

  it('has all that the root must have (Root Data Entity, Direct properties)', () => {
    expect(root['@type']).toBe('Dataset');
    for (const must of ['name', 'description']) expect(root[must]).toMatch(/\S/);
    expect(root['datePublished']).toBe('2031-03-20');
    // Contextual Entities, Licensing: an entity with name and description.
    const [licence = ''] = ids(root['license']);
    expect(named(graph, licence)).toMatchObject({
      '@type': 'CreativeWork',
      name: 'Creative Commons Attribution 4.0 International',
    });
    expect(named(graph, licence)['description']).toMatch(/\S/);
  });

  it('names every file with size and sum (Data Entities; Data Entities, Encoding file types)', () => {
    expect(ids(root['hasPart']).sort()).toEqual(
      files
        .map(({ path }) => path)
        .filter((path) => path !== 'ro-crate-metadata.json')
        .sort(),
    );
    for (const { path, bytes } of files) {
      if (path === 'ro-crate-metadata.json') continue;
      const file = named(graph, path);
      expect([file['@type'], file['encodingFormat']]).toEqual([
        'File',
        expect.stringMatching(/^\w+\/[\w.+-]+$/),
      ]);
      expect(file['description']).toMatch(/\S/);
      if (path === 'SHA256SUMS') continue;
      expect([file['contentSize'], file['sha256']]).toEqual([
        String(bytes.length),
        createHash('sha256').update(bytes).digest('hex'),
      ]);
    }
  });

  it('names the panel as publisher (Contextual Entities, Organizations), and no person', () => {
    expect(ids(root['publisher'])).toEqual(['#panel']);
    expect(named(graph, '#panel')).toMatchObject({ '@type': 'Organization', name: publication.panel });
    expect(graph.map((one) => one['@type'])).not.toContain('Person');
    expect(named(graph, '#consent')['text']).toBe(consentStatement(publication));
  });

  it('is accepted by the verifier, with every sum in SHA256SUMS', () => {
    const checks = verifyPackage(zipPackage(files));
    expect(checks.filter(({ ok }) => !ok)).toEqual([]);
    expect(checks.map(({ name }) => name)).toContain('sum of ro-crate-metadata.json');
  });
});

it('tells DOI, contact, related works and software in the RO-Crate where they are known', () => {
  const graph = graphOf(deposited);
  const root = named(graph, './');
  expect(root['identifier']).toEqual(
    expect.arrayContaining([
      'https://doi.org/10.5072/warm.1',
      URL_OF,
      `sha256:${bare.sessions[0]?.seal.root}`,
    ]),
  );
  expect(root['isBasedOn']).toEqual([{ '@id': 'https://doi.org/10.5072/earlier' }]);
  expect(root['isPartOf']).toEqual([{ '@id': 'https://example.org/series' }]);
  // Contextual Entities, Contact information.
  expect(named(graph, '#panel')['contactPoint']).toEqual({ '@id': 'mailto:panel@example.org' });
  expect(named(graph, 'mailto:panel@example.org')).toMatchObject({
    '@type': 'ContactPoint',
    email: 'panel@example.org',
  });
  // Provenance, Software used to create files.
  expect(named(graph, '#made')).toMatchObject({
    '@type': 'CreateAction',
    instrument: { '@id': '#software' },
    result: { '@id': './' },
  });
  expect(named(graph, '#software')).toMatchObject({ '@type': 'SoftwareApplication', version: '0.1.0' });
});

it('says of consent what the publication shows, session by session', () => {
  const [first, ...rest] = bare.sessions;
  if (!first) throw new Error('a publication has a session');
  const mixed = {
    ...bare,
    sessions: [{ ...first, rows: [] }, ...rest.map((one) => ({ ...one, rows: null }))],
  };
  expect(consentStatement(mixed)).toContain(
    'for session 1, where everybody who answered agreed to that at the seat',
  );
  expect(consentStatement(mixed)).toContain('are not given for session 2, 3, 4 and 5.');
  expect(consentStatement(mixed)).not.toContain('Fewer than five');
  const small = { ...mixed, sessions: [{ ...first, tier: 'agreed' as const }] };
  expect(consentStatement(small)).toContain('each of them agreed to be told as so small a group');
});

describe('CITATION.cff', () => {
  const read = (publication: Publication, url: string | null) => readCitation(citationFile(publication, url));

  it.each([
    ['a DOI and an e-mail address', deposited, URL_OF],
    ['a page to ask at', { ...bare, deposit: { contact: 'https://example.org/ask', related: [] } }, URL_OF],
    ['nothing', bare, null],
  ])('with %s satisfies the schema of CFF 1.2.0', (_, publication, url) => {
    const { objections, citation } = read(publication, url);
    expect(objections).toEqual([]);
    expect(citation).toMatchObject({ 'cff-version': '1.2.0', type: 'dataset' });
  });

  it('is objected to with a DOI that is an address', () => {
    const unfit = { ...bare, deposit: { doi: 'https://doi.org/10.5072/a', related: [] } };
    expect(read(unfit, null).objections).not.toEqual([]);
  });

  it('has DOI and contact as fields of their own', () => {
    expect(read(deposited, URL_OF).citation).toMatchObject({
      doi: '10.5072/warm.1',
      contact: [{ name: bare.panel, email: 'panel@example.org' }],
    });
  });
});

describe('the Dataset on the page', () => {
  it('tells what search engines ask (schema.org/Dataset)', () => {
    const fetched = { url: `${URL_OF}.zip`, bytes: 12_345, sha256: 'a'.repeat(64) };
    const dataset = schemaOrgDataset(deposited, URL_OF, fetched, 'https://example.org/p/list/1');
    expect(dataset).toMatchObject({
      publisher: {
        '@type': 'Organization',
        name: bare.panel,
        contactPoint: { '@type': 'ContactPoint', email: 'panel@example.org' },
      },
      creditText: `${bare.panel}, 2031, CC-BY-4.0`,
      isBasedOn: ['https://doi.org/10.5072/earlier'],
      isPartOf: [{ url: 'https://example.org/series' }],
      includedInDataCatalog: [{ '@type': 'DataCatalog', url: 'https://example.org/p/list/1' }],
      distribution: [{ contentUrl: fetched.url, contentSize: '12345 B', sha256: fetched.sha256 }],
    });
    expect((dataset['identifier'] as unknown[])[0]).toBe('https://doi.org/10.5072/warm.1');
    expect(dataset['citation']).toContain('https://doi.org/10.5072/warm.1');
  });

  it('names each variable once, with unit and ends of its scale', () => {
    const measured = schemaOrgDataset(bare, URL_OF)['variableMeasured'] as Record<string, unknown>[];
    const names = measured.map(({ name }) => String(name));
    expect(new Set(names).size).toBe(names.length);
    for (const { unitText } of measured) expect(unitText).toMatch(/\S/);
    expect(measured).toContainEqual({
      '@type': 'PropertyValue',
      name: 'liking',
      unitText: 'points from 1 to 9',
      minValue: 1,
      maxValue: 9,
    });
    for (const { parts } of bare.sessions) {
      for (const part of parts) {
        if (part.kind !== 'rating') continue;
        expect(names).toEqual(expect.arrayContaining(part.attributes.map(({ name }) => name)));
      }
    }
  });
});

// Data Package, version 2 (datapackage.org), sections Package and Metadata; the rules beside each.
describe('datapackage.json by version 2', () => {
  const read = (publication: Publication, url: string | null = URL_OF) =>
    JSON.parse(textIn(publication, 'datapackage.json', url)) as {
      $schema: string;
      id: string;
      contributors: { title: string; email?: string; roles: string[] }[];
      resources: {
        $schema: string;
        type?: string;
        path: string;
        schema?: { $schema: string; fields: { name: string; unit?: string }[] };
      }[];
    };

  it('names its profile, and that of every resource and schema ($schema)', () => {
    const { $schema, resources } = read(bare);
    expect($schema).toBe('https://datapackage.org/profiles/2.0/datapackage.json');
    for (const { $schema: own, type, path, schema } of resources) {
      expect(own).toBe('https://datapackage.org/profiles/2.0/dataresource.json');
      // Resource, type: the only value there is is 'table'.
      expect(type).toBe(path.endsWith('.csv') ? 'table' : undefined);
      if (schema) expect(schema.$schema).toBe('https://datapackage.org/profiles/2.0/tableschema.json');
    }
  });

  it('has an id: the DOI, else the address, else one made of its content (id)', () => {
    expect(read(deposited).id).toBe('https://doi.org/10.5072/warm.1');
    expect(read(bare).id).toBe(URL_OF);
    // RFC 9562, sections 4.1, 4.2 and 5.8.
    const uuid = /^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/;
    expect(read(bare, null).id).toMatch(uuid);
    expect(read({ ...bare, title: 'Another' }, null).id).not.toBe(read(bare, null).id);
  });

  it('gives contributors roles, and one to ask where the host said so (contributors)', () => {
    expect(read(bare).contributors).toMatchObject([{ title: bare.panel, roles: ['creator', 'publisher'] }]);
    expect(read(deposited).contributors).toMatchObject([
      { email: 'panel@example.org', roles: ['creator', 'publisher', 'contactPerson'] },
    ]);
  });

  it('gives marks a unit', () => {
    const answers = read(bare).resources.find(({ path }) => path === 'answers.csv');
    expect(answers?.schema?.fields.find(({ name }) => name === 'value')?.unit).toMatch(/\S/);
  });
});
