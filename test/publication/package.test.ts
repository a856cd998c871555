import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { spawnSync } from 'node:child_process';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { publication as schema } from '@oddglass/shared/contracts/publication.ts';
import {
  citationFile,
  howToCite,
  jsonLdText,
  schemaOrgDataset,
} from '@oddglass/shared/publication/citation.ts';
import {
  packageDigest,
  packageFiles,
  readPackage,
  unzipPackage,
  zipPackage,
} from '@oddglass/shared/publication/package.ts';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import {
  type Description,
  objections,
  pythonWithPandas,
  readTable,
  tablesOf,
} from '../support/data-package.ts';
import { missing } from '../support/missing.ts';
import { fixturePublication, fixtureSession } from './package-fixture.ts';

const publication = fixturePublication();
const files = packageFiles(publication, 'https://example.org/p/warm-or-cool');
const textOf = (path: string): string => {
  const file = files.find((one) => one.path === path);
  return new TextDecoder().decode(file?.bytes);
};
const descriptor = JSON.parse(textOf('datapackage.json')) as Description;
const tables = tablesOf(descriptor);

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'data-package-'));
  for (const { path, bytes } of files) writeFileSync(join(folder, path), bytes);
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

describe('a deviation that was written down after a reveal', () => {
  const textOfOne = (...late: boolean[]): string | undefined => {
    const sessions = late.map((isLate, at) => {
      const session = fixtureSession(at + 1, 1);
      const { deviations } = session.input;
      const marked = isLate
        ? deviations.map((one) => ({ ...one, notedAfterReveal: '2031-03-09' }))
        : deviations;
      return { ...session, input: { ...session.input, deviations: marked } };
    });
    const { caveats } = fixturePublication(1, sessions);
    expect(caveats).toHaveLength(1);
    return caveats[0]?.text;
  };

  it('is marked for readers, and with whose reveal it came after', () => {
    const title = fixtureSession(2, 1).input.session.title;
    expect(textOfOne(false)).toBe('The lid stood open.');
    expect(textOfOne(true)).toBe('The lid stood open. (Noted on 2031-03-09, after the reveal.)');
    expect(textOfOne(true, true)).toBe('The lid stood open. (Noted on 2031-03-09, after the reveal.)');
    expect(textOfOne(false, true)).toBe(
      `The lid stood open. (Noted on 2031-03-09, after the reveal of ‘${title}’.)`,
    );
  });
});

