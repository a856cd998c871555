import { existsSync } from 'node:fs';
import { chmod, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Ended, runNode } from './children.ts';
import { judgeRun, type Recorded, recordOf, type Tally } from './tally.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** One thing to check: a script of a package, a file of ours, or the tests of one vitest project. */
export type Part = { name: string } & (
  | { package: string; script: string; args: string[]; folder?: string }
  | { file: string }
  | { project: string }
);

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

const tsc = { package: 'typescript', script: 'bin/tsc' };

/** What is found without running anything of ours. */
export const STATIC_PARTS: Part[] = [
  { name: 'format', package: 'prettier', script: 'bin/prettier.cjs', args: ['--check', '.'] },
  {
    name: 'lint',
    package: 'eslint',
    script: 'bin/eslint.js',
    args: ['--config', 'test/eslint.config.js', '--max-warnings', '0', '.'],
  },
  { name: 'types', ...tsc, args: ['-p', 'tsconfig.json'] },
  { name: 'types of shared', ...tsc, args: ['-p', 'shared/tsconfig.json'] },
  {
    name: 'types of web, prepared',
    package: '@sveltejs/kit',
    script: 'svelte-kit.js',
    args: ['sync'],
    folder: 'web',
  },
  {
    name: 'types of web',
    package: 'svelte-check',
    script: 'bin/svelte-check',
    args: ['--tsconfig', './tsconfig.json', '--fail-on-warnings'],
    folder: 'web',
  },
];

/** Runs every part, also after one has failed, and ends with one line of counts. Sets the exit code. */
export async function runParts(parts: Part[], options: RunOptions = DEFAULTS): Promise<void> {
  const outcomes: Outcome[] = [];
  for (const part of parts) {
    console.log(`\n=== ${part.name}`);
    const started = Date.now();
    const counts = await ('project' in part ? runProject(part.project, options) : runScript(part, options));
    outcomes.push({ name: part.name, ...counts, seconds: Math.round((Date.now() - started) / 1000) });
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

async function runScript(part: Exclude<Part, { project: string }>, { limitMs }: RunOptions): Promise<Counts> {
  const { code, overtime } = await ('file' in part
    ? runNode(join(root, part.file), [], { folder: root, limitMs })
    : runNode(scriptOf(part.package, part.script, part.folder), part.args, {
        folder: join(root, part.folder ?? '.'),
        limitMs,
      }));
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
