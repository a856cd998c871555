// `npm run passphrase -- NAME`: a one-time link to a new passphrase, for whoever forgot theirs. Run on the machine of the
// server, beside it or while it is stopped, with the same settings.
import { randomBytes } from 'node:crypto';
import { openDb } from '@oddglass/db/client.ts';
import { openPool } from '@oddglass/db/pool.ts';
import { addressesOf } from './boot/addresses.ts';
import { type Config, readConfig } from './boot/config.ts';
import { reachDatabase } from './boot/reach-database.ts';
import { reportFailedStart } from './boot/refuse.ts';
import { StartRefusal } from './boot/start-refusal.ts';
import { Undo } from './boot/undo.ts';
import { issuePassphraseToken } from './features/account/sign-in.service.ts';

const name = process.argv.slice(2).join(' ').trim().normalize();
const undo = new Undo();
let config: Config | undefined;
// The process ends by itself once everything is closed; a database started for this must not be cut off.
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => void undo.run());
try {
  if (name === '') {
    console.error('Say whose: npm run passphrase -- NAME');
    process.exitCode = 2;
  } else {
    config = readConfig(process.env);
    console.log(await makeLink(config));
  }
} catch (error) {
  process.exitCode = 1;
  reportFailedStart(error, config);
} finally {
  await undo.run();
}

async function makeLink(settings: Config): Promise<string> {
  const { url, running } = await reachDatabase(settings, (line) => console.log(line), undo);
  const pool = openPool(url);
  undo.add(() => pool.end());
  const deps = {
    db: openDb(pool),
    clock: () => new Date(),
    random: { bytes: (count: number) => new Uint8Array(randomBytes(count)) },
  };
  const token = await issuePassphraseToken(deps, name).catch((error: unknown) => {
    throw isOlder(error)
      ? new StartRefusal('The database is of an older version: start this one once, then ask again.')
      : error;
  });
  if (token === null)
    throw new StartRefusal(`Nobody is called "${name}" here: names stand in the list of members of a panel.`);
  const { published, local, network } = addressesOf(settings, settings.port);
  const doors = published ? [published] : [local, network[0]].filter((door) => typeof door === 'string');
  return [
    `This link leads ${name} to a new passphrase, within an hour; it works once:`,
    ...doors.map((door) => `  ${door}/bench/passphrase#${token}`),
    'Opening it also removes passkeys and recovery codes of the account: they can be added anew.',
    ...(running ? [] : ['Start the server before you open it.']),
  ].join('\n');
}

/** PostgreSQL's 'undefined table', wherever in the chain of causes. */
function isOlder(error: unknown): boolean {
  for (let cause = error; cause instanceof Error; cause = cause.cause)
    if ('code' in cause && cause.code === '42P01') return true;
  return false;
}
