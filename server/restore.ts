// `npm run restore -- FILE`: puts a backup in the place of what the service keeps now, which stays beside it. Run while the
// server is stopped, with its settings; also on a new machine, before the first start.
import { resolve } from 'node:path';
import { judgeBackup } from '@oddglass/db/backup/load-backup.ts';
import { BackupDamagedError } from '@oddglass/db/backup/backup-format.ts';
import { DatabaseNewerError } from '@oddglass/db/migrate.ts';
import { type Config, readConfig } from './boot/config.ts';
import { reportFailedStart } from './boot/refuse.ts';
import { restoreEmbedded, restoreOutside } from './boot/restore-database.ts';
import { StartRefusal } from './boot/start-refusal.ts';
import { Undo } from './boot/undo.ts';

const undo = new Undo();
let config: Config | undefined;
const say = (line: string): void => console.log(line);
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => void undo.run());
try {
  const [named] = process.argv.slice(2);
  if (named === undefined) {
    console.error('Say what: npm run restore -- FILE');
    process.exitCode = 2;
  } else {
    config = readConfig(process.env);
    const path = resolve(named);
    const { head, rows } = await judged(path);
    say(`The backup is whole: ${rows} rows of ${head.tables.length} tables as of ${head.at}.`);
    const before = config.databaseUrl
      ? await restoreOutside(config.databaseUrl, path, new Date())
      : await restoreEmbedded(config, path, new Date(), say, undo);
    if (before !== null)
      say(`What was there before is kept as ${before}. Remove it when you do not need it any more.`);
    say('Restored. Start the server.');
  }
} catch (error) {
  process.exitCode = 1;
  reportFailedStart(error, config);
} finally {
  await undo.run();
}

async function judged(path: string): ReturnType<typeof judgeBackup> {
  try {
    return await judgeBackup(path);
  } catch (error) {
    if (error instanceof BackupDamagedError)
      throw new StartRefusal(`${path} is not restored: ${error.message}. Nothing was changed.`);
    if (error instanceof DatabaseNewerError)
      throw new StartRefusal(
        `${path} was written by a newer version of Oddglass: restore it with that version. Nothing was changed.`,
      );
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT' || code === 'EACCES' || code === 'EISDIR')
      throw new StartRefusal(
        `${path} cannot be read (${code === 'ENOENT' ? 'there is no such file' : code === 'EISDIR' ? 'it is a folder' : 'no permission'}).`,
      );
    throw error;
  }
}
