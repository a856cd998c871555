import { expect, test } from 'vitest';
import { circlesOf, folderCircles, importGraph, textsOf } from './house.ts';

// What stands on something else stands above it: no file, and no folder, leads back to itself, by way of types either.

const graph = importGraph(textsOf());

test('no file leads back to itself', () => {
  expect(graph.size).toBeGreaterThan(600);
  expect(circlesOf(graph)).toEqual([]);
});

test('no folder leads back to itself, beside its neighbours', () => {
  expect(folderCircles(graph)).toEqual([]);
});

const HOUSE = {
  'shared/rules/parts.ts': "import type { Part } from '../contracts/part.ts';",
  'shared/contracts/part.ts': "import { id } from './common.ts';",
  'shared/contracts/common.ts': "import { z } from 'zod';",
  'web/src/lib/seat/Room.svelte': "<script>import Sheet from './sheet/Sheet.svelte';</script>",
  'web/src/lib/seat/sheet/Sheet.svelte': "<script>import { part } from '#lib/ui/part.ts';</script>",
  'web/src/lib/ui/part.ts': "import { part } from '@oddglass/shared/contracts/part.ts';",
};
const circlesWith = (more: Record<string, string>) => {
  const planted = importGraph(new Map(Object.entries({ ...HOUSE, ...more })));
  return { files: circlesOf(planted), folders: folderCircles(planted) };
};

test('a house without circles has none to tell', () => {
  expect(circlesWith({})).toEqual({ files: [], folders: [] });
});

test('a planted circle of files is found, by a type alone too', () => {
  const { files } = circlesWith({
    'shared/contracts/common.ts': "import type { Part } from '../contracts/part.ts';",
  });
  expect(files).toEqual([['shared/contracts/common.ts', 'shared/contracts/part.ts']]);
});

test('a planted circle of folders is found where no file leads back', () => {
  const { files, folders } = circlesWith({
    'shared/contracts/session.ts': "import { fits } from '../rules/fit.ts';",
    'shared/rules/fit.ts': '',
  });
  expect(files).toEqual([]);
  expect(folders).toEqual(['shared: contracts/, rules/']);
});

test('a circle through pages, a name from lib and a worker is found', () => {
  const { files } = circlesWith({
    'web/src/lib/ui/part.ts': "import Room from '#lib/seat/Room.svelte';",
    'server/analyst.ts': "new Worker(new URL('./thread.ts', import.meta.url));",
    'server/thread.ts': "import type { Message } from './analyst.ts';",
  });
  expect(files).toHaveLength(2);
});