describe('a data package', () => {
  it('is of a publication that keeps to its contract', () => {
    expect(schema.parse(publication)).toEqual(publication);
  });

  it('satisfies an independent validator, every row its schema, keys included', async () => {
    expect(objections(descriptor)).toEqual([]);
    const rows: Record<string, number> = {};
    for (const { name } of tables) rows[name] = (await readTable(descriptor, name, folder)).length;
    expect(Object.keys(rows)).toEqual(tables.map(({ name }) => name));
    const leaves = publication.sessions.reduce((sum, { seal }) => sum + seal.leaves.length, 0);
    expect(rows).toMatchObject({ sessions: 5, arms: 3, seal: leaves });
    expect(rows['answers']).toBe(
      publication.sessions.reduce((sum, { rows: own }) => sum + (own?.length ?? 0), 0),
    );
    expect(Math.min(...Object.values(rows))).toBeGreaterThan(0);
  });

  it.each([
    ['a code of four digits', 'trays', /,([1-9]\d{2}),/, ',1234,'],
    ['a sample that nobody poured', 'trays', /(,\d{3},)[0-9a-f]{8}-/, '$1ffffffff-'],
    ['a word for a number', 'sessions', /,13,/, ',thirteen,'],
    ['a kind that there is not', 'figures', /triangle/, 'square'],
  ])('with %s is refused by it', async (_, name, what, instead) => {
    const path = join(folder, `${name}.csv`);
    const right = textOf(`${name}.csv`);
    expect(right).toMatch(what);
    writeFileSync(path, right.replace(what, instead));
    try {
      await expect(readTable(descriptor, name, folder)).rejects.toThrow();
    } finally {
      writeFileSync(path, right);
    }
  });

  it.each([
    ['a name with spaces', (d: Description) => ({ ...d, name: 'warm or cool' })],
    ['no resources', (d: Description) => ({ ...d, resources: [] })],
    ['a licence that is no object', (d: Description) => ({ ...d, licenses: ['CC0-1.0'] })],
    [
      'a type of field that there is not',
      (d: Description) =>
        JSON.parse(JSON.stringify(d).replaceAll('"type":"integer"', '"type":"count"')) as Description,
    ],
    ['a profile of nobody', (d: Description) => ({ ...d, profile: 'shopping-list' })],
  ])('described with %s is objected to', (_, change) => {
    expect(objections(change(descriptor))).not.toEqual([]);
  });

  it('gives the same publication back', () => {
    const again = readPackage(zipPackage(files));
    expect(again).toEqual(publication);
    expect(packageFiles(again, 'https://example.org/p/warm-or-cool')).toEqual(files);
  });

  it('is the same, byte for byte, whenever and wherever it is made', () => {
    const zone = process.env['TZ'];
    const zips = ['UTC', 'Pacific/Auckland', 'America/Los_Angeles'].map((place) => {
      process.env['TZ'] = place;
      return zipPackage(packageFiles(fixturePublication(), 'https://example.org/p/warm-or-cool'));
    });
    process.env['TZ'] = zone;
    expect(zips[1]).toEqual(zips[0]);
    expect(zips[2]).toEqual(zips[0]);
    expect(unzipPackage(zips[0] as Uint8Array)).toEqual(files);
    expect(packageDigest(files)).toMatch(/^[0-9a-f]{64}$/);
  });

  it('withholds the answers where no session may publish rows', () => {
    const closed = { ...publication, sessions: publication.sessions.map((one) => ({ ...one, rows: null })) };
    const paths = packageFiles(closed).map(({ path }) => path);
    expect(paths).not.toContain('answers.csv');
    expect(files.map(({ path }) => path)).toContain('answers.csv');
  });

  it('keeps texts from being formulas in a spreadsheet', () => {
    expect(textOf('arms.csv')).toContain("'=Third");
    const starts = tables.flatMap(({ path }) => textOf(path).match(/(?:^|,|\n)"?[=+@]/g) ?? []);
    expect(starts).toEqual([]);
  });
});

describe('a citation', () => {
  const hostile = { ...publication, demo: false, title: 'a: "b"\n- c </script>', panel: 'Cellar: # 1' };

  it('stays one line a field, whatever a title holds (YAML 1.2: a JSON string is a scalar)', () => {
    const lines = citationFile(hostile, null).trimEnd().split('\n');
    expect(lines).toContain('cff-version: 1.2.0');
    expect(lines).toContain('type: dataset');
    expect(lines).toContain('license: CC-BY-4.0');
    expect(lines).toContain('date-released: "2031-03-20"');
    expect(lines).toContain(`title: ${JSON.stringify(hostile.title)}`);
    expect(lines).toContain('  - name: "Cellar: # 1"');
    const shape = /^(?: {2}- |[ ]{4})?(?:[a-z-]+: (?:"(?:[^"\\]|\\.)*"|[\w.-]+)|[a-z]+:|"(?:[^"\\]|\\.)*")$/;
    expect(lines.filter((line) => !shape.test(line))).toEqual([]);
  });

  it('is a Dataset that cannot close its script element', () => {
    const dataset = schemaOrgDataset(hostile, 'https://example.org/p/x', {
      url: 'https://example.org/p/x/data.zip',
    });
    expect(dataset).toMatchObject({
      '@type': 'Dataset',
      creator: { '@type': 'Organization', name: hostile.panel },
      license: 'https://creativecommons.org/licenses/by/4.0/',
      temporalCoverage: '2031-03',
      distribution: [{ contentUrl: 'https://example.org/p/x/data.zip' }],
    });
    const text = jsonLdText(dataset);
    expect(text).not.toContain('<');
    expect(JSON.parse(text)).toEqual(dataset);
  });

  it('says where data are invented, and names the panel, not people', () => {
    expect(howToCite(publication, 'https://example.org/p/x')).toMatch(
      /^The Invented Cellar \(2031\): Warm or cool: does it matter\? \(invented demo data\)\. Data set, version 1, published 2031-03-20\. https:\/\/example\.org\/p\/x /,
    );
    expect(textOf('README.md')).toContain('**All of this is invented.**');
  });
});

/** Prints of a load script: 'table rows column:type column:type ...'. */
function loadedBy(command: string, script: string): Map<string, string> {
  const path = new URL(script, import.meta.url).pathname;
  const vanilla = command === 'Rscript' ? ['--vanilla'] : [];
  const { status, stdout, stderr } = spawnSync(command, [...vanilla, path, folder], { encoding: 'utf8' });
  expect(stderr).toBe('');
  expect(status).toBe(0);
  return new Map(
    stdout
      .trim()
      .split('\n')
      .map((line) => [line.split(' ')[0] ?? '', line]),
  );
}

function expectedOf(types: Record<string, string>): Map<string, string> {
  return new Map(
    tables.map(({ name, path, schema: table }) => {
      const columns = (table?.fields ?? []).map((field) => `${field.name}:${types[field.type]}`);
      return [name, [name, rowsIn(textOf(path)), ...columns].join(' ')];
    }),
  );
}

/** Records of a CSV file below its header: line ends outside of quotes. */
function rowsIn(csv: string): number {
  return csv.replace(/"(?:[^"]|"")*"/g, '').split('\r\n').length - 2;
}

const noR = spawnSync('Rscript', ['--version']).error !== undefined;
it('loads in R with the types of its schema', { timeout: 120_000 }, ({ skip }) => {
  skip(noR, missing('R'));
  const types = {
    string: 'character',
    yearmonth: 'character',
    object: 'character',
    array: 'character',
    integer: 'integer',
    number: 'numeric',
  };
  expect(loadedBy('Rscript', './load.R')).toEqual(expectedOf(types));
});

const python = pythonWithPandas();
it('loads in pandas with the types of its schema', { timeout: 120_000 }, ({ skip }) => {
  skip(python === null, missing('Python with pandas'));
  const types = {
    string: 'string',
    yearmonth: 'string',
    object: 'string',
    array: 'string',
    integer: 'Int64',
    number: 'float64',
  };
  expect(loadedBy(python ?? '', './load.py')).toEqual(expectedOf(types));
});
