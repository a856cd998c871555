import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { freePort } from '@oddglass/server/boot/embedded-database.ts';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { newFolder, removeFolder, Started } from '../support/started.ts';

// `npm run export`, as whoever runs the machine calls it: beside the demo while it runs, and once it is stopped.

let folder: string;
let env: Record<string, string>;
let started: Started[];

beforeEach(async () => {
  folder = await newFolder();
  env = { DATA_DIR: join(folder, 'data'), PORT: String(await freePort()) };
  started = [];
});
afterEach(() => removeFolder(folder, started));

async function ask(...words: string[]): Promise<{ code: number | null; out: string; err: string }> {
  const one = new Started(env, 'server/export.ts', words);
  started.push(one);
  const { code } = await one.exit();
  return { code, out: one.out, err: one.err };
}

test('a publication is exported beside the running demo, the list once it is stopped, and nothing is overwritten', async () => {
  expect(await ask('only-one-word')).toMatchObject({ code: 2 });
  const demo = new Started(env, 'server/demo.ts');
  started.push(demo);
  await expect.poll(() => /Shown only once/.test(demo.out), { timeout: 240_000 }).toBe(true);
  const address = `http://localhost:${env['PORT']}`;
  const word = (label: string): string => new RegExp(`^ *${label} +(.+)$`, 'm').exec(demo.out)?.[1] ?? '';
  const signedIn = await fetch(`${address}/api/sign-in`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ name: word('name'), passphrase: word('passphrase') }),
  });
  const { panels } = (await signedIn.json()) as { panels: { id: string }[] };
  const panelId = panels[0]?.id ?? '';
  const read = async <T>(path: string): Promise<T> => (await (await fetch(address + path)).json()) as T;
  const { publications } = await read<{ publications: { address: string }[] }>(`/api/p/list/${panelId}`);
  const published = publications[0]?.address ?? '';
  const { digest } = await read<{ digest: string }>(`/api/p/${published}`);

  const one = join(folder, 'one');
  expect(await ask(published, one)).toMatchObject({ code: 0, err: '' });
  expect((await readdir(one)).sort()).toEqual([
    'CITATION.cff',
    'README.txt',
    'feed.xml',
    'index.html',
    'mark.svg',
    'package.zip',
    'picture.png',
    'result.json',
    'style',
    'verify.html',
  ]);
  const checks = verifyPackage(await readFile(join(one, 'package.zip')), digest);
  expect(checks.filter(({ ok }) => !ok)).toEqual([]);
  expect(await ask(published, one)).toMatchObject({ code: 1, err: expect.stringContaining('not empty') });
  expect(await ask('nothing-there', join(folder, 'two'))).toMatchObject({
    code: 1,
    err: expect.stringContaining('Nothing is published'),
  });
  expect(await demo.end('SIGTERM')).toBe(0);

  const list = join(folder, 'list');
  expect(await ask(panelId, list)).toMatchObject({ code: 0, err: '' });
  expect(await readFile(join(list, published, 'index.html'), 'utf8')).toBe(
    await readFile(join(one, 'index.html'), 'utf8'),
  );
  expect(await readFile(join(list, 'index.html'), 'utf8')).toContain(`href="${published}/index.html"`);
});
