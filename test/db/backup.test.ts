import { randomBytes } from 'node:crypto';
import { mkdtemp, readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync, gzipSync } from 'node:zlib';
import { judgeBackup, loadBackup } from '@oddglass/db/backup/load-backup.ts';
import { writeBackup } from '@oddglass/db/backup/write-backup.ts';
import { DatabaseNewerError, knownMigrations, migrateDatabase } from '@oddglass/db/migrate.ts';
import { openPool } from '@oddglass/db/pool.ts';
import { restoreOutside } from '@oddglass/server/boot/restore-database.ts';
import { buildApp } from '@oddglass/server/app.ts';
import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import pg from 'pg';
import { afterAll, afterEach, beforeAll, expect, inject, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  moved,
  newTrial,
  seated,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { asAdmin } from '../support/database.ts';
import { ballotFor, PASSPHRASE } from '../support/factories.ts';

// A backup is one moment of a database that others go on writing to; what is restored from it is that moment, row by row.

let server: TestServer;
let host: Hosted;
let folder: string;
let names: string[] = [];
const now = () => server.clock.now;

beforeAll(async () => {
  server = await startServer();
  host = await firstHost(server.app);
  await host.caller.ok<PanelView>('POST', '/api/panels/demo', {});
  folder = await mkdtemp(join(tmpdir(), 'oddglass-backup-'));
});
afterEach(async () => {
  for (const name of names)
    await asAdmin(inject('postgres').adminUrl, `drop database if exists ${name} with (force)`);
  names = [];
});
afterAll(async () => {
  await server.close();
  await rm(folder, { recursive: true });
});

async function emptyDatabase(): Promise<string> {
  const name = `oddglass_restored_${randomBytes(5).toString('hex')}`;
  names.push(name);
  await asAdmin(inject('postgres').adminUrl, `create database ${name}`);
  const url = new URL(inject('postgres').adminUrl);
  url.pathname = `/${name}`;
  return url.href;
}

/** Tables of a backup, each with its rows in an order of their own; without what tells when it was made. */
async function contentOf(path: string): Promise<Map<string, string[]>> {
  const lines = gunzipSync(await readFile(path))
    .toString('utf8')
    .split('\n');
  const content = new Map<string, string[]>();
  let rows: string[] | null = null;
  for (const line of lines.slice(1)) {
    const [, name] = /^\{"table":"(\w+)"\}$/.exec(line) ?? [];
    if (rows === null && name) content.set(name, (rows = []));
    else if (line === '\\.') {
      rows?.sort();
      rows = null;
    } else rows?.push(line);
  }
  return content;
}

/** Names some cup of the first tray as the odd one. */
async function answer(tablet: Caller): Promise<void> {
  const [tray] = (await tablet.ok<SeatView>('GET', '/api/seat')).trays;
  if (!tray) throw new Error('a seat has a tray');
  await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, tray.servings[0]?.code ?? ''));
}

let file = 0;
const nextFile = (): string => join(folder, `${(file += 1)}.backup.gz`);

test('a restored database holds the same rows in every table, and counts on where the other did', async () => {
  const path = nextFile();
  const { rows, head } = await writeBackup(server.database.url, path, now);
  expect(head.at).toBe(server.clock.now.toISOString());
  expect((await stat(path)).mode & 0o777).toBe(0o600);
  const url = await emptyDatabase();
  await loadBackup(url, path);
  const again = nextFile();
  expect((await writeBackup(url, again, now)).rows).toBe(rows);
  const [content, restored] = [await contentOf(path), await contentOf(again)];
  expect([...restored.keys()]).toEqual([...content.keys()]);
  for (const [name, own] of content) expect(restored.get(name), name).toEqual(own);
  // A demo fills nearly all there is: what it leaves empty is said, so that a new table is not passed over.
  const empty = [...content].filter(([, own]) => own.length === 0).map(([name]) => name);
  expect(empty.length, empty.join(', ')).toBeLessThan(content.size / 2);
  expect(content.size).toBe(head.tables.length);
  const counted = `select last_value::text as at, is_called as used from`;
  for (const { table, column } of head.counters) {
    const sequence = `pg_get_serial_sequence('public.${table}', '${column}')`;
    const ask = async (database: string) => {
      const client = new pg.Client({ connectionString: database });
      await client.connect();
      const [found] = (await client.query<{ name: string }>(`select ${sequence} as name`)).rows;
      const state = await client.query(`${counted} ${found?.name}`);
      await client.end();
      return state.rows;
    };
    expect(await ask(url), `${table}.${column}`).toEqual(await ask(server.database.url));
  }
  const sequences = await server.database.pool.query(
    "select 1 from pg_class where relkind = 'S' and relnamespace = 'public'::regnamespace",
  );
  expect(head.counters.length).toBe(sequences.rowCount);
});

