import { existsSync } from 'node:fs';
import { chmod, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Ended, runNode } from './children.ts';
import { judgeRun, type Recorded, recordOf, type Tally } from './tally.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** A script of a package or a file of ours. Such parts run side by side, each after the one it names. */
export type ScriptPart = { name: string; after?: string } & (
  { package: string; script: string; args: string[]; folder?: string } | { file: string }
);

/** One thing to check: a script, or the tests of one vitest project, which takes all cores by itself. */
export type Part = ScriptPart | { name: string; project: string };

export interface RunOptions {
  /** Where the tests are; the runner's own tests bring theirs. */
  root: string;
  /** How long a part may take. Many times what it takes: what hangs has to end, not what is slow. */
  limitMs: number;
  /** Write down which tests there are instead of comparing. */
  record: boolean;
}

export const DEFAULTS: RunOptions = { root, limitMs: 45 * 60_000, record: false };

interface Counts {
  passed: number;
  failed: number;
  /** How many tests were left out for each reason. */
  skipped: Map<string, number>;
  /** To be read again below everything: what failed, and what is new. */
  notes: string[];
}

type Outcome = Counts & { name: string; seconds: number };

/** More at once need more memory than a small machine has: a type check takes up to 1 GB. */
const SIDE_BY_SIDE = 2;

const tsc = { package: 'typescript', script: 'bin/tsc' };

const prepared = 'types of web, prepared';

/** What is found without running anything of ours. What takes longest begins first, so that no core waits at the end. */
export const STATIC_PARTS: ScriptPart[] = [
  { name: prepared, package: '@sveltejs/kit', script: 'svelte-kit.js', args: ['sync'], folder: 'web' },
  {
    name: 'lint',
    package: 'eslint',
    script: 'bin/eslint.js',
    args: ['--config', 'test/eslint.config.js', '--max-warnings', '0', '.'],
  },
  {
    name: 'types of web',
    after: prepared,
    package: 'svelte-check',
    script: 'bin/svelte-check',
    args: ['--tsconfig', './tsconfig.json', '--fail-on-warnings'],
    folder: 'web',
  },
  { name: 'types', ...tsc, args: ['-p', 'tsconfig.json'] },
  { name: 'format', package: 'prettier', script: 'bin/prettier.cjs', args: ['--check', '.'] },
  { name: 'types of shared', ...tsc, args: ['-p', 'shared/tsconfig.json'] },
];

/** After the pages were prepared, which both would do at once otherwise. */
export const BUILD: ScriptPart = {
  name: 'build of the pages',
  after: prepared,
  file: 'server/boot/build-web.ts',
};

/** Runs every part, also after one has failed, and ends with one line of counts. Sets the exit code. */
export async function runParts(parts: Part[], options: RunOptions = DEFAULTS): Promise<void> {
  const scripts = parts.flatMap((part) => ('project' in part ? [] : [part]));
  const outcomes = await runSideBySide(scripts, options);
  for (const part of parts) {
    if (!('project' in part)) continue;
    console.log(`\n=== ${part.name}`);
    outcomes.push(await timed(part.name, runProject(part.project, options)));
  }
  console.log('\n=== summary');
  for (const { name, notes, seconds, ...counts } of outcomes) {
    const state = counts.failed > 0 ? 'FAILED' : 'ok';
    console.log(`${state.padEnd(7)} ${name.padEnd(24)} ${lineOf(counts)}, ${seconds} s`);
    for (const [reason, tests] of counts.skipped) console.log(`${' '.repeat(8)}${tests} skipped: ${reason}`);
    for (const note of notes) console.log(`${' '.repeat(8)}${note}`);
  }
  const failed = outcomes.reduce((sum, outcome) => sum + outcome.failed, 0);
  console.log(
    `\n${lineOf({
      passed: outcomes.reduce((sum, outcome) => sum + outcome.passed, 0),
      failed,
      skipped: new Map(outcomes.flatMap(({ name, skipped }) => [[name, skippedIn(skipped)]])),
    })}`,
  );
  if (failed > 0) process.exitCode = 1;
}

function lineOf({ passed, failed, skipped }: Omit<Counts, 'notes'>): string {
  const left = skippedIn(skipped);
  return `${passed} passed, ${failed} failed${left > 0 ? `, ${left} skipped` : ''}`;
}

function skippedIn(reasons: Map<string, number>): number {
  return [...reasons.values()].reduce((sum, tests) => sum + tests, 0);
}

async function timed(name: string, run: Promise<Counts>): Promise<Outcome> {
  const started = Date.now();
  return { name, ...(await run), seconds: Math.round((Date.now() - started) / 1000) };
}

