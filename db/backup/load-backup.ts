import { once } from 'node:events';
import pg from 'pg';
import { from as copyFrom } from 'pg-copy-streams';
import { DatabaseNewerError, knownMigrations, migrateDatabase } from '../migrate.ts';
import { BackupDamagedError, checkBackup, openBackup, type BackupHead } from './backup-format.ts';
import { quoted } from './write-backup.ts';

/**
 * Reads a backup to its end, and holds it against what this code knows, before anything is touched.
 * @throws BackupDamagedError, or DatabaseNewerError for one that a newer version wrote.
 */
export async function judgeBackup(path: string): Promise<{ head: BackupHead; rows: number }> {
  const checked = await checkBackup(path);
  const known = await knownMigrations();
  const { migrations } = checked.head;
  if (migrations.some((at) => at > Math.max(...known))) throw new DatabaseNewerError();
  if (migrations.some((at, place) => at !== known[place]))
    throw new BackupDamagedError('its tables are none that a version of Oddglass had');
  return checked;
}

/**
 * Loads a backup into an empty database: its tables as they were then, all rows in one transaction, then what was changed of
 * the tables since. Until the rows are committed there is nothing but empty tables.
 * @throws as judgeBackup; an error of the database when it is not empty.
 */
export async function loadBackup(databaseUrl: string, path: string): Promise<void> {
  const { head } = await judgeBackup(path);
  const pool = new pg.Pool({ connectionString: databaseUrl, max: 1, application_name: 'oddglass restore' });
  pool.on('error', () => undefined);
  try {
    await migrateDatabase(pool, head.migrations.length);
    const client = await pool.connect();
    try {
      await client.query('begin');
      await client.query("set local client_encoding = 'UTF8'");
      await client.query('set local statement_timeout = 0');
      const { tables } = await openBackup(path);
      for await (const { table, rows } of tables) {
        const columns = table.columns.map(quoted).join(', ');
        const into = client.query(copyFrom(`copy public.${quoted(table.name)} (${columns}) from stdin`));
        await feed(into, rows);
      }
      for (const { table, column, last, used } of head.counters)
        await client.query('select setval(pg_get_serial_sequence($1, $2), $3, $4)', [
          `public.${quoted(table)}`,
          column,
          last,
          used,
        ]);
      await client.query('commit');
      client.release();
    } catch (error) {
      // With it goes what was not committed.
      client.release(true);
      throw error;
    }
    await migrateDatabase(pool);
  } finally {
    await pool.end();
  }
}

async function feed(into: ReturnType<typeof copyFrom>, rows: AsyncGenerator<Buffer>): Promise<void> {
  const done = new Promise<void>((resolve, reject) => {
    into.once('finish', resolve);
    into.once('error', reject);
  });
  // Heard from here on, also while rows are still being read.
  done.catch(() => undefined);
  const NEWLINE = Buffer.from('\n');
  try {
    for await (const row of rows) {
      if (into.destroyed) break;
      if (!into.write(Buffer.concat([row, NEWLINE]))) await Promise.race([once(into, 'drain'), done]);
    }
  } catch (error) {
    into.destroy();
    throw error;
  }
  into.end();
  await done;
}