test('while ballots come in, every session of a backup is whole: as many facts as its last number says', async () => {
  const trial = await newTrial(host);
  const open = await moved(host, await draft(host, trial, { assessors: 24, spareSeats: 0 }), 'seal', 'open');
  const tablets: Caller[] = [];
  for (let seat = 1; seat <= 24; seat += 1) tablets.push(await seated(server.app, open, seat));
  let at = 0;
  const more = async (): Promise<void> => {
    for (let next = tablets[at++]; next; next = tablets[at++]) await answer(next);
  };
  const paths = [nextFile(), nextFile(), nextFile()];
  const sending = Promise.all([more(), more()]);
  for (const path of paths) await writeBackup(server.database.url, path, now);
  await sending;
  const seen: number[] = [];
  for (const path of paths) {
    const url = await emptyDatabase();
    await loadBackup(url, path);
    const pool = openPool(url, { connections: 2 });
    const torn = await pool.query(
      `select s.id from session s left join session_event e on e.session_id = s.id
       group by s.id having s.last_seq <> count(e.seq) or s.last_seq <> coalesce(max(e.seq), 0)`,
    );
    expect(torn.rows).toEqual([]);
    const told = await pool.query<{ ballots: number; events: number }>(
      `select (select count(*)::int from ballot b join tray t on t.id = b.tray_id where t.session_id = $1) as ballots,
              (select count(*)::int from session_event where session_id = $1 and event->>'kind' = 'ballot-received') as events`,
      [open.id],
    );
    expect(told.rows[0]?.ballots).toBe(told.rows[0]?.events);
    seen.push(told.rows[0]?.ballots ?? NaN);
    await pool.end();
  }
  expect(seen).toEqual([...seen].sort((a, b) => a - b));
  expect(seen.every((ballots) => ballots <= 24)).toBe(true);
});

test('an evening that was under way goes on from a backup: it opens, takes answers, is revealed and published', async () => {
  const trial = await newTrial(host);
  const sealed = await moved(host, await draft(host, trial, { assessors: 3, spareSeats: 0 }), 'seal');
  const path = nextFile();
  await writeBackup(server.database.url, path, now);
  const url = await emptyDatabase();
  await loadBackup(url, path);
  const pool = openPool(url, { connections: 4 });
  const app = await buildApp({ pool, databaseUrl: url, clock: now });
  await app.ready();
  try {
    const caller = new Caller(app);
    await caller.ok('POST', '/api/sign-in', { name: 'Host', passphrase: PASSPHRASE });
    const back: Hosted = { caller, panel: host.panel };
    const open = await moved(back, await caller.ok<SessionView>('GET', `/api/sessions/${sealed.id}`), 'open');
    expect(open.root).toBe(sealed.root);
    for (let seat = 1; seat <= 3; seat += 1) {
      const tablet = await seated(app, open, seat);
      await answer(tablet);
    }
    const revealed = await moved(back, open, 'close', 'reveal');
    expect(revealed.state).toBe('revealed');
    await caller.ok('GET', `/api/sessions/${sealed.id}/result`);
    // What was published before can still be read, its package byte for byte.
    const { trials } = await caller.ok<PanelView>('GET', `/api/panels/${host.panel}`);
    expect(trials.length).toBeGreaterThan(0);
    const rows = await pool.query<{ id: string }>('select id from publication');
    expect(rows.rows.length).toBeGreaterThan(0);
  } finally {
    await app.close();
    await pool.end();
  }
  // The one it was taken from knows nothing of that.
  const still = await host.caller.ok<SessionView>('GET', `/api/sessions/${sealed.id}`);
  expect(still.state).toBe('sealed');
  const known = await host.caller.ok<TrialView>('GET', `/api/trials/${trial.id}`);
  expect(known.id).toBe(trial.id);
});

