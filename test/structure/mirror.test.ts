import { existsSync, readdirSync } from 'node:fs';
import { join, posix } from 'node:path';
import { expect, test } from 'vitest';
import { ROOT } from './house.ts';

// Tests stand where what they test stands: test/<folder of shared>, test/db, test/server, test/web. Other rooms are special
// and named here and in the guide.

const SPECIAL = ['boot', 'flow', 'mutants', 'runner', 'structure'];

const folders = new Set(
  readdirSync(join(ROOT, 'test'), { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.test.ts') && !file.startsWith('.artifacts'))
    .map((file) => posix.dirname(file)),
);
const isRoom = (folder: string) =>
  SPECIAL.includes(folder.split('/')[0] ?? '') ||
  ['', 'shared'].some((above) => existsSync(join(ROOT, above, folder)));

test('a folder of tests has its folder of code', () => {
  expect(folders.size).toBeGreaterThan(10);
  expect([...folders].filter((folder) => !isRoom(folder))).toEqual([]);
});

test('a folder of tests beside no code is told', () => {
  expect(isRoom('analysis/choice')).toBe(true);
  expect(isRoom('analysis/cellar')).toBe(false);
});
