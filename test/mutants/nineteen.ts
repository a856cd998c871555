import { spawn } from 'node:child_process';
import { cp, mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { existsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import { keep } from './keep.ts';
import { NINETEEN, type KnownMutant } from './nineteen-list.ts';
import { today } from './record.ts';

// node test/mutants/nineteen.ts [api|unit|part of a file's name ...]: plants each of the 19 mutants that once lived in a copy
// of the tree, and is red unless the test named for it, which has to pass without it, fails with it. Needs nothing but what
// tests need. When each was noticed last is told in report.md.

const root = fileURLToPath(new URL('../..', import.meta.url));
const copy = await mkdtemp(join(tmpdir(), 'oddglass-nineteen-'));
const COPIED = ['shared', 'db', 'server', 'web', 'test', 'package.json', 'tsconfig.json'];
const PASSED_BY = new Set(['node_modules', '.artifacts', 'build', '.svelte-kit']);

const report = z.object({
  testResults: z.array(
    z.object({
      name: z.string(),
      assertionResults: z.array(z.object({ title: z.string(), status: z.string() })),
    }),
  ),
});

type Ended = 'passed' | 'failed' | 'absent';

const wanted = process.argv.slice(2);
const chosen = NINETEEN.filter(
  ({ project, file }) =>
    wanted.length === 0 || wanted.some((word) => word === project || file.includes(word)),
);
await copyTree();
// Without any of them: one run for each project.
const clean = new Map<KnownMutant, Ended>();
for (const project of ['unit', 'api'] as const) {
  const own = chosen.filter((mutant) => mutant.project === project);
  if (own.length > 0) for (const [mutant, ended] of await endsOf(project, own)) clean.set(mutant, ended);
}
const told: string[] = [];
for (const mutant of chosen) {
  const without = clean.get(mutant) ?? 'absent';
  const mutated = await withMutant(mutant, async () => (await endsOf(mutant.project, [mutant])).get(mutant));
  const noticed = without === 'passed' && mutated === 'failed';
  if (noticed) told.push(mutant.mistake);
  await keep(({ nineteen }) => {
    delete nineteen[mutant.mistake];
    if (noticed) nineteen[mutant.mistake] = today();
  });
  console.log(
    `${noticed ? 'noticed' : `NOT NOTICED (${without} without, ${mutated} with)`}: ${mutant.mistake}`,
  );
  console.log(`    ${mutant.file}; ${mutant.test}: ${mutant.title}`);
}
await rm(copy, { recursive: true, force: true });
console.log(`\n${told.length} of ${chosen.length} noticed`);
if (told.length < chosen.length || chosen.length === 0) process.exitCode = 1;

async function copyTree(): Promise<void> {
  const filter = (from: string): boolean => !PASSED_BY.has(basename(from));
  for (const name of COPIED) await cp(join(root, name), join(copy, name), { recursive: true, filter });
  for (const place of ['', 'shared', 'db', 'server', 'web']) {
    const packages = join(root, place, 'node_modules');
    if (existsSync(packages)) await symlink(packages, join(copy, place, 'node_modules'));
  }
}

async function withMutant<T>({ file, from, to }: KnownMutant, work: () => Promise<T>): Promise<T> {
  const path = join(copy, file);
  const text = await readFile(path, 'utf8');
  if (text.split(from).length !== 2) throw new Error(`${file} does not hold this once: ${from}`);
  await writeFile(
    path,
    text.replace(from, () => to),
  );
  try {
    return await work();
  } finally {
    await writeFile(path, text);
  }
}

/** How the named tests ended: 'absent' is one that was not run, as when its file did not load. */
async function endsOf(
  project: KnownMutant['project'],
  mutants: readonly KnownMutant[],
): Promise<Map<KnownMutant, Ended>> {
  const out = join(copy, 'report.json');
  await rm(out, { force: true });
  const files = [...new Set(mutants.map(({ test }) => test))];
  const pattern = mutants.map(({ title }) => title.replaceAll(/[.*+?^${}()|[\]\\]/g, '\\$&')).join('|');
  await run(
    [
      'node_modules/vitest/vitest.mjs',
      'run',
      '--config',
      'test/mutants/vitest.config.ts',
      '-t',
      pattern,
    ].concat(['--reporter=json', `--outputFile=${out}`, ...files]),
    { MUTANTS_PROJECT: project, MUTANTS_TESTS: files.join() },
  );
  const results = existsSync(out) ? report.parse(JSON.parse(await readFile(out, 'utf8'))).testResults : [];
  return new Map(mutants.map((mutant) => [mutant, endOf(mutant, results)]));
}

function endOf({ test, title }: KnownMutant, results: z.infer<typeof report>['testResults']): Ended {
  const own = results
    .filter(({ name }) => name.endsWith(test))
    .flatMap(({ assertionResults }) => assertionResults)
    .filter((one) => one.title === title && one.status !== 'skipped' && one.status !== 'pending');
  if (own.length === 0) return 'absent';
  return own.some(({ status }) => status === 'failed') ? 'failed' : 'passed';
}

function run(words: readonly string[], env: Record<string, string>): Promise<void> {
  const child = spawn(process.execPath, words, {
    cwd: copy,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'ignore', 'ignore'],
  });
  return new Promise((resolve, reject) => {
    child.once('error', reject);
    child.once('exit', () => resolve());
  });
}
