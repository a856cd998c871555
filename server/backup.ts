// `npm run backup -- FILE`: everything the service keeps, in one file, as it is at one moment. Run on the machine of the
// server, beside it or while it is stopped, with the same settings. Without a name the file is called by the time.
import { stat } from 'node:fs/promises';
import { resolve } from 'node:path';
import { writeBackup } from '@oddglass/db/backup/write-backup.ts';
import { type Config, readConfig } from './boot/config.ts';
import { reachDatabase } from './boot/reach-database.ts';
import { reportFailedStart } from './boot/refuse.ts';
import { StartRefusal } from './boot/start-refusal.ts';
import { Undo } from './boot/undo.ts';

const undo = new Undo();
let config: Config | undefined;
const say = (line: string): void => console.log(line);
// The process ends by itself once everything is closed; a database started for this must not be cut off.
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => void undo.run());
try {
  config = readConfig(process.env);
  const path = resolve(process.argv[2] ?? `oddglass-${stampOf(new Date())}.backup.gz`);
  const { url } = await reachDatabase(config, say, undo);
  const { head, rows } = await writeBackup(url, path, () => new Date()).catch((error: unknown) => {
    throw refusalOf(error, path);
  });
  const { size } = await stat(path);
  say(
    `${path}: ${rows} rows of ${head.tables.length} tables as of ${head.at}, ${sizeOf(size)}, read once more.`,
  );
  say(
    'Whoever has this file has every key and every answer: keep it as you keep the server, and on another disk.',
  );
} catch (error) {
  process.exitCode = 1;
  reportFailedStart(error, config);
} finally {
  await undo.run();
}

/** '2026-03-09-1830': as a name it sorts by time. */
function stampOf(now: Date): string {
  return now.toISOString().slice(0, 16).replace('T', '-').replace(':', '');
}

function sizeOf(bytes: number): string {
  return bytes < 1_000_000 ? `${Math.ceil(bytes / 1000)} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`;
}

function refusalOf(error: unknown, path: string): unknown {
  const { code = '' } = error as NodeJS.ErrnoException;
  const words: Record<string, string> = {
    EEXIST: 'there is a file of that name already: name another',
    ENOENT: 'there is no such folder',
    ENOTDIR: 'part of the path is a file',
    EACCES: 'no permission to write there',
    EROFS: 'the file system is read-only',
    ENOSPC: 'the disk is full',
  };
  const why = words[code];
  return why ? new StartRefusal(`No backup in ${path}: ${why}.`) : error;
}
