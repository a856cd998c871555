import { existsSync } from 'node:fs';
import { copyFile, link, mkdir, readdir, readlink, symlink } from 'node:fs/promises';
import { dirname, join, relative, resolve } from 'node:path';

interface LockedPackage {
  link?: boolean;
  resolved?: string;
  dependencies?: Record<string, string>;
  optionalDependencies?: Record<string, string>;
  peerDependencies?: Record<string, string>;
}
export type Locked = Record<string, LockedPackage>;

/**
 * Paths of the packages that `npm ci --omit=dev --workspace ...` installs, by the lock file: what these workspaces need to
 * run, and what that needs, found as Node finds it.
 */
export function productionPackages(locked: Locked, workspaces: readonly string[]): string[] {
  const found = new Set<string>();
  const follow = (path: string): void => {
    if (found.has(path)) return;
    found.add(path);
    const { dependencies, optionalDependencies, peerDependencies, link, resolved } = locked[path] ?? {};
    if (link && resolved !== undefined) return follow(resolved);
    // npm keeps an optional peer too, if the lock file has it for the sake of another package.
    for (const name of Object.keys({ ...dependencies, ...optionalDependencies, ...peerDependencies })) {
      const place = placeOf(locked, path, name);
      if (place !== null) follow(place);
    }
  };
  for (const workspace of workspaces) {
    const entry = Object.keys(locked).find(
      (path) => locked[path]?.link && locked[path].resolved === workspace,
    );
    if (entry === undefined) throw new RangeError(`${workspace} is no workspace of the lock file`);
    follow(entry);
  }
  return [...found].filter((path) => path.includes('node_modules/')).sort();
}

function placeOf(locked: Locked, from: string, name: string): string | null {
  for (let at = from; ; at = at.includes('/') ? dirname(at) : '') {
    const place = `${at === '' ? '' : `${at}/`}node_modules/${name}`;
    if (!at.endsWith('node_modules') && locked[place]) return place;
    if (at === '') return null;
  }
}

/** Puts the named packages of one installation at the same places below another folder, as links to the same bytes. */
export async function installFrom(
  source: string,
  target: string,
  packages: readonly string[],
): Promise<void> {
  for (const path of packages) {
    const from = join(source, path);
    // Those for other machines are in the lock file and not installed.
    if (existsSync(from)) await copyTree(from, join(target, path), source, target);
  }
}

/** Hard links where the file system allows it. What is nested in a package is another package's affair. */
async function copyTree(from: string, to: string, source: string, target: string): Promise<void> {
  await mkdir(dirname(to), { recursive: true });
  const linked = await readlink(from).catch(() => null);
  if (linked !== null) {
    const at = relative(source, resolve(dirname(from), linked));
    return symlink(relative(dirname(to), join(target, at)), to);
  }
  await mkdir(to, { recursive: true });
  for (const entry of await readdir(from, { withFileTypes: true })) {
    const [next, there] = [join(from, entry.name), join(to, entry.name)];
    if (entry.isDirectory()) {
      if (entry.name !== 'node_modules') await copyTree(next, there, source, target);
    } else if (entry.isSymbolicLink()) await symlink(await readlink(next), there);
    else await link(next, there).catch(() => copyFile(next, there));
  }
}
