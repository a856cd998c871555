import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { freePort } from '@oddglass/server/boot/embedded-database.ts';
import { databasePid, newFolder, removeFolder, Started } from '../support/started.ts';

// A forgotten passphrase, as whoever runs the machine mends it: beside the server, and while it is stopped.

let folder: string;
let env: Record<string, string>;
let started: Started[];
const FIRST = 'four words in a row';
const SECOND = 'five other words this time';

beforeEach(async () => {
  folder = await newFolder();
  env = { DATA_DIR: join(folder, 'data'), PORT: String(await freePort()) };
  started = [];
});
afterEach(() => removeFolder(folder, started));

function run(script: string, ...words: string[]): Started {
  const one = new Started(env, script, words);
  started.push(one);
  return one;
}

const post = (address: string, path: string, body: object) =>
  fetch(address + path, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });

async function ask(...words: string[]): Promise<{ code: number | null; out: string; err: string }> {
  const one = run('server/passphrase.ts', ...words);
  const { code } = await one.exit();
  return { code, out: one.out, err: one.err };
}

const tokenIn = (out: string) => /\/bench\/passphrase#([\w-]{22})$/m.exec(out)?.[1];

test('a link is made beside a running server, and while it is stopped; it opens the account again', async () => {
  expect(await ask('Host')).toMatchObject({ code: 1, err: expect.stringContaining('There is no database') });
  const server = run('server/start.ts');
  const { address, token } = await server.ready();
  const first = { token, panel: 'Cellar', name: 'Mira Host', passphrase: FIRST };
  expect((await post(address, '/api/first-host', first)).status).toBe(200);

  const beside = await ask('mira', 'host');
  expect(beside).toMatchObject({ code: 0, err: '' });
  expect(beside.out).toContain(`http://localhost:${env['PORT']}/bench/passphrase#`);
  const replaced = await post(address, '/api/passphrase', {
    token: tokenIn(beside.out),
    passphrase: SECOND,
  });
  expect(replaced.status).toBe(200);
  expect(await ask('Nobody')).toMatchObject({ code: 1, err: expect.stringContaining('Nobody is called') });
  expect(await ask()).toMatchObject({ code: 2 });
  expect(await server.end('SIGTERM')).toBe(0);

  const stopped = await ask('Mira Host');
  expect(stopped).toMatchObject({ code: 0, err: '' });
  expect(stopped.out).toContain('Start the server before you open it.');
  // Nothing of it is left running, nor in the way of the next start.
  expect(databasePid(env['DATA_DIR'] ?? '')).toBeNull();
  const again = run('server/start.ts');
  await expect
    .poll(
      () =>
        fetch(`${address}/api/health`).then(
          ({ ok }) => ok,
          () => false,
        ),
      { timeout: 60_000 },
    )
    .toBe(true);
  const token2 = tokenIn(stopped.out);
  expect((await post(address, '/api/passphrase', { token: token2, passphrase: FIRST })).status).toBe(200);
  // The log says that it happened, and nothing that opens anything.
  await expect.poll(() => again.out).toContain('"security":"passphrase-changed"');
  expect(again.out + again.err).not.toContain(token2);
});
