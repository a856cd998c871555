import { access, realpath } from 'node:fs/promises';
import { join } from 'node:path';
import { migrateDatabase } from '@oddglass/db/migrate.ts';
import pg from 'pg';
import type { Config } from './config.ts';
import { runningDatabaseUrl, startEmbeddedDatabase } from './embedded-database.ts';
import { takeLock } from './lock-file.ts';
import { StartRefusal } from './start-refusal.ts';
import type { Undo } from './undo.ts';

export interface ReachedDatabase {
  url: string;
  /** A server is, or may be, at work on it. */
  running: boolean;
}

/**
 * The database for a command beside the server: the outside one, that of the server which runs on the data folder, or the
 * one in there, started for as long as the command takes.
 *
 * @throws StartRefusal when there is none yet.
 */
export async function reachDatabase(
  config: Config,
  say: (line: string) => void,
  undo: Undo,
): Promise<ReachedDatabase> {
  if (config.databaseUrl) return { url: config.databaseUrl, running: true };
  const folder = await realpath(config.dataDir).catch(() => config.dataDir);
  await access(join(folder, 'database')).catch(() => {
    throw new StartRefusal(
      `There is no database in ${folder}: set DATA_DIR as for the server, and be the user who runs it.`,
    );
  });
  const lock = await takeLock(join(folder, 'oddglass.lock'));
  if ('heldBy' in lock) {
    const url = await runningDatabaseUrl(folder);
    if (url === null)
      throw new StartRefusal(
        `The server on ${folder} (process ${lock.heldBy}) is starting or stopping: ask again in a moment.`,
      );
    return { url, running: true };
  }
  undo.add(lock.release);
  const { url } = await startEmbeddedDatabase(folder, say, undo);
  const pool = new pg.Pool({ connectionString: url, max: 1 });
  pool.on('error', () => undefined);
  try {
    await migrateDatabase(pool);
  } finally {
    await pool.end();
  }
  return { url, running: false };
}
