import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, expect, test } from 'vitest';
import { databasePid, newFolder, removeFolder, Started } from '../support/started.ts';

// A supervisor that restarts what failed reads the exit code: 0 only when the stop was asked for.

const root = fileURLToPath(new URL('../..', import.meta.url));
const started: Started[] = [];
let folder = '';
afterEach(async () => {
  if (folder) await removeFolder(folder, started);
});

test('waiting for what never comes keeps the process alive until the time is over', () => {
  const script = `
    import { within } from './server/boot/embedded-database.ts';
    const inTime = await within(new Promise(() => undefined), 200);
    process.exit(inTime ? 1 : 7);`;
  const { status } = spawnSync(process.execPath, ['--input-type=module', '-e', script], { cwd: root });
  expect(status).toBe(7);
});

test('a server that ends because its database did ends with 1, also when a signal follows', async () => {
  folder = await newFolder();
  const server = new Started({ DATA_DIR: join(folder, 'data'), PORT: '0' });
  started.push(server);
  await server.ready();
  process.kill(databasePid(join(folder, 'data')) ?? 0, 'SIGQUIT');
  await wait(100);
  server.child.kill('SIGTERM');
  expect((await server.exit()).code).not.toBe(0);
});
