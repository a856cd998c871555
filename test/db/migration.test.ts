import { readFile } from 'node:fs/promises';
import { sessionEvent as eventContract } from '@oddglass/shared/contracts/live.ts';
import { answer } from '@oddglass/shared/contracts/ballot.ts';
import { progress } from '@oddglass/shared/contracts/seat.ts';
import { sessionSettings } from '@oddglass/shared/contracts/session.ts';
import { migrateDatabase } from '@oddglass/db/migrate.ts';
import pg from 'pg';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';

// A database as the first version left it, with one triangle evening under way, is brought to today's form.

const id = (number: number) => `00000000-0000-4000-8000-${String(number).padStart(12, '0')}`;
const NAME = 'oddglass_upgrade';
let admin: pg.Client;
let pool: pg.Pool;

beforeAll(async () => {
  const { adminUrl: url } = inject('postgres');
  admin = new pg.Client({ connectionString: url });
  await admin.connect();
  await admin.query(`create database ${NAME}`);
  const database = new URL(url);
  database.pathname = `/${NAME}`;
  pool = new pg.Pool({ connectionString: database.href, max: 2 });
  // Dropping the database ends what is still connected to it.
  pool.on('error', () => undefined);
});
afterAll(async () => {
  await pool.end();
  await admin.query(`drop database ${NAME} with (force)`);
  await admin.end();
});

async function firstVersion(): Promise<void> {
  const folder = new URL('../../db/migrations/', import.meta.url);
  const journal = JSON.parse(await readFile(new URL('meta/_journal.json', folder), 'utf8')) as {
    entries: { when: number; tag: string }[];
  };
  const [first] = journal.entries;
  const sql = await readFile(new URL(`${first!.tag}.sql`, folder), 'utf8');
  for (const statement of sql.split('--> statement-breakpoint')) await pool.query(statement);
  await pool.query('create schema drizzle');
  await pool.query(
    'create table drizzle.__drizzle_migrations (id serial primary key, hash text not null, created_at bigint)',
  );
  await pool.query('insert into drizzle.__drizzle_migrations (hash, created_at) values ($1, $2)', [
    'first',
    first!.when,
  ]);
}

test('sessions of the first version go on as sessions of one part', async () => {
  await firstVersion();
  const [panel, trial, session, seat, tray, cup] = [1, 2, 3, 4, 5, 6].map(id);
  const [one, two] = [7, 8].map(id);
  const old = {
    kind: 'triangle',
    title: 'Pale beer, day 21',
    armIds: [one, two],
    assessors: 1,
    spareSeats: 0,
    replicates: 2,
    alpha: 0.05,
    aim: 'difference',
    meaningfulShare: 0.5,
    beta: 0.2,
    cupMl: 40,
    restSeconds: 60,
    masking: false,
    servingNote: '',
  };
  await pool.query(`insert into panel values ($1, 'Panel', false, now())`, [panel]);
  await pool.query(`insert into trial values ($1, $2, 'Trial', 'Why?', 'temperature', '', now())`, [
    trial,
    panel,
  ]);
  for (const [place, arm] of [one, two].entries()) {
    await pool.query(
      `insert into arm (id, trial_id, position, name, differs, volume_ml, abv, allergens) values ($1, $2, $3, $4, 'x', 1000, 4, '{}')`,
      [arm, trial, place, `Arm ${place}`],
    );
  }
  await pool.query(
    `insert into session (id, panel_id, trial_id, kind, state, blinding, settings, root, created_at, last_seq)
     values ($1, $2, $3, 'triangle', 'open', 'double', $4, 'ab', now(), 2)`,
    [session, panel, trial, old],
  );
  await pool.query(
    `insert into seat (id, session_id, number, spare, taken_at, progress) values ($1, $2, 1, false, now(), $3)`,
    [seat, session, { replicate: 2, step: 'tasting', position: 1 }],
  );
  await pool.query('insert into tray (id, session_id, seat_id, replicate) values ($1, $2, $3, 2)', [
    tray,
    session,
    seat,
  ]);
  await pool.query(
    `insert into serving (id, session_id, tray_id, position, code) values ($1, $2, $3, 1, '417')`,
    [cup, session, tray],
  );
  await pool.query('insert into sample_key (id, session_id, arm_id) values ($1, $2, $3), ($4, $2, $5)', [
    id(9),
    session,
    two,
    id(10),
    one,
  ]);
  await pool.query(
    `insert into ballot (id, session_id, tray_id, odd_serving_id, confidence, descriptors, comment, received_at)
     values ($1, $2, $3, $4, 'guess', '{banana,clove}', 'hm', now())`,
    [id(11), session, tray, cup],
  );
  const events = [
    { kind: 'progress', seat: 1, replicate: 2, step: 'tasting', code: '417' },
    { kind: 'ballot-received', seat: 1, replicate: 2 },
  ];
  for (const [at, event] of events.entries()) {
    await pool.query('insert into session_event values ($1, $2, now(), $3)', [session, at + 1, event]);
  }

  await migrateDatabase(pool);

  const read = async (sql: string) => (await pool.query(sql)).rows;
  const [kept] = await read('select settings, vocabulary_version, vocabulary_edition from session');
  const settings = sessionSettings.parse(kept.settings);
  expect(settings.parts).toMatchObject([
    { kind: 'triangle', armIds: [one, two], replicates: 2, alpha: 0.05 },
  ]);
  expect(Object.keys(kept.settings)).not.toContain('armIds');
  expect(kept.vocabulary_version).toBe(0);
  // Sealed when there was one edition of the built-in words, and read as such.
  expect(kept.vocabulary_edition).toBeNull();
  const [ballot] = await read('select answer, part, sheet from ballot');
  expect(answer.parse(ballot.answer)).toEqual({
    kind: 'choice',
    chosen: ['417'],
    confidence: 'guess',
    descriptors: ['banana', 'clove'],
  });
  expect(ballot).toMatchObject({ part: 1, sheet: 1 });
  const [place] = await read('select progress from seat');
  expect(progress.parse(place.progress)).toMatchObject({ trayNumber: 2, part: 1, sheet: 1, step: 'tasting' });
  expect(await read('select number, part, replicate from tray')).toEqual([
    { number: 2, part: 1, replicate: 2 },
  ]);
  expect(await read('select arm_id, place, role from sample_key order by place')).toEqual([
    { arm_id: one, place: 0, role: 'sample' },
    { arm_id: two, place: 1, role: 'sample' },
  ]);
  for (const { event } of await read('select event from session_event')) {
    expect(eventContract.shape.event.safeParse(event).success, JSON.stringify(event)).toBe(true);
  }
});
