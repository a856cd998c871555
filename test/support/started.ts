import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** One start of the real thing, that may end at once or run until it is told to stop. */
export class Started {
  readonly child: ChildProcess;
  out = '';
  err = '';
  readonly #exit: Promise<{ code: number | null; signal: NodeJS.Signals | null }>;

  constructor(env: Record<string, string>, script = 'server/start.ts', words: readonly string[] = []) {
    this.child = spawn(process.execPath, [script, ...words], {
      cwd: root,
      // The pages are built once, before; what the runner's environment says of a database is not for this start.
      env: {
        ...process.env,
        DATABASE_URL: '',
        npm_lifecycle_event: '',
        BUILD_PAGES: 'never',
        HOST: '127.0.0.1',
        ...env,
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    this.child.stdout?.on('data', (text) => (this.out += String(text)));
    this.child.stderr?.on('data', (text) => (this.err += String(text)));
    this.#exit = new Promise((resolve) =>
      this.child.once('close', (code, signal) => resolve({ code, signal })),
    );
  }

  /** Waits for the first host's link, or fails with what was printed instead. */
  async ready(): Promise<{ address: string; token: string }> {
    for (let waited = 0; waited < 60_000; waited += 50) {
      const [, address = '', token = ''] = /(http\S+)\/bench\/welcome#([\w-]+)/.exec(this.out) ?? [];
      if (token) return { address, token };
      if (this.child.exitCode !== null) break;
      await wait(50);
    }
    throw new Error(`not ready:\n${this.out}\n${this.err}`);
  }

  exit(): Promise<{ code: number | null; signal: NodeJS.Signals | null }> {
    return this.#exit;
  }

  async end(signal: NodeJS.Signals): Promise<number | null> {
    this.child.kill(signal);
    return (await this.#exit).code;
  }
}

export async function newFolder(): Promise<string> {
  const folder = await mkdtemp(join(tmpdir(), 'oddglass-boot-'));
  // As root the database runs as a user of its own, who has to get through.
  await chmod(folder, 0o755);
  return folder;
}

/** Process id of the database in a data folder, as the database wrote it down; null when there is none. */
export function databasePid(dataFolder: string): number | null {
  try {
    return Number(readFileSync(join(dataFolder, 'database', 'postmaster.pid'), 'utf8').split('\n')[0]);
  } catch {
    return null;
  }
}

/** Ends the server of a data folder and every worker of it, without a word. */
export function killDatabase(dataFolder: string): void {
  const pid = databasePid(dataFolder);
  if (pid === null) return;
  const workers = spawnSync('ps', ['-o', 'pid=', '--ppid', String(pid)], { encoding: 'utf8' });
  for (const victim of [pid, ...workers.stdout.split(/\s+/).filter(Boolean).map(Number)]) {
    try {
      process.kill(victim, 'SIGKILL');
    } catch {
      // Gone in between.
    }
  }
}

export function runs(pid: number | null): boolean {
  if (pid === null) return false;
  try {
    // A process that has ended but was not collected yet still has an id; its state is Z.
    return !/\) Z /.test(readFileSync(`/proc/${pid}/stat`, 'utf8'));
  } catch {
    return false;
  }
}

/** Ends what a failed test left running, then takes the folder away. */
export async function removeFolder(folder: string, started: Started[]): Promise<void> {
  for (const one of started) {
    if (one.child.exitCode === null && one.child.signalCode === null) await one.end('SIGKILL');
  }
  killDatabase(join(folder, 'data'));
  await rm(folder, { recursive: true, force: true, maxRetries: 5 });
}
