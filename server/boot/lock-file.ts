import { randomBytes } from 'node:crypto';
import { link, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { birthOf } from './process-identity.ts';

export interface HeldLock {
  release: () => Promise<void>;
}

interface Holder {
  pid: number;
  birth: string;
}

// Two starts that both find the same stale lock settle it in one round; more rounds mean something else is wrong.
const ROUNDS = 20;

/**
 * Takes a lock that one living process may hold: a file that says who. The lock of a process that has ended, by
 * whatever end, is taken over.
 *
 * @returns the lock, or the process that holds it.
 */
export async function takeLock(path: string): Promise<HeldLock | { heldBy: number }> {
  const birth = await birthOf(process.pid);
  const own = JSON.stringify({ pid: process.pid, birth: birth ?? '' });
  for (let round = 0; round < ROUNDS; round += 1) {
    if (await place(path, own)) return { release: () => releaseOwn(path, own) };
    const found = await readFile(path, 'utf8').catch(() => null);
    if (found === null) continue;
    const holder = parseHolder(found);
    if (holder && (await birthOf(holder.pid)) === holder.birth) return { heldBy: holder.pid };
    await clearStale(path, found);
  }
  throw new Error(`The lock ${path} could not be settled.`);
}

/** Puts the lock there whole, or not at all: a link fails when the name is taken. */
async function place(path: string, content: string): Promise<boolean> {
  const draft = `${path}.${randomBytes(6).toString('hex')}`;
  await writeFile(draft, content, { mode: 0o600 });
  try {
    await link(draft, path);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw error;
  } finally {
    await rm(draft, { force: true });
  }
}

async function clearStale(path: string, stale: string): Promise<void> {
  const aside = `${path}.${randomBytes(6).toString('hex')}`;
  try {
    await rename(path, aside);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return;
    throw error;
  }
  // Somebody else may have cleared and taken it in between: then it goes back where it was.
  if ((await readFile(aside, 'utf8')) !== stale) await link(aside, path).catch(() => undefined);
  await rm(aside, { force: true });
}

async function releaseOwn(path: string, own: string): Promise<void> {
  const found = await readFile(path, 'utf8').catch(() => null);
  if (found === own) await rm(path, { force: true });
}

function parseHolder(text: string): Holder | null {
  try {
    const { pid, birth } = JSON.parse(text) as Partial<Holder>;
    return typeof pid === 'number' && typeof birth === 'string' ? { pid, birth } : null;
  } catch {
    return null;
  }
}
