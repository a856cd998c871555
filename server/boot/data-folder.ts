import { randomBytes } from 'node:crypto';
import { mkdir, realpath, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { takeLock } from './lock-file.ts';
import { StartRefusal } from './start-refusal.ts';

export interface DataFolder {
  path: string;
  /** Lets the next start in; last of all, when nothing of ours runs on the folder any more. */
  release: () => Promise<void>;
}

/**
 * Makes the data folder ready and takes it for this process alone.
 *
 * @throws StartRefusal when it cannot be written, or when another server runs on it.
 */
export async function openDataFolder(wanted: string): Promise<DataFolder> {
  const path = await makeFolder(wanted);
  const lock = await takeLock(join(path, 'oddglass.lock'));
  if ('heldBy' in lock)
    throw new StartRefusal(
      `Oddglass already runs on the data folder ${path} (process ${lock.heldBy}): stop it first, or set DATA_DIR.`,
    );
  return { path, release: lock.release };
}

async function makeFolder(wanted: string): Promise<string> {
  try {
    // The database may run as a user of its own and has to get through; what is private in here has its own mode.
    await mkdir(wanted, { recursive: true, mode: 0o755 });
    const path = await realpath(wanted);
    const probe = join(path, `.writable-${randomBytes(6).toString('hex')}`);
    await writeFile(probe, '');
    await rm(probe);
    return path;
  } catch (error) {
    throw new StartRefusal(
      `Cannot write the data folder ${wanted} (${reason(error)}): set DATA_DIR to one you own.`,
    );
  }
}

function reason(error: unknown): string {
  const { code, message } = error as NodeJS.ErrnoException;
  const words: Record<string, string> = {
    EACCES: 'no permission',
    EPERM: 'no permission',
    EROFS: 'the file system is read-only',
    ENOTDIR: 'part of the path is a file',
    EEXIST: 'there is a file of that name',
    ENOSPC: 'the disk is full',
    EDQUOT: 'the disk quota is used up',
  };
  return words[code ?? ''] ?? message;
}
