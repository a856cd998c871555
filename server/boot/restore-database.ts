import { access, copyFile, mkdir, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { loadBackup } from '@oddglass/db/backup/load-backup.ts';
import pg from 'pg';
import type { Config } from './config.ts';
import { openDataFolder } from './data-folder.ts';
import { keepPassword, startEmbeddedDatabase, stopLeftover } from './embedded-database.ts';
import { StartRefusal } from './start-refusal.ts';
import { Undo } from './undo.ts';

/**
 * Loads a backup into a new database beside the one of the data folder, and puts it in its place when it is whole.
 * @returns the folder in which what was there before is kept; null when there was nothing.
 * @throws StartRefusal when a server runs on the folder.
 */
export async function restoreEmbedded(
  config: Config,
  file: string,
  now: Date,
  say: (line: string) => void,
  undo: Undo,
): Promise<string | null> {
  const folder = await openDataFolder(config.dataDir);
  undo.add(folder.release);
  const draft = join(folder.path, 'restoring');
  // Of a restore that was cut off.
  await stopLeftover(join(draft, 'database'), say);
  await rm(draft, { recursive: true, force: true });
  await mkdir(draft, { mode: 0o755 });
  const inner = new Undo();
  undo.add(() => inner.run());
  try {
    await keepPassword(folder.path);
    await copyFile(join(folder.path, 'database-password'), join(draft, 'database-password'));
    const { url } = await startEmbeddedDatabase(draft, say, inner);
    await loadBackup(url, file);
    await inner.run();
    const [present, next] = [join(folder.path, 'database'), join(draft, 'database')];
    const before = (await isThere(present)) ? await freeName(`${present}-before-${stampOf(now)}`) : null;
    if (before) await rename(present, before);
    await rename(next, present);
    return before;
  } finally {
    await inner.run();
    await rm(draft, { recursive: true, force: true });
  }
}

/**
 * Loads a backup into a database of the operator's own. What it holds is put aside as schemas of another name, and comes
 * back when the load fails.
 * @returns the names of those schemas; null when there was nothing.
 * @throws StartRefusal when a server works on it.
 */
export async function restoreOutside(databaseUrl: string, file: string, now: Date): Promise<string | null> {
  const client = new pg.Client({ connectionString: databaseUrl, application_name: 'oddglass restore' });
  client.on('error', () => undefined);
  await client.connect();
  try {
    await refuseBusy(client);
    const aside = await putAside(client, stampOf(now));
    try {
      await loadBackup(databaseUrl, file);
    } catch (error) {
      await putBack(client, aside);
      throw error;
    }
    return aside.length > 0 ? `the schemas ${aside.map(({ kept }) => kept).join(' and ')}` : null;
  } finally {
    await client.end();
  }
}

const SCHEMAS = ['public', 'drizzle'] as const;

interface Aside {
  schema: (typeof SCHEMAS)[number];
  kept: string;
}

async function refuseBusy(client: pg.Client): Promise<void> {
  const { rows } = await client.query<{ at: number }>(
    `select count(*)::int as at from pg_stat_activity
     where datname = current_database() and application_name = 'oddglass' and pid <> pg_backend_pid()`,
  );
  if (rows[0] && rows[0].at > 0)
    throw new StartRefusal('A server is at work on this database: stop it first. Nothing was changed.');
}

/** In one transaction: a power cut leaves all of it where it was, or all of it put aside. */
async function putAside(client: pg.Client, stamp: string): Promise<Aside[]> {
  const found = await client.query<{ name: Aside['schema'] }>(
    `select distinct n.nspname as name from pg_namespace n join pg_class c on c.relnamespace = n.oid
     where n.nspname = any($1) and c.relkind = 'r'`,
    [SCHEMAS],
  );
  const aside = found.rows.map(({ name }) => ({
    schema: name,
    kept: `${name}_before_${stamp.replaceAll('-', '_')}`,
  }));
  await client.query('begin');
  try {
    for (const { schema, kept } of aside) await client.query(`alter schema ${schema} rename to ${kept}`);
    await client.query('create schema if not exists public');
    await client.query('commit');
  } catch (error) {
    await client.query('rollback');
    throw error;
  }
  return aside;
}

async function putBack(client: pg.Client, aside: readonly Aside[]): Promise<void> {
  await client.query('begin');
  for (const schema of SCHEMAS) await client.query(`drop schema if exists ${schema} cascade`);
  for (const { schema, kept } of aside) await client.query(`alter schema ${kept} rename to ${schema}`);
  await client.query('create schema if not exists public');
  await client.query('commit');
}

const stampOf = (now: Date): string => now.toISOString().slice(0, 19).replace('T', '-').replaceAll(':', '');

const isThere = (path: string): Promise<boolean> =>
  access(path).then(
    () => true,
    () => false,
  );

async function freeName(wanted: string): Promise<string> {
  for (let number = 1; ; number += 1) {
    const name = number === 1 ? wanted : `${wanted}-${number}`;
    if (!(await isThere(name))) return name;
  }
}
