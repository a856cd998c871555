import { randomBytes } from 'node:crypto';
import { openPool } from '@oddglass/db/pool.ts';
import pg from 'pg';
import { inject } from 'vitest';

export interface TestDatabase {
  url: string;
  pool: pg.Pool;
  drop: () => Promise<void>;
}

declare module 'vitest' {
  interface ProvidedContext {
    postgres: { adminUrl: string; template: string };
  }
}

/** A database of the test file's own, copied from the migrated template. */
export async function createTestDatabase(): Promise<TestDatabase> {
  const { adminUrl, template } = inject('postgres');
  const name = `oddglass_test_${randomBytes(6).toString('hex')}`;
  await asAdmin(adminUrl, `create database ${name} template ${template}`);
  const url = new URL(adminUrl);
  url.pathname = `/${name}`;
  // As the server opens its own.
  const pool = openPool(url.href, { connections: 10 });
  return {
    url: url.href,
    pool,
    drop: async () => {
      await pool.end();
      await asAdmin(adminUrl, `drop database if exists ${name} with (force)`);
    },
  };
}

/** One statement on a connection of its own. Copies of one template wait for one another: the lock orders them. */
export async function asAdmin(adminUrl: string, statement: string): Promise<void> {
  const client = new pg.Client({ connectionString: adminUrl });
  await client.connect();
  try {
    await client.query('select pg_advisory_lock(7033702)');
    await client.query(statement);
  } finally {
    await client.end();
  }
}
