import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdir, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { takeLock } from './lock-file.ts';
import { StartRefusal } from './start-refusal.ts';
import { Undo } from './undo.ts';

type Say = (line: string) => void;

const root = fileURLToPath(new URL('../..', import.meta.url));
const web = join(root, 'web');
/** The built pages: a handler for raw requests. */
export const builtPages = join(web, 'build', 'handler.js');
const mark = join(web, 'build', 'built-from');
// What the pages are made of. Dependencies stand for themselves by the lock file.
const SOURCES = [
  'web/src',
  'web/static',
  'web/vite.config.ts',
  'web/tsconfig.json',
  'web/package.json',
  'shared',
  'package-lock.json',
];
const WAIT_MS = 5 * 60_000;

/** SHA-256 over names and contents of everything the pages are built from. */
export async function hashOfSources(): Promise<string> {
  const files = (await Promise.all(SOURCES.map((source) => filesIn(join(root, source))))).flat().sort();
  const hash = createHash('sha256');
  for (const file of files) {
    const content = await readFile(file);
    hash.update(`${relative(root, file)}\0${content.length}\0`).update(content);
  }
  return hash.digest('hex');
}

/** Builds the pages if their sources differ from those of the last build. One process builds, others wait for it. */
export async function buildWeb(say: Say, undo: Undo): Promise<'built' | 'current'> {
  const wanted = await hashOfSources();
  if (await isBuiltFrom(wanted)) return 'current';
  await mkdir(join(web, '.svelte-kit'), { recursive: true });
  const lock = await waitForLock(join(web, '.svelte-kit', 'build.lock'), say);
  const forget = undo.add(() => lock.release());
  try {
    if (await isBuiltFrom(wanted)) return 'current';
    // Gone before, back after: a build that was cut off is no build.
    await rm(mark, { force: true });
    await runBuild(say, undo);
    await writeFile(mark, wanted);
    return 'built';
  } finally {
    forget();
    await lock.release();
  }
}

async function waitForLock(path: string, say: Say): Promise<{ release: () => Promise<void> }> {
  const until = Date.now() + WAIT_MS;
  for (let told = false; ; told = true) {
    const lock = await takeLock(path);
    if ('release' in lock) return lock;
    if (!told) say(`Another process (${lock.heldBy}) builds the pages: waiting for it.`);
    if (Date.now() > until)
      throw new StartRefusal(`Process ${lock.heldBy} still builds the pages: end it, then start again.`);
    await new Promise((resolve) => setTimeout(resolve, 250));
  }
}

async function runBuild(say: Say, undo: Undo): Promise<void> {
  const started = Date.now();
  const seconds = () => `${((Date.now() - started) / 1000).toFixed(0)} s`;
  say('Building the pages (only after a change; some ten seconds) ...');
  const vite = createRequire(join(web, 'package.json')).resolve('vite/package.json');
  const child = spawn(
    process.execPath,
    [join(dirname(vite), 'bin', 'vite.js'), 'build', '--logLevel', 'info'],
    {
      cwd: web,
      env: { ...process.env, NODE_ENV: 'production', FORCE_COLOR: '0' },
      stdio: ['ignore', 'pipe', 'pipe'],
    },
  );
  let said = '';
  let modules = '';
  for (const stream of [child.stdout, child.stderr]) {
    stream.setEncoding('utf8').on('data', (text: string) => {
      said += text;
      modules = /(\d+) modules transformed/.exec(text)?.[1] ?? modules;
    });
  }
  const forget = undo.add(() => child.kill());
  const ticker = setInterval(
    () => say(`  still building, ${seconds()}${modules && `, ${modules} modules`}`),
    3_000,
  );
  const code = await new Promise<number | null>((resolve) => {
    child.once('error', () => resolve(null));
    child.once('close', resolve);
  });
  clearInterval(ticker);
  forget();
  if (code !== 0) throw new StartRefusal(`${said.trim()}\nThe pages could not be built (see above).`);
  say(`Built the pages in ${seconds()}.`);
}

async function isBuiltFrom(wanted: string): Promise<boolean> {
  return (await readFile(mark, 'utf8').catch(() => '')) === wanted;
}

async function filesIn(path: string): Promise<string[]> {
  const entries = await readdir(path, { withFileTypes: true }).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOTDIR' || error.code === 'ENOENT') return null;
    throw error;
  });
  if (entries === null) return [path];
  const inside = entries.filter(({ name }) => name !== 'node_modules' && !name.startsWith('.'));
  return (await Promise.all(inside.map(({ name }) => filesIn(join(path, name))))).flat();
}

if (import.meta.main) await buildWeb((line) => console.log(line), new Undo());