/** Two at a time, each told as a whole once it has ended. Outcomes come in the order of the parts. */
async function runSideBySide(parts: readonly ScriptPart[], options: RunOptions): Promise<Outcome[]> {
  const waiting = [...parts];
  const ended = new Map<string, Outcome>();
  const mayBegin = ({ after }: ScriptPart): boolean =>
    after === undefined || ended.has(after) || !parts.some(({ name }) => name === after);
  const lane = async (): Promise<void> => {
    // Whatever waits for a part that still runs is taken up by the lane of that part.
    for (let at = waiting.findIndex(mayBegin); at >= 0; at = waiting.findIndex(mayBegin)) {
      const [part] = waiting.splice(at, 1) as [ScriptPart];
      ended.set(part.name, await timed(part.name, runScript(part, options)));
    }
  };
  await Promise.all(Array.from({ length: SIDE_BY_SIDE }, lane));
  return parts.flatMap(({ name }) => ended.get(name) ?? []);
}

async function runScript(part: ScriptPart, { limitMs }: RunOptions): Promise<Counts> {
  const { code, overtime, said } = await ('file' in part
    ? runNode(join(root, part.file), [], { folder: root, limitMs, kept: true })
    : runNode(scriptOf(part.package, part.script, part.folder), part.args, {
        folder: join(root, part.folder ?? '.'),
        limitMs,
        kept: true,
      }));
  console.log(`\n=== ${part.name}\n${said.trimEnd()}`);
  const notes = overtime ? ['did not end in time and was stopped'] : [];
  return { passed: code === 0 ? 1 : 0, failed: code === 0 ? 0 : 1, skipped: new Map(), notes };
}

/** The script of a package as the workspace in `folder` sees it. */
function scriptOf(name: string, script: string, folder = '.'): string {
  const places = createRequire(join(root, folder, 'package.json')).resolve.paths(name) ?? [];
  const found = places.map((place) => join(place, name, script)).find((file) => existsSync(file));
  if (!found) throw new Error(`${name} is not installed: run npm ci.`);
  return found;
}

async function runProject(project: string, options: RunOptions): Promise<Counts> {
  const artifacts = join(options.root, 'test', '.artifacts');
  await mkdir(artifacts, { recursive: true });
  const file = join(artifacts, `${project}.json`);
  await rm(file, { force: true });
  // Whatever the run leaves there goes with it, also when it has to be ended by force.
  const temporary = await mkdtemp(join(tmpdir(), 'oddglass-run-'));
  // As root the database runs as a user of its own, who has to get through.
  await chmod(temporary, 0o755);
  const ended = await runNode(
    scriptOf('vitest', 'vitest.mjs'),
    [
      'run',
      '--root',
      options.root,
      '--config',
      join(root, 'test', 'vitest.config.ts'),
      '--project',
      project,
      '--reporter=default',
      `--reporter=${join(root, 'test', 'support', 'tally.reporter.ts')}`,
    ],
    { folder: options.root, limitMs: options.limitMs, env: { TEST_TALLY: file, TMPDIR: temporary } },
  );
  await rm(temporary, { recursive: true, force: true, maxRetries: 5 });
  const tally = await readJson<Tally>(file);
  return judge(project, tally, ended, options);
}

async function judge(
  project: string,
  tally: Tally | null,
  ended: Ended,
  options: RunOptions,
): Promise<Counts> {
  const path = join(options.root, 'test', 'expected-tests.json');
  const all = (await readJson<Record<string, Recorded>>(path)) ?? {};
  const verdict = judgeRun(tally, ended, options.record ? null : all[project]);
  const { passed, failed, skipped, complaints, grown } = verdict;
  const notes = [...complaints];
  if (options.record && tally && failed === 0) {
    const kept = Object.entries({ ...all, [project]: recordOf(tally) }).sort();
    await writeFile(path, `${JSON.stringify(Object.fromEntries(kept), null, 2)}\n`);
    notes.push(`recorded: ${sizeOf(recordOf(tally))}; before: ${sizeOf(all[project] ?? {})}`);
  } else if (grown) notes.push(grown);
  return { passed, failed, skipped, notes };
}

function sizeOf(recorded: Recorded): string {
  const tests = Object.values(recorded).reduce((sum, one) => sum + one, 0);
  return `${tests} tests in ${Object.keys(recorded).length} files`;
}

async function readJson<T>(path: string): Promise<T | null> {
  const text = await readFile(path, 'utf8').catch((error: NodeJS.ErrnoException) => {
    if (error.code !== 'ENOENT') throw error;
    return null;
  });
  return text === null ? null : (JSON.parse(text) as T);
}
