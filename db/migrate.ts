import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { drizzle } from 'drizzle-orm/node-postgres';
import { migrate } from 'drizzle-orm/node-postgres/migrator';
import type pg from 'pg';

const folder = fileURLToPath(new URL('./migrations', import.meta.url));
// Any number will do as long as every process of ours takes the same one.
const MIGRATION_LOCK = 7_033_701;

/** The database holds migrations this code does not know: it was used by a newer version. */
export class DatabaseNewerError extends Error {
  constructor() {
    super('The database was written by a newer version of Oddglass.');
  }
}

/** Brings the database to the code's schema; processes that start together take turns. */
export async function migrateDatabase(pool: pg.Pool): Promise<void> {
  const client = await pool.connect();
  try {
    await client.query('select pg_advisory_lock($1)', [MIGRATION_LOCK]);
    if ((await newestApplied(client)) > (await newestKnown())) throw new DatabaseNewerError();
    await migrate(drizzle(client), { migrationsFolder: folder });
  } finally {
    await client.query('select pg_advisory_unlock($1)', [MIGRATION_LOCK]).catch(() => undefined);
    client.release();
  }
}

async function newestApplied(client: pg.PoolClient): Promise<number> {
  const table = await client.query("select to_regclass('drizzle.__drizzle_migrations') as name");
  if (table.rows[0]?.name === null) return 0;
  const newest = await client.query(
    'select coalesce(max(created_at), 0) as at from drizzle.__drizzle_migrations',
  );
  return Number(newest.rows[0].at);
}

async function newestKnown(): Promise<number> {
  const journal: { entries: { when: number }[] } = JSON.parse(
    await readFile(`${folder}/meta/_journal.json`, 'utf8'),
  );
  return Math.max(0, ...journal.entries.map((entry) => entry.when));
}
