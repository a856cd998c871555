import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdir, readFile, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));
const artifacts = join(root, 'test', '.artifacts');

/** One thing to check: a script of a package, a file of ours, or the tests of one vitest project. */
export type Part = { name: string } & (
  | { package: string; script: string; args: string[]; folder?: string }
  | { file: string }
  | { project: string }
);

interface Outcome {
  name: string;
  passed: number;
  failed: number;
  skipped: number;
  seconds: number;
}

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
export async function runParts(parts: Part[]): Promise<void> {
  await mkdir(artifacts, { recursive: true });
  const outcomes: Outcome[] = [];
  for (const part of parts) {
    console.log(`\n=== ${part.name}`);
    outcomes.push(await runPart(part));
  }
  const sum = (of: 'passed' | 'failed' | 'skipped') =>
    outcomes.reduce((all, outcome) => all + outcome[of], 0);
  console.log('\n=== summary');
  for (const { name, passed, failed, skipped, seconds } of outcomes) {
    const state = failed > 0 ? 'FAILED' : 'ok';
    const left = skipped > 0 ? `, ${skipped} skipped` : '';
    console.log(
      `${state.padEnd(7)} ${name.padEnd(24)} ${passed} passed, ${failed} failed${left}, ${seconds} s`,
    );
  }
  const skipped = sum('skipped');
  console.log(
    `\n${sum('passed')} passed, ${sum('failed')} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`,
  );
  if (sum('failed') > 0) process.exitCode = 1;
}

async function runPart(part: Part): Promise<Outcome> {
  const started = Date.now();
  const counts = 'project' in part ? await runProject(part.project) : await runScript(part);
  return { name: part.name, ...counts, seconds: Math.round((Date.now() - started) / 1000) };
}

type Counts = Pick<Outcome, 'passed' | 'failed' | 'skipped'>;

async function runScript(part: Exclude<Part, { project: string }>): Promise<Counts> {
  const code =
    'file' in part
      ? await run(join(root, part.file), [], root)
      : await run(
          scriptOf(part.package, part.script, part.folder),
          part.args,
          join(root, part.folder ?? '.'),
        );
  return { passed: code === 0 ? 1 : 0, failed: code === 0 ? 0 : 1, skipped: 0 };
}

/** The script of a package as the workspace in `folder` sees it. */
function scriptOf(name: string, script: string, folder = '.'): string {
  const places = createRequire(join(root, folder, 'package.json')).resolve.paths(name) ?? [];
  const found = places.map((place) => join(place, name, script)).find((file) => existsSync(file));
  if (!found) throw new Error(`${name} is not installed: run npm ci.`);
  return found;
}

interface Report {
  numPassedTests: number;
  numFailedTests: number;
  numPendingTests: number;
  success: boolean;
}

async function runProject(project: string): Promise<Counts> {
  const file = join(artifacts, `${project}.json`);
  await rm(file, { force: true });
  const code = await run(
    scriptOf('vitest', 'vitest.mjs'),
    [
      'run',
      '--config',
      'test/vitest.config.ts',
      '--project',
      project,
      '--reporter=default',
      '--reporter=json',
      `--outputFile.json=${file}`,
    ],
    root,
  );
  const report = await readFile(file, 'utf8').then(
    (text) => JSON.parse(text) as Report,
    () => null,
  );
  const [passed, failed, skipped] = [
    report?.numPassedTests ?? 0,
    report?.numFailedTests ?? 0,
    report?.numPendingTests ?? 0,
  ];
  // A file that does not load, a setup that fails or no test at all is a failure that no test stands for.
  const unsaid = failed === 0 && (code !== 0 || passed === 0) ? 1 : 0;
  return { passed, failed: failed + unsaid, skipped };
}

function run(file: string, args: string[], folder: string): Promise<number> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [file, ...args], {
      cwd: folder,
      stdio: ['ignore', 'inherit', 'inherit'],
    });
    child.once('error', () => resolve(1));
    child.once('exit', (code) => resolve(code ?? 1));
  });
}
