import { createHash } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { open, rename, rm } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { createGzip } from 'node:zlib';
import pg from 'pg';
import { to as copyTo } from 'pg-copy-streams';
import { MIGRATION_LOCK } from '../migrate.ts';
import { checkBackup, END_OF_ROWS, FORMAT, type BackupHead, type BackupTable } from './backup-format.ts';

// How values look must not depend on how this database is set.
const PLAIN = [
  "set local client_encoding = 'UTF8'",
  "set local datestyle = 'ISO'",
  "set local timezone = 'UTC'",
  "set local intervalstyle = 'postgres'",
  "set local bytea_output = 'hex'",
  'set local extra_float_digits = 1',
  // A backup takes as long as it takes; what it reads is one moment, however long that is.
  'set local statement_timeout = 0',
  'set local idle_in_transaction_session_timeout = 0',
];

/**
 * Writes the whole database as it is at one moment into one file, while others go on writing to it, and reads the file once
 * more to its end. The file appears under its name when it is whole and on disk; nobody but its owner can read it.
 * @throws when a file of that name stands there, or on any error of disk or database; nothing is left behind then.
 */
export async function writeBackup(
  databaseUrl: string,
  path: string,
  now: () => Date,
): Promise<{ head: BackupHead; rows: number }> {
  // Its name is taken before anything is written, so that two runs cannot both think it free.
  const file = await open(path, 'wx', 0o600);
  await file.close();
  const draft = `${path}.part`;
  const client = new pg.Client({ connectionString: databaseUrl, application_name: 'oddglass backup' });
  try {
    await client.connect();
    // Migrations wait, and are waited for.
    await client.query('select pg_advisory_lock_shared($1)', [MIGRATION_LOCK]);
    await client.query('begin transaction isolation level repeatable read read only');
    for (const setting of PLAIN) await client.query(setting);
    const head = await readHead(client, now);
    await pipeline(
      Readable.from(linesOf(client, head)),
      createGzip({ level: 6 }),
      createWriteStream(draft, { mode: 0o600, flush: true }),
    );
    await client.query('commit');
    const checked = await checkBackup(draft);
    await rename(draft, path);
    return checked;
  } catch (error) {
    await Promise.all([draft, path].map((gone) => rm(gone, { force: true })));
    throw error;
  } finally {
    await client.end();
  }
}

async function* linesOf(client: pg.Client, head: BackupHead): AsyncGenerator<Buffer> {
  const hash = createHash('sha256');
  const told = (text: Buffer | string): Buffer => {
    const bytes = Buffer.from(text);
    hash.update(bytes);
    return bytes;
  };
  yield told(`${JSON.stringify(head)}\n`);
  for (const table of head.tables) {
    yield told(`${JSON.stringify({ table: table.name })}\n`);
    const rows = client.query(copyTo(`copy (${selectOf(table)}) to stdout`));
    for await (const chunk of rows) yield told(chunk as Buffer);
    yield told(`${END_OF_ROWS}\n${JSON.stringify({ rows: rows.rowCount })}\n`);
  }
  yield Buffer.from(`${JSON.stringify({ sha256: hash.digest('hex') })}\n`);
}

const selectOf = ({ name, columns }: BackupTable): string =>
  `select ${columns.map(quoted).join(', ')} from public.${quoted(name)}`;

async function readHead(client: pg.Client, now: () => Date): Promise<BackupHead> {
  // The first statement fixes the moment that is read.
  const applied = await client.query<{ at: string }>(
    'select created_at as at from drizzle.__drizzle_migrations order by created_at',
  );
  const at = now().toISOString();
  const columns = await client.query<BackupTable>(
    `select c.relname as name, array_agg(a.attname::text order by a.attnum) as columns
     from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
     where c.relnamespace = 'public'::regnamespace and c.relkind = 'r'
     group by c.relname order by c.relname`,
  );
  const refers = await client.query<{ from: string; to: string }>(
    `select distinct f.relname as from, t.relname as to
     from pg_constraint k join pg_class f on f.oid = k.conrelid join pg_class t on t.oid = k.confrelid
     where k.contype = 'f' and f.relnamespace = 'public'::regnamespace and f.oid <> t.oid`,
  );
  return {
    oddglassBackup: FORMAT,
    at,
    migrations: applied.rows.map((row) => Number(row.at)),
    tables: inOrder(columns.rows, refers.rows),
    counters: await readCounters(client, columns.rows),
  };
}

async function readCounters(client: pg.Client, tables: BackupTable[]): Promise<BackupHead['counters']> {
  const counters: BackupHead['counters'] = [];
  for (const { name, columns } of tables) {
    for (const column of columns) {
      const { rows } = await client.query<{ counter: string | null }>(
        'select pg_get_serial_sequence($1, $2) as counter',
        [`public.${quoted(name)}`, column],
      );
      const counter = rows[0]?.counter;
      if (!counter) continue;
      const state = await client.query<{ last: string; used: boolean }>(
        `select last_value::text as last, is_called as used from ${counter}`,
      );
      const [found] = state.rows;
      if (found) counters.push({ table: name, column, ...found });
    }
  }
  return counters;
}

/** Each table after all that it refers to. @throws where two refer to each other. */
function inOrder(
  tables: readonly BackupTable[],
  refers: readonly { from: string; to: string }[],
): BackupTable[] {
  const ordered: BackupTable[] = [];
  let open = [...tables];
  while (open.length > 0) {
    const ready = open.filter(({ name }) =>
      refers.every(({ from, to }) => from !== name || open.every((other) => other.name !== to)),
    );
    if (ready.length === 0) throw new Error('tables refer to each other in a circle');
    ordered.push(...ready);
    open = open.filter((table) => !ready.includes(table));
  }
  return ordered;
}

export const quoted = (name: string): string => pg.escapeIdentifier(name);
