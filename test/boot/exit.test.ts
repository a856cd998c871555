import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { freePort } from '@oddglass/server/boot/embedded-database.ts';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createTestDatabase, type TestDatabase } from '../support/database.ts';
import { Wire } from '../support/wire.ts';
import { databasePid, killDatabase, newFolder, removeFolder, Started } from '../support/started.ts';

// Whoever watches over the process starts it again unless its code is 0: that one is for a stop that was asked for.

const PLANTED = 'test/support/planted-failure.ts';

let folder: string;
let data: string;
let started: Started[];
let outside: TestDatabase | undefined;

async function start(planted: string, env: Record<string, string> = {}): Promise<Started> {
  const port = String(await freePort());
  const one = new Started({ DATA_DIR: data, PORT: port, PLANTED: planted, ...env }, PLANTED);
  started.push(one);
  return one;
}

beforeEach(async () => {
  folder = await newFolder();
  data = join(folder, 'data');
  started = [];
});

afterEach(async () => {
  await removeFolder(folder, started);
  await outside?.drop();
  outside = undefined;
});

async function outsideUrl(): Promise<string> {
  outside = await createTestDatabase();
  return outside.url;
}

test.each(['error', 'error hanging-stop'])(
  '%s: stops, and the code says that nobody asked',
  async (planted) => {
    const one = await start(planted, { DATABASE_URL: await outsideUrl() });
    expect(await one.exit(), one.out + one.err).toEqual({ code: 1, signal: null });
    expect(one.err).toContain('because of an error of its own');
  },
);

test('the embedded database is lost for good while the stop hangs: the code says so', async () => {
  const one = await start('hanging-stop');
  await one.ready();
  killDatabase(data);
  expect(await one.exit(), one.out + one.err).toEqual({ code: 1, signal: null });
  expect(one.err).toContain('The database ended by itself');
});

test('a stop that was asked for ends with 0, a step of it that hangs included', async () => {
  const one = await start('hanging-stop', { DATABASE_URL: await outsideUrl() });
  await one.ready();
  expect(await one.end('SIGTERM'), one.out + one.err).toBe(0);
});

test('one worker of the embedded database is killed: the server goes on', async () => {
  const one = await start('');
  const { address } = await one.ready();
  const health = (): Promise<number> =>
    fetch(`${address}/api/health`).then(
      (answer) => answer.status,
      () => 0,
    );
  expect(await health()).toBe(200);
  const workers = spawnSync('pgrep', ['-P', String(databasePid(data)), '-f', '127.0.0.1'], {
    encoding: 'utf8',
  });
  const victim = Number(workers.stdout.trim().split('\n')[0]);
  expect(victim).toBeGreaterThan(0);
  process.kill(victim, 'SIGKILL');
  await expect.poll(health, { timeout: 60_000 }).toBe(200);
  expect(one.child.exitCode).toBeNull();
  expect(await one.end('SIGTERM')).toBe(0);
});

test('the database is away: pages say when to come again, and show again once it is back', async () => {
  const wire = await Wire.to(await outsideUrl());
  try {
    const one = await start('', { DATABASE_URL: wire.url });
    const { address } = await one.ready();
    const bench = () => fetch(`${address}/bench`, { headers: { cookie: 'oddglass=nobody' } });
    expect((await bench()).status).toBe(200);
    wire.refuse();
    const away = await bench();
    expect(away.status).toBe(503);
    expect(away.headers.get('retry-after')).toBe('2');
    wire.restore();
    await expect.poll(async () => (await bench()).status, { timeout: 15_000 }).toBe(200);
    expect(await one.end('SIGTERM')).toBe(0);
  } finally {
    await wire.close();
  }
});
