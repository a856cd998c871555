import { randomBytes } from 'node:crypto';
import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { migrateDatabase } from '@oddglass/db/migrate.ts';
import { startEmbeddedDatabase } from '@oddglass/server/boot/embedded-database.ts';
import { Undo } from '@oddglass/server/boot/undo.ts';
import pg from 'pg';
import type { TestProject } from 'vitest/node';
import { asAdmin } from './database.ts';
import { settingUp } from './setup-error.ts';

// Tests of rules need no durability; the tests of faults and of starting run a server with its settings untouched.
const SETTINGS = { fsync: 'off', max_connections: '300' };

/** One PostgreSQL for the run: the one DATABASE_URL names, else an embedded one in a folder of its own. */
export default function setup(project: TestProject): Promise<() => Promise<void>> {
  return settingUp(() => open(project));
}

async function open(project: TestProject): Promise<() => Promise<void>> {
  const outside = process.env['TEST_DATABASE_URL'] ?? process.env['DATABASE_URL'];
  const undo = new Undo();
  try {
    const adminUrl = outside ?? (await startEmbedded(undo));
    const template = `oddglass_template_${randomBytes(6).toString('hex')}`;
    await asAdmin(adminUrl, `create database ${template}`);
    undo.add(() => asAdmin(adminUrl, `drop database if exists ${template} with (force)`));
    const url = new URL(adminUrl);
    url.pathname = `/${template}`;
    const pool = new pg.Pool({ connectionString: url.href });
    await migrateDatabase(pool).finally(() => pool.end());
    project.provide('postgres', { adminUrl, template });
  } catch (error) {
    await undo.run();
    throw error;
  }
  return () => undo.run();
}

/** Ours, not the package's own: importing that one hooks the end of this process and makes its exit code 0. */
async function startEmbedded(undo: Undo): Promise<string> {
  const folder = await mkdtemp(join(tmpdir(), 'oddglass-test-'));
  undo.add(() => rm(folder, { recursive: true, force: true, maxRetries: 5 }));
  // As root the server runs as a user of its own, who has to get through the folder above its own.
  await chmod(folder, 0o755);
  const { url } = await startEmbeddedDatabase(folder, () => undefined, undo, SETTINGS);
  return url;
}