test('bent files are refused, each of twenty, before anything is touched', async () => {
  const path = nextFile();
  await writeBackup(server.database.url, path, now);
  const whole = await readFile(path);
  const text = gunzipSync(whole);
  const line = text.indexOf(10);
  const packed = (change: (bytes: Buffer) => Buffer): Buffer => gzipSync(change(Buffer.from(text)));
  const flipped = (bytes: Buffer, at: number): Buffer => {
    const bent = Buffer.from(bytes);
    bent[at] = (bent[at] ?? 0) ^ 1;
    return bent;
  };
  const without = (bytes: Buffer, from: number, to: number): Buffer =>
    Buffer.concat([bytes.subarray(0, from), bytes.subarray(to)]);
  const middle = text.indexOf(10, Math.floor(text.length / 2)) + 1;
  const head = JSON.parse(text.subarray(0, line).toString()) as Record<string, unknown> & {
    migrations: number[];
    tables: { name: string }[];
  };
  const withHead = (change: object): Buffer =>
    packed((bytes) =>
      Buffer.concat([Buffer.from(JSON.stringify({ ...head, ...change })), bytes.subarray(line)]),
    );
  const bent: Record<string, Buffer> = {
    'an empty file': Buffer.alloc(0),
    'other bytes': randomBytes(4_000),
    'text that is not packed': text,
    'the first half': whole.subarray(0, whole.length / 2),
    'all but the last byte': whole.subarray(0, -1),
    'a byte of the packing': flipped(whole, 4_000),
    'a byte near its end': flipped(whole, whole.length - 3),
    'a byte of the digest': packed((bytes) => flipped(bytes, bytes.length - 10)),
    'one letter of a row': packed((bytes) => flipped(bytes, middle + 2)),
    'a row gone': packed((bytes) => without(bytes, middle, bytes.indexOf(10, middle) + 1)),
    'a row twice': packed((bytes) =>
      Buffer.concat([
        bytes.subarray(0, bytes.indexOf(10, middle) + 1),
        bytes.subarray(middle, bytes.indexOf(10, middle) + 1),
        bytes.subarray(bytes.indexOf(10, middle) + 1),
      ]),
    ),
    'its last line gone': packed((bytes) => bytes.subarray(0, bytes.lastIndexOf(10, bytes.length - 2) + 1)),
    'its last line cut': packed((bytes) => bytes.subarray(0, -20)),
    'something behind it': packed((bytes) => Buffer.concat([bytes, Buffer.from('x\n')])),
    'the head gone': packed((bytes) => bytes.subarray(line + 1)),
    'a head of something else': packed(() => Buffer.from('{"hello":1}\n')),
    'another time in the head': withHead({ at: '2031-03-05T00:00:00.000Z' }),
    'another form': withHead({ oddglassBackup: 2 }),
    'a table less in the head': withHead({ tables: head.tables.slice(1) }),
    'no migrations': withHead({ migrations: [] }),
  };
  expect(Object.keys(bent).length).toBe(20);
  for (const [what, bytes] of Object.entries(bent)) {
    const at = nextFile();
    await writeFile(at, bytes);
    await expect(judgeBackup(at), what).rejects.toThrow(
      /no backup|not known|missing|digest|unpacked|cut off|follows/,
    );
  }
});

test('one that a newer version wrote is refused, and so are tables that no version had', async () => {
  const path = nextFile();
  await writeBackup(server.database.url, path, now);
  await server.database.pool.query(
    "insert into drizzle.__drizzle_migrations (hash, created_at) values ('newer', $1)",
    [Math.max(...(await knownMigrations())) + 1],
  );
  const newer = nextFile();
  await writeBackup(server.database.url, newer, now);
  await server.database.pool.query("delete from drizzle.__drizzle_migrations where hash = 'newer'");
  await expect(judgeBackup(newer)).rejects.toThrow(DatabaseNewerError);
  await server.database.pool.query(
    "insert into drizzle.__drizzle_migrations (hash, created_at) values ('other', 7)",
  );
  const other = nextFile();
  await writeBackup(server.database.url, other, now);
  await server.database.pool.query("delete from drizzle.__drizzle_migrations where hash = 'other'");
  await expect(judgeBackup(other)).rejects.toThrow('none that a version of Oddglass had');
});

