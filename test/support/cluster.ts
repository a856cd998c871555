import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { chown, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { freePort } from '@oddglass/server/boot/embedded-database.ts';
import {
  type Binaries,
  type DatabaseUser,
  databaseUser,
  findBinaries,
  ids,
} from '@oddglass/server/boot/postgres-binaries.ts';
import pg from 'pg';

/** A PostgreSQL that is not the server's own, to be stopped, started and frozen while the server runs on it. */
export class Cluster {
  readonly url: string;
  readonly #binaries: Binaries;
  readonly #user: DatabaseUser;
  readonly #folder: string;
  readonly #port: number;
  #child: ChildProcess | undefined;

  private constructor(binaries: Binaries, user: DatabaseUser, folder: string, port: number) {
    this.#binaries = binaries;
    this.#user = user;
    this.#folder = folder;
    this.#port = port;
    this.url = `postgres://oddglass@127.0.0.1:${port}/postgres`;
  }

  /** From the programs in `bin`, or those that come with the server. */
  static async start(bin: string | undefined): Promise<Cluster> {
    const binaries = bin
      ? { initdb: join(bin, 'initdb'), postgres: join(bin, 'postgres') }
      : await findBinaries();
    const folder = await mkdtemp(join(tmpdir(), 'oddglass-cluster-'));
    const user = databaseUser(binaries, { parent: tmpdir(), owner: null });
    if (user.uid !== undefined && user.gid !== undefined) await chown(folder, user.uid, user.gid);
    const cluster = new Cluster(binaries, user, folder, await freePort());
    const made = cluster.#spawn(binaries.initdb, [
      '-D',
      folder,
      '-U',
      'oddglass',
      '--auth=trust',
      '-E',
      'UTF8',
    ]);
    const code = await new Promise((resolve) => made.once('exit', resolve));
    if (code !== 0) throw new Error(`initdb ended with ${String(code)}`);
    await cluster.resume();
    return cluster;
  }

  #spawn(program: string, args: string[]): ChildProcess {
    const [command = '', ...rest] = [...this.#user.prefix, program, ...args];
    const { uid, gid } = this.#user;
    return spawn(command, rest, {
      cwd: '/',
      env: { PATH: process.env['PATH'], LC_ALL: 'C' },
      stdio: 'ignore',
      ...ids(uid, gid),
    });
  }

  /** Starts it, on the durable settings as they come, and waits until it takes connections. */
  async resume(): Promise<void> {
    const settings = ['listen_addresses=127.0.0.1', 'unix_socket_directories=', 'max_connections=60'];
    const flags = settings.flatMap((setting) => ['-c', setting]);
    this.#child = this.#spawn(this.#binaries.postgres, [
      '-D',
      this.#folder,
      '-p',
      String(this.#port),
      ...flags,
    ]);
    for (let waited = 0; waited < 60_000; waited += 20) {
      const ready = await this.query('select 1').then(
        () => true,
        () => false,
      );
      if (ready) return;
      await wait(20);
    }
    throw new Error('the cluster does not get ready');
  }

  /** An ordinary stop: connections are ended, everything is written. */
  async stop(): Promise<void> {
    const child = this.#child;
    if (!child || child.exitCode !== null || child.signalCode !== null) return;
    const end = new Promise((resolve) => child.once('exit', resolve));
    child.kill('SIGINT');
    await end;
  }

  /** Nothing of it runs on until it is told so; connections stay open. */
  signalAll(signal: 'SIGSTOP' | 'SIGCONT'): void {
    const pid = this.#child?.pid;
    const { stdout } = spawnSync('ps', ['-o', 'pid=', '--ppid', String(pid)], { encoding: 'utf8' });
    for (const each of [pid, ...stdout.split(/\s+/).filter(Boolean).map(Number)]) {
      try {
        if (each !== undefined) process.kill(each, signal);
      } catch {
        // A worker that ended in between.
      }
    }
  }

  async query<Row extends pg.QueryResultRow>(text: string): Promise<Row[]> {
    return queryOnce<Row>(this.url, text);
  }

  async remove(): Promise<void> {
    this.signalAll('SIGCONT');
    await this.stop();
    await rm(this.#folder, { recursive: true, force: true, maxRetries: 5 });
  }
}

/** One statement on a connection of its own. */
export async function queryOnce<Row extends pg.QueryResultRow>(url: string, text: string): Promise<Row[]> {
  const client = new pg.Client({ connectionString: url, connectionTimeoutMillis: 5_000 });
  client.on('error', () => undefined);
  try {
    await client.connect();
    return (await client.query<Row>(text)).rows;
  } finally {
    await client.end();
  }
}
