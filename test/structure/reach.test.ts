import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { importGraph, ROOT, textsOf, unreached } from './house.ts';

// What no entry of the product reaches is a library that waits for its use. The guide lists it, so that it cannot grow
// unseen, and a file that found its use leaves the list.

const ENTRIES =
  /^(server\/(start|demo|passphrase|export|backup|restore|verify)\.ts|server\/boot\/health-check\.ts|server\/.*analyst-thread\.ts|web\/src\/(routes\/.*|lib\/folder\/verifier\.ts|hooks\.server\.ts|app\.d\.ts))$/;
// Run by hand or by a tool, and told so in the guide.
const TOOLS = /^(db\/(drizzle\.config|generate)|server\/dev)\.ts$|\.d\.ts$/;

function listedInGuide(): string[] {
  const guide = readFileSync(join(ROOT, 'DEVELOPERS.md'), 'utf8');
  const section = /^## Library without a user yet\n([\s\S]*?)(?=^## )/m.exec(guide)?.[1] ?? '';
  return [...section.matchAll(/`(shared\/[^`]+\.ts)`/g)].map(([, file = '']) => file).sort();
}

test('what no entry reaches stands in the guide, and nothing else does', () => {
  const graph = importGraph(textsOf());
  const entries = [...graph.keys()].filter((file) => ENTRIES.test(file));
  expect(entries.length).toBeGreaterThan(40);
  expect(unreached(graph, entries).filter((file) => !TOOLS.test(file))).toEqual(listedInGuide());
});

test('a file nobody imports is told', () => {
  const graph = importGraph(
    new Map([
      ['server/start.ts', "import './app.ts';"],
      ['server/app.ts', ''],
      ['shared/stats/alone.ts', "import '../../server/app.ts';"],
    ]),
  );
  expect(unreached(graph, ['server/start.ts'])).toEqual(['shared/stats/alone.ts']);
});