test.each([1, 4, 7])(
  'one of an earlier version, with %i changes of its tables, is brought to today',
  async (count) => {
    const old = await emptyDatabase();
    const pool = new pg.Pool({ connectionString: old, max: 1 });
    await migrateDatabase(pool, count);
    await pool.query(
      "insert into account (id, name, passphrase_hash, created_at) values ('00000000-0000-4000-8000-000000000001', 'Earlier', 'x', now())",
    );
    await pool.end();
    const path = nextFile();
    const { head } = await writeBackup(old, path, now);
    expect(head.migrations.length).toBe(count);
    const url = await emptyDatabase();
    await loadBackup(url, path);
    const restored = new pg.Pool({ connectionString: url, max: 1 });
    const names = await restored.query<{ name: string }>('select name from account');
    const applied = await restored.query<{ at: number }>(
      'select count(*)::int as at from drizzle.__drizzle_migrations',
    );
    await restored.end();
    expect(names.rows).toEqual([{ name: 'Earlier' }]);
    expect(applied.rows[0]?.at).toBe((await knownMigrations()).length);
  },
);

test('into a database in use nothing is restored; into one at rest, what it held stays beside', async () => {
  const path = nextFile();
  await writeBackup(server.database.url, path, now);
  const url = await emptyDatabase();
  const pool = openPool(url, { connections: 1 });
  await migrateDatabase(pool);
  await pool.query(
    "insert into account (id, name, passphrase_hash, created_at) values ('00000000-0000-4000-8000-000000000002', 'Kept', 'x', now())",
  );
  await expect(restoreOutside(url, path, server.clock.now)).rejects.toThrow('stop it first');
  await pool.end();
  const kept = await restoreOutside(url, path, new Date('2031-03-04T18:30:05Z'));
  expect(kept).toMatch(/^the schemas \w+_before_2031_03_04_183005 and \w+_before_2031_03_04_183005$/);
  const after = new pg.Pool({ connectionString: url, max: 1 });
  const present = await after.query<{ name: string }>('select name from public.account order by name');
  const before = await after.query<{ name: string }>(
    'select name from public_before_2031_03_04_183005.account',
  );
  await after.end();
  expect(present.rows.map(({ name }) => name)).toContain('Host');
  expect(before.rows).toEqual([{ name: 'Kept' }]);
});

test('a load that fails leaves a database of one’s own as it was', async () => {
  const path = nextFile();
  await writeBackup(server.database.url, path, now);
  // Whole by its digest, and yet no row fits: the second table's rows stand in the place of the first's.
  const url = await emptyDatabase();
  const pool = openPool(url, { connections: 1 });
  await migrateDatabase(pool);
  await pool.query(
    "insert into account (id, name, passphrase_hash, created_at) values ('00000000-0000-4000-8000-000000000002', 'Kept', 'x', now())",
  );
  await pool.end();
  const bent = nextFile();
  await writeFile(bent, await unfit(path));
  await expect(restoreOutside(url, bent, server.clock.now)).rejects.toThrow();
  const after = new pg.Pool({ connectionString: url, max: 1 });
  const schemas = await after.query<{ name: string }>(
    "select nspname as name from pg_namespace where nspname like '%before%'",
  );
  const names = await after.query<{ name: string }>('select name from account');
  await after.end();
  expect(schemas.rows).toEqual([]);
  expect(names.rows).toEqual([{ name: 'Kept' }]);
});

/** A backup with a fitting digest in which an account has no name. */
async function unfit(path: string): Promise<Buffer> {
  const { createHash } = await import('node:crypto');
  const text = gunzipSync(await readFile(path)).toString('utf8');
  const body = text.slice(0, text.lastIndexOf('\n', text.length - 2) + 1).replaceAll('\tHost\t', '\t\\N\t');
  const sha256 = createHash('sha256').update(body).digest('hex');
  return gzipSync(`${body}${JSON.stringify({ sha256 })}\n`);
}

test('a name that is taken stays what it is, and nothing half written is left', async () => {
  const path = nextFile();
  await writeFile(path, 'mine');
  await expect(writeBackup(server.database.url, path, now)).rejects.toThrow('EEXIST');
  expect(await readFile(path, 'utf8')).toBe('mine');
  const gone = nextFile();
  const nowhere = new URL(server.database.url);
  nowhere.pathname = '/not_there';
  await expect(writeBackup(nowhere.href, gone, now)).rejects.toThrow('does not exist');
  expect((await readdir(folder)).filter((name) => name.startsWith(String(file)))).toEqual([]);
});
