import { execFile } from 'node:child_process';
import { readFile, readlink } from 'node:fs/promises';
import { promisify } from 'node:util';

const run = promisify(execFile);

/** Is there a process with this id? One of another user counts. */
export function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/**
 * When this process began, in whatever words the system has for it; null when there is no such process.
 * Ids are given out again (in a restarted container at once), so an id alone says little about who wrote it down.
 */
export async function birthOf(pid: number): Promise<string | null> {
  if (!isAlive(pid)) return null;
  if (process.platform === 'linux') {
    try {
      const [stat, boot] = await Promise.all([
        readFile(`/proc/${pid}/stat`, 'utf8'),
        readFile('/proc/sys/kernel/random/boot_id', 'utf8'),
      ]);
      // proc_pid_stat(5): field 22 is the start time; the name in field 2 may hold spaces and brackets.
      const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
      // A zombie has ended; its parent has not looked yet.
      return fields[0] === 'Z' ? null : `${boot.trim()}/${fields[19]}`;
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
      throw error;
    }
  }
  return run('ps', ['-o', 'lstart=', '-p', String(pid)]).then(
    ({ stdout }) => stdout.trim() || null,
    () => null,
  );
}

/** Does this process look like a PostgreSQL server working in `folder`? */
export async function isPostgresIn(pid: number, folder: string): Promise<boolean> {
  if ((await birthOf(pid)) === null) return false;
  if (process.platform === 'linux') {
    // The server changes into its data folder, but only its own user and root may see that; its command is open to all.
    const [name, at, command] = await Promise.all([
      readFile(`/proc/${pid}/comm`, 'utf8').catch(() => ''),
      readlink(`/proc/${pid}/cwd`).catch(() => null),
      readFile(`/proc/${pid}/cmdline`, 'utf8').catch(() => ''),
    ]);
    return name.trim() === 'postgres' && (at === folder || command.split('\0').includes(folder));
  }
  const command = await run('ps', ['-o', 'command=', '-p', String(pid)]).catch(() => ({ stdout: '' }));
  return command.stdout.includes('postgres') && command.stdout.includes(folder);
}

/** Waits until the process has ended; false when it still runs after `timeoutMs`. */
export async function waitForEnd(pid: number, timeoutMs: number): Promise<boolean> {
  const until = Date.now() + timeoutMs;
  while ((await birthOf(pid)) !== null) {
    if (Date.now() >= until) return false;
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  return true;
}
