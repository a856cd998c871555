import { cp, readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { freePort } from '@oddglass/server/boot/embedded-database.ts';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { newFolder, removeFolder, Started } from '../support/started.ts';

// `npm run backup` and `npm run restore`, as whoever runs the machine calls them, with the built-in database.

let folder: string;
let env: Record<string, string>;
let started: Started[];

beforeEach(async () => {
  folder = await newFolder();
  env = { DATA_DIR: join(folder, 'data'), PORT: String(await freePort()) };
  started = [];
});
afterEach(() => removeFolder(folder, started));

async function ask(script: string, words: string[], change: Record<string, string> = {}) {
  const one = new Started({ ...env, ...change }, script, words);
  started.push(one);
  const { code } = await one.exit();
  return { code, out: one.out, err: one.err };
}
const backup = (path: string) => ask('server/backup.ts', [path]);
const restore = (path: string, change = {}) => ask('server/restore.ts', [path], change);

async function start(change: Record<string, string> = {}): Promise<Started> {
  const one = new Started({ ...env, ...change });
  started.push(one);
  await expect.poll(() => /http:\/\/localhost/.test(one.out), { timeout: 60_000 }).toBe(true);
  return one;
}

const post = (path: string, body: object, port = env['PORT']) =>
  fetch(`http://localhost:${port}${path}`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
const signIn = async (name: string) =>
  (await post('/api/sign-in', { name, passphrase: 'four words in a row' })).status;

test('a backup beside the running server is put back while it is stopped, and what was there stays beside', async () => {
  const path = join(folder, 'first.backup.gz');
  expect(await backup(path)).toMatchObject({ code: 1, err: expect.stringContaining('There is no database') });
  const server = new Started(env);
  started.push(server);
  const { token } = await server.ready();
  const first = { token, panel: 'Cellar', name: 'Mira Host', passphrase: 'four words in a row' };
  expect((await post('/api/first-host', first)).status).toBe(200);

  expect(await backup(path)).toMatchObject({
    code: 0,
    err: '',
    out: expect.stringContaining('read once more'),
  });
  expect(await backup(path)).toMatchObject({ code: 1, err: expect.stringContaining('a file of that name') });
  expect(await restore(path)).toMatchObject({ code: 1, err: expect.stringContaining('stop it first') });
  expect(await signIn('Mira Host')).toBe(200);
  expect(await server.end('SIGTERM')).toBe(0);

  // One that is bent changes nothing; a copy cut off somewhere says so in one line.
  const bent = join(folder, 'bent.backup.gz');
  await writeFile(bent, (await readFile(path)).subarray(0, -9));
  const refused = await restore(bent);
  expect(refused).toMatchObject({ code: 1, err: expect.stringContaining('Nothing was changed.') });
  expect(refused.err.trim().split('\n').length).toBe(1);
  expect(await restore(join(folder, 'none'))).toMatchObject({
    code: 1,
    err: expect.stringContaining('there is no such file'),
  });
  expect(await ask('server/restore.ts', [])).toMatchObject({ code: 2 });
  expect((await readdir(join(folder, 'data'))).filter((name) => /before|restoring/.test(name))).toEqual([]);

  expect(await restore(path)).toMatchObject({ code: 0, err: '', out: expect.stringContaining('Restored.') });
  const inside = await readdir(join(folder, 'data'));
  expect(inside.filter((name) => /^database-before-\d{4}-\d\d-\d\d-\d{6}$/.test(name)).length).toBe(1);
  expect(inside).not.toContain('restoring');
  const again = await start();
  expect(await signIn('Mira Host')).toBe(200);
  expect(await again.end('SIGTERM')).toBe(0);
});

test('it moves to another machine: into an empty folder, from a stopped server, after a restore that was cut off', async () => {
  const server = new Started(env);
  started.push(server);
  const { token } = await server.ready();
  const first = { token, panel: 'Cellar', name: 'Mira Host', passphrase: 'four words in a row' };
  expect((await post('/api/first-host', first)).status).toBe(200);
  expect(await server.end('SIGTERM')).toBe(0);
  const path = join(folder, 'stopped.backup.gz');
  expect(await backup(path)).toMatchObject({ code: 0, err: '' });

  const other = { DATA_DIR: join(folder, 'other'), PORT: String(await freePort()) };
  // What a killed restore leaves: a database that is not whole.
  await cp(join(folder, 'data'), join(folder, 'other', 'restoring'), { recursive: true });
  const moved = await restore(path, other);
  expect(moved).toMatchObject({ code: 0, err: '' });
  expect(moved.out).not.toContain('What was there before');
  const there = await start(other);
  const known = await post(
    '/api/sign-in',
    { name: 'Mira Host', passphrase: 'four words in a row' },
    other.PORT,
  );
  expect(known.status).toBe(200);
  expect(await there.end('SIGTERM')).toBe(0);
});
