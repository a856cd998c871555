import type { Socket } from 'node:net';
import { pathToFileURL } from 'node:url';
import { migrateDatabase } from '@oddglass/db/migrate.ts';
import { openPool } from '@oddglass/db/pool.ts';
import type { FastifyInstance, FastifyServerOptions } from 'fastify';
import pg from 'pg';
import { buildApp } from '../app.ts';
import type { Config } from './config.ts';
import type { WebHandler } from '../plugins/web.ts';
import { builtPages } from './build-web.ts';
import { readCertificate } from './certificate.ts';
import { openDataFolder } from './data-folder.ts';
import { startEmbeddedDatabase, within } from './embedded-database.ts';
import { listenRefusal, withoutSecrets } from './refuse.ts';
import { StartRefusal } from './start-refusal.ts';
import type { Undo } from './undo.ts';

export interface OpenServer {
  app: FastifyInstance;
  pool: pg.Pool;
  /** The one it listens on; another than the configured one when that is 0. */
  port: number;
  /** Resolves if the embedded database ends by itself. */
  databaseLost: Promise<void>;
}

const OLDEST_POSTGRES = 15;
// How long answers on their way may take once a stop was asked for, and the pool to give back its connections.
const ANSWERS_MS = 5_000;
const POOL_MS = 3_000;

/** Opens database, app and port, in this order; `undo` closes them in the opposite one. */
export async function openServer(
  config: Config,
  say: (line: string) => void,
  undo: Undo,
): Promise<OpenServer> {
  const { databaseUrl, lost } = await openDatabase(config, say, undo);
  await prepareDatabase(databaseUrl);
  const pool = openPool(databaseUrl);
  undo.add(() => within(pool.end(), POOL_MS));

  const https = await readCertificate(config.tls, config.dataDir, new Date());
  const app = await buildApp({
    pool,
    databaseUrl,
    webHandler: await loadPages(),
    builtPages: pathToFileURL(builtPages),
    secure: https !== undefined || (config.publicUrl?.startsWith('https:') ?? false),
    publicUrl: config.publicUrl,
    trustProxy: trustFor(config.trustProxy),
    signInLasts: config.signInLasts,
    https,
    logger: { level: config.logLevel },
  });
  const sockets = new Set<Socket>();
  app.server.on('connection', (socket) => {
    sockets.add(socket);
    socket.once('close', () => sockets.delete(socket));
  });
  undo.add(async () => {
    const closing = app.close();
    // A tablet that went out of range never answers the farewell of its socket.
    if (!(await within(closing, ANSWERS_MS))) for (const socket of sockets) socket.destroy();
    await within(closing, ANSWERS_MS);
  });
  await app.listen({ host: config.host, port: config.port }).catch((error: unknown) => {
    throw listenRefusal(error, config);
  });
  const address = app.server.address();
  const port = typeof address === 'object' && address ? address.port : config.port;
  return { app, pool, port, databaseLost: lost };
}

async function openDatabase(
  config: Config,
  say: (line: string) => void,
  undo: Undo,
): Promise<{ databaseUrl: string; lost: Promise<void> }> {
  // Several servers may share an outside database, and one data folder for the certificate.
  if (config.databaseUrl) return { databaseUrl: config.databaseUrl, lost: new Promise(() => undefined) };
  const folder = await openDataFolder(config.dataDir);
  undo.add(folder.release);
  const { url, lost } = await startEmbeddedDatabase(folder.path, say, undo);
  return { databaseUrl: url, lost };
}

/** On a connection without bounds: a migration takes as long as it takes, and waits for one that runs elsewhere. */
async function prepareDatabase(databaseUrl: string): Promise<void> {
  const pool = new pg.Pool({ connectionString: databaseUrl, max: 1, connectionTimeoutMillis: 10_000 });
  pool.on('error', () => undefined);
  pool.on('connect', (client) => client.on('error', () => undefined));
  try {
    await checkServerVersion(pool, databaseUrl);
    await migrateDatabase(pool);
  } finally {
    await within(pool.end(), POOL_MS);
  }
}

async function checkServerVersion(pool: pg.Pool, databaseUrl: string): Promise<void> {
  const { rows } = await pool.query<{ number: string; name: string }>(
    "select current_setting('server_version_num') as number, current_setting('server_version') as name",
  );
  const major = Math.floor(Number(rows[0]?.number) / 10_000);
  if (major < OLDEST_POSTGRES)
    throw new StartRefusal(
      `The database ${withoutSecrets(databaseUrl)} is PostgreSQL ${rows[0]?.name}: Oddglass needs ${OLDEST_POSTGRES} or newer.`,
    );
}

/** A number means that many proxies in front, counted from here. */
function trustFor(trust: Config['trustProxy']): FastifyServerOptions['trustProxy'] {
  return typeof trust === 'number' ? (_address, hop) => hop < trust : trust;
}

/** The pages as they were built last. */
export async function loadPages(): Promise<WebHandler> {
  // Read by the pages at import: which scheme the visitor came by is for the app to say, request by request.
  process.env['WEB_PROTOCOL_HEADER'] = 'x-forwarded-proto';
  const built: { handler: WebHandler } = await import(pathToFileURL(builtPages).href).catch(
    (error: NodeJS.ErrnoException) => {
      if (error.code !== 'ERR_MODULE_NOT_FOUND') throw error;
      throw new StartRefusal('The pages are not built: run npm run build, or leave BUILD_PAGES unset.');
    },
  );
  return built.handler;
}
