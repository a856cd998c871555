import { copyFile, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { drizzle } from 'drizzle-orm/node-postgres';
import { migrate } from 'drizzle-orm/node-postgres/migrator';
import type pg from 'pg';

const folder = fileURLToPath(new URL('./migrations', import.meta.url));
// Any number will do as long as every process of ours takes the same one.
export const MIGRATION_LOCK = 7_033_701;

/** The database holds migrations this code does not know: it was used by a newer version. */
export class DatabaseNewerError extends Error {
  constructor() {
    super('The database was written by a newer version of Oddglass.');
  }
}

/**
 * Brings the database to the code's schema, or no further than its first `count` changes, as it stood in an earlier version;
 * processes that start together take turns.
 */
export async function migrateDatabase(pool: pg.Pool, count?: number): Promise<void> {
  const client = await pool.connect();
  try {
    await client.query('select pg_advisory_lock($1)', [MIGRATION_LOCK]);
    if ((await newestApplied(client)) > Math.max(0, ...(await knownMigrations())))
      throw new DatabaseNewerError();
    if (count === undefined) await migrate(drizzle(client), { migrationsFolder: folder });
    else await migrateThrough(client, count);
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

interface Journal {
  entries: { when: number; tag: string }[];
}

const readJournal = async (): Promise<Journal> =>
  JSON.parse(await readFile(join(folder, 'meta/_journal.json'), 'utf8')) as Journal;

/** The times by which migrations are known, in their order. */
export async function knownMigrations(): Promise<number[]> {
  return (await readJournal()).entries.map(({ when }) => when);
}

/** The migrator takes a folder: it is given one with the first of them. */
async function migrateThrough(client: pg.PoolClient, count: number): Promise<void> {
  const journal = await readJournal();
  const first = await mkdtemp(join(tmpdir(), 'oddglass-migrations-'));
  try {
    const entries = journal.entries.slice(0, count);
    await mkdir(join(first, 'meta'));
    await writeFile(join(first, 'meta/_journal.json'), JSON.stringify({ ...journal, entries }));
    for (const { tag } of entries) await copyFile(join(folder, `${tag}.sql`), join(first, `${tag}.sql`));
    await migrate(drizzle(client), { migrationsFolder: first });
  } finally {
    await rm(first, { recursive: true });
  }
}
