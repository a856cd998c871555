import { drizzle, type NodePgQueryResultHKT } from 'drizzle-orm/node-postgres';
import type { PgDatabase } from 'drizzle-orm/pg-core';
import pg from 'pg';
import * as account from './schema/account.ts';
import * as ballot from './schema/ballot.ts';
import * as keyOpening from './schema/key-opening.ts';
import * as panel from './schema/panel.ts';
import * as passkey from './schema/passkey.ts';
import * as session from './schema/session.ts';
import * as trial from './schema/trial.ts';

const schema = { ...account, ...panel, ...trial, ...session, ...ballot, ...keyOpening, ...passkey };

/** A handle that queries take first: the pool, or a transaction on it. */
export type Db = PgDatabase<NodePgQueryResultHKT, typeof schema>;

/**
 * The pool as a handle. Its transactions give their connection back whatever happens to it: the builder's own keep
 * one whose `begin` fails for ever, and give one on that still works on a statement nobody waits for any more.
 */
export function openDb(pool: pg.Pool): Db {
  const db: Db = drizzle(pool, { schema });
  db.transaction = async (work, config) => {
    const client = await pool.connect();
    let lost: Error | undefined;
    const lose = (error: Error): void => {
      if (lost) return;
      lost = error;
      // Cuts off a statement without an answer, and refuses the ones after it, the rollback above all, at once.
      void client.end();
    };
    client.on('error', lose);
    // The connection but for its statements: one that fails together with it says so.
    const watched = Object.create(client, {
      query: {
        value: (query: pg.QueryConfig, values: unknown[]) =>
          client.query(query, values).catch((error: Error) => {
            if (!leavesConnection(error)) lose(error);
            throw error;
          }),
      },
    }) as pg.PoolClient;
    try {
      return await drizzle(watched, { schema }).transaction(work, config);
    } catch (error) {
      // What was lost first, not the rollback that failed after it.
      throw lost ?? error;
    } finally {
      client.off('error', lose);
      client.release(lost);
    }
  };
  return db;
}

/** The database refused this statement and takes further ones. */
function leavesConnection(error: Error): boolean {
  return error instanceof pg.DatabaseError && error.severity !== 'FATAL' && error.severity !== 'PANIC';
}
