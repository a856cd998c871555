import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { isWelcome, licencesOf } from '../support/licences.ts';
import { ROOT } from './house.ts';

// What is installed is what was tried: every version is one version, also in the lock file, and nothing is fetched at
// install that the lock file does not know by its hash.

interface Manifest {
  name?: string;
  version?: string;
  scripts?: Record<string, string>;
  dependencies?: Record<string, string>;
  devDependencies?: Record<string, string>;
  optionalDependencies?: Record<string, string>;
}
type Locked = Manifest & { integrity?: string; link?: boolean; inBundle?: boolean };

const read = <T>(path: string): T => JSON.parse(readFileSync(join(ROOT, path), 'utf8')) as T;
const lockOf = (folder: string): Record<string, Locked> =>
  read<{ packages: Record<string, Locked> }>(join(folder, 'package-lock.json')).packages;
// The mutation tools are installed apart.
const LOCKS = ['.', 'test/mutants'].map((folder) => ({ folder, locked: lockOf(folder) }));
const MANIFESTS = LOCKS.flatMap(({ folder, locked }) =>
  Object.keys(locked)
    .filter((path) => !/(^|\/)node_modules\//.test(path))
    .map((path) => ({ file: join(folder, path, 'package.json'), path, locked })),
);

const EXACT = /^\d+\.\d+\.\d+(-[\w.]+)?$/;
const wanted = (manifest: Manifest): [string, string][] =>
  (['dependencies', 'devDependencies', 'optionalDependencies'] as const).flatMap((kind) =>
    Object.entries(manifest[kind] ?? {}),
  );
const loose = (manifest: Manifest): string[] =>
  wanted(manifest)
    .filter(([, version]) => !EXACT.test(version) && !version.startsWith('file:'))
    .map(([name, version]) => `${name} ${version}`);

test('every package asks for exact versions', () => {
  expect(MANIFESTS.length).toBeGreaterThan(6);
  for (const { file, path, locked } of MANIFESTS) {
    const manifest = read<Manifest>(file);
    expect(loose(manifest), file).toEqual([]);
    for (const [name, version] of wanted(manifest)) {
      // Beside the workspace where another version, or what it goes with, has the common place.
      const found = locked[join(path, 'node_modules', name)] ?? locked[`node_modules/${name}`];
      if (found?.link !== true) expect(found?.version, `${name} of ${file}`).toBe(version);
    }
  }
});

test('a range is told from a version', () => {
  const versions = {
    a: '^1.0.0',
    b: '1.0',
    c: 'latest',
    d: '1.0.0 || 2.0.0',
    e: '1.2.3',
    f: '18.4.0-beta.17',
  };
  expect(loose({ dependencies: versions })).toHaveLength(4);
});

test('no other package.json hides beside these', () => {
  const found = ['.', 'shared', 'db', 'server', 'web', 'test'].flatMap((folder) =>
    readdirSync(join(ROOT, folder), { recursive: folder !== '.', encoding: 'utf8' })
      .filter(
        (file) => /(^|\/)package\.json$/.test(file) && !/(^|\/)(node_modules|\.\w[^/]*|build)\//.test(file),
      )
      .map((file) => join(folder, file)),
  );
  expect(found.sort()).toEqual(MANIFESTS.map(({ file }) => file).sort());
});

test.each(LOCKS)('everything from outside is locked by its hash in $folder', ({ locked }) => {
  const outside = Object.entries(locked).filter(
    ([path, { link }]) => path.includes('node_modules/') && !link,
  );
  expect(outside.length).toBeGreaterThan(100);
  const open = outside.filter(([, { integrity, inBundle }]) => !integrity && !inBundle);
  expect(open.map(([path]) => path)).toEqual([]);
});

test.each(LOCKS)('every licence in $folder is one of those that are welcome', ({ folder }) => {
  const all = licencesOf(join(ROOT, folder));
  expect(all.length).toBeGreaterThan(100);
  expect(all.filter((one) => !isWelcome(one))).toEqual([]);
});

test.each([
  ['MIT', true],
  ['(MIT OR GPL-3.0-or-later)', true],
  ['(MIT AND ISC)', true],
  ['GPL-3.0-or-later', false],
  ['LGPL-2.1+', false],
  ['(MIT AND GPL-3.0-only)', false],
  ['(MIT OR (GPL-3.0-only AND ISC))', false],
  ['SEE LICENSE IN LICENSE.md', false],
  ['not declared', false],
])('%s is welcome: %s', (licence, welcome) => {
  expect(isWelcome({ name: 'any', licence })).toBe(welcome);
});

test('the start asks for the Node that the install brings', () => {
  const oldest = /OLDEST_NODE = '([\d.]+)'/.exec(readFileSync(join(ROOT, 'server/start.ts'), 'utf8'))?.[1];
  const link = readFileSync(join(ROOT, 'server/brought-node/link.js'), 'utf8');
  expect(/OLDEST = \[(\d+), (\d+)\]/.exec(link)?.slice(1).join('.')).toBe(oldest);
  const brought = read<Manifest & { engines: { node: string } }>('server/brought-node/package.json');
  expect(brought.engines.node).toBe(`<${oldest}`);
  const [major = 0, minor = 0] = (oldest ?? '').split('.').map(Number);
  for (const [name, version] of wanted(brought)) {
    const [a = 0, b = 0] = version.split('.').map(Number);
    expect(a > major || (a === major && b >= minor), `${name} ${version}`).toBe(true);
  }
});
