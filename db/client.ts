import { drizzle, type NodePgQueryResultHKT } from 'drizzle-orm/node-postgres';
import type { PgDatabase } from 'drizzle-orm/pg-core';
import type pg from 'pg';
import * as account from './schema/account.ts';
import * as ballot from './schema/ballot.ts';
import * as panel from './schema/panel.ts';
import * as session from './schema/session.ts';
import * as trial from './schema/trial.ts';

const schema = { ...account, ...panel, ...trial, ...session, ...ballot };

/** A handle that queries take first: the pool, or a transaction on it. */
export type Db = PgDatabase<NodePgQueryResultHKT, typeof schema>;

export function openDb(pool: pg.Pool): Db {
  return drizzle(pool, { schema });
}
