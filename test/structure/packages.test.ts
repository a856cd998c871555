import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

// What is installed is what was tried: no package moves by itself, and each may be used as this project is.

const root = fileURLToPath(new URL('../../', import.meta.url));
const json = <T>(path: string): T => JSON.parse(readFileSync(`${root}${path}`, 'utf8')) as T;

interface Manifest {
  dependencies?: Record<string, string>;
  devDependencies?: Record<string, string>;
}

test.each([
  'package.json',
  'shared/package.json',
  'db/package.json',
  'server/package.json',
  'web/package.json',
])('every version in %s is exact', (path) => {
  const { dependencies = {}, devDependencies = {} } = json<Manifest>(path);
  const loose = Object.entries({ ...dependencies, ...devDependencies }).filter(
    ([, version]) => !/^\d+\.\d+\.\d+(?:-[\w.]+)?$/.test(version),
  );
  expect(loose).toEqual([]);
});

// Licences that ask for no more than to be named; MPL-2.0 and the LGPL of tools that no user runs stay as they come.
const FREE =
  /^(?:MIT|MIT-0|ISC|0BSD|BSD-2-Clause|BSD-3-Clause|Apache-2\.0|BlueOak-1\.0\.0|CC0-1\.0|Unlicense|Python-2\.0|OFL-1\.1|MPL-2\.0|Zlib|PostgreSQL)$/;
const EXCEPT_IN_TESTS = new Set(['LGPL-2.1+', 'LGPL-2.1-or-later', 'CC-BY-3.0', 'CC-BY-4.0']);

/** What the lock file says, or where it says nothing readable what was read in the package itself. */
function licenceOf(path: string, said: unknown): string {
  if (typeof said === 'string') return said;
  const read: Record<string, string> = { 'node_modules/jstat': 'MIT', 'node_modules/tv4': 'MIT' };
  return read[path] ?? 'none';
}

test('every package that is installed has a licence that lets it be used', () => {
  const { packages } = json<{
    packages: Record<string, { license?: unknown; dev?: boolean; link?: boolean }>;
  }>('package-lock.json');
  const wrong = Object.entries(packages).filter(([path, { license, link, dev }]) => {
    if (!path.startsWith('node_modules/') || link) return false;
    const offered = licenceOf(path, license).replaceAll(/[()]/g, '').split(/ OR /i);
    const free = offered.some((one) => one.split(/ AND /i).every((part) => FREE.test(part.trim())));
    return !free && !(dev && offered.some((one) => EXCEPT_IN_TESTS.has(one)));
  });
  expect(wrong.map(([path, { license }]) => `${path}: ${licenceOf(path, license)}`)).toEqual([]);
});
