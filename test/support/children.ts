import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { birthOf } from '@oddglass/server/boot/process-identity.ts';

const ORDERLY_MS = 5_000;

export interface Ended {
  code: number;
  /** It was still at work after its time, and was ended with everything it had started. */
  overtime: boolean;
  /** What it printed, where that was kept. */
  said: string;
}

export interface NodeRun {
  folder: string;
  limitMs: number;
  env?: Record<string, string>;
  /** What it prints is kept for the caller, for another runs beside it; else it goes where ours goes. */
  kept?: boolean;
}

// Most parts start Node many times, the service among it: what was compiled once is read the next time.
const NODE_COMPILE_CACHE = fileURLToPath(new URL('../.artifacts/compiled', import.meta.url));

const running = new Set<ChildProcess>();

/** Runs a script of Node to its end, or to the end of its time. */
export async function runNode(
  file: string,
  args: readonly string[],
  { folder, limitMs, env = {}, kept = false }: NodeRun,
): Promise<Ended> {
  const prints = kept ? 'pipe' : 'inherit';
  const child = spawn(process.execPath, [file, ...args], {
    cwd: folder,
    env: { NODE_COMPILE_CACHE, ...process.env, ...env },
    stdio: ['ignore', prints, prints],
  });
  let said = '';
  for (const stream of [child.stdout, child.stderr])
    stream?.setEncoding('utf8').on('data', (text: string) => (said += text));
  const ended = new Promise<number>((resolve) => {
    child.once('error', () => resolve(1));
    // 'close': all that it printed has been read.
    child.once(kept ? 'close' : 'exit', (code) => resolve(code ?? 1));
  });
  if (running.size === 0) process.on('SIGTERM', onSignal).on('SIGHUP', onSignal);
  running.add(child);
  const timer = new AbortController();
  const late = wait(limitMs, null, { signal: timer.signal }).catch(() => null);
  const code = await Promise.race([ended, late]);
  timer.abort();
  if (code === null) await endTree(child);
  running.delete(child);
  if (running.size === 0) process.off('SIGTERM', onSignal).off('SIGHUP', onSignal);
  return code === null ? { code: 1, overtime: true, said } : { code, overtime: false, said };
}

function onSignal(signal: NodeJS.Signals): void {
  console.error(`Stopping (${signal}).`);
  void Promise.all([...running].map(endTree)).then(() => process.exit(1));
}

/**
 * Asks the child to end, then ends by force whatever of its tree is left: a worker in an endless loop hears no signal,
 * and databases and services run in process groups of their own.
 */
async function endTree(child: ChildProcess): Promise<void> {
  const { pid } = child;
  if (pid === undefined) return;
  const victims = await Promise.all(
    [pid, ...descendantsOf(pid)].map(async (one) => ({ pid: one, birth: await birthOf(one) })),
  );
  child.kill('SIGTERM');
  const until = Date.now() + ORDERLY_MS;
  while (child.exitCode === null && child.signalCode === null && Date.now() < until) await wait(100);
  for (const { pid: one, birth } of victims) {
    // The id may be another process's by now.
    if (birth === null || (await birthOf(one)) !== birth) continue;
    try {
      process.kill(one, 'SIGKILL');
    } catch {
      // It ended in between.
    }
  }
}

function descendantsOf(ancestor: number): number[] {
  const { stdout } = spawnSync('ps', ['-eo', 'pid=,ppid='], { encoding: 'utf8' });
  const pairs = stdout.split('\n').map((line) => line.trim().split(/\s+/).map(Number));
  const found = [ancestor];
  // Grows while it is walked.
  for (const one of found) found.push(...pairs.flatMap(([pid = 0, parent]) => (parent === one ? [pid] : [])));
  return found.slice(1);
}
