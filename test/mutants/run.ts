/// <reference types="./stryker-modules.d.ts" />
import { existsSync } from 'node:fs';
import { readFile, writeFile, mkdir } from 'node:fs/promises';
import { matchesGlob, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type MutantResult, Stryker } from '@stryker-mutator/core';
import { AREAS, areaNamed, SHORT, type Area } from './areas.ts';
import { keep } from './keep.ts';
import { digestOf, today } from './record.ts';
import { placeOf, SAMPLE, type Sample } from './sample.ts';
import { judge, readSurvivors, type Unnoticed } from './survivors.ts';

// npm run mutants: mutates the parts where a mistake costs most, area by area, and is red when a mutant lives that
// survivors.json does not explain. `-- --short` takes two small files, `-- seal orders` takes the areas named, and
// `-- shared/rules/answers.ts` one file with the tests of its area. `-- seat --lived` tries once more only those that lived
// unexplained when the area was last run, as after a test was written; no file that is mutated may have changed in between.
// `-- seat --sample=30 --seed=1` takes some thirty of a hundred of those that were not tried since the files were changed.
// `-- seat --judge` runs nothing, and judges what the area was last found to be by survivors.json as it is now. How an area
// ended is kept in record.json and told in report.md.

const root = fileURLToPath(new URL('../..', import.meta.url));
// Git and the other tools pass it by.
const ARTIFACTS = 'test/.artifacts/mutants';
const LONGEST_CHANGE = 160;
// A RuntimeError is a file of tests that failed as a whole: while it loaded, or in a hook before its tests.
const NOTICED = ['Killed', 'Timeout', 'RuntimeError'] as const;

process.chdir(root);
const words = process.argv.slice(2).filter((word) => !word.startsWith('--'));
const [short, onlyLived, onlyJudge] = ['--short', '--lived', '--judge'].map((flag) =>
  process.argv.includes(flag),
);
const [share = null, seed = 1] = ['sample', 'seed']
  .map((name) => process.argv.map((word) => word.split('=')).find(([flag]) => flag === `--${name}`)?.[1])
  .map((value) => (value === undefined ? undefined : Number(value)));
const areas = short ? [SHORT] : words.length > 0 ? words.map(chosen) : AREAS;
const explained = await readSurvivors();
await mkdir(ARTIFACTS, { recursive: true });

const lines: string[] = [];
for (const area of areas) {
  const digest = await digestOf(area);
  const results = await resultsOf(area, digest);
  const unnoticed = await Promise.all(results.filter(lives).map(describe));
  const files = [...new Set(results.map(({ fileName }) => fileName))];
  const { fresh, stale } = judge(unnoticed, explained, files);
  lines.push(summary(area, results, unnoticed.length, fresh.length));
  for (const { file, at, line, change } of fresh) {
    console.log(`\n${file}:${at} lives, unexplained\n    ${line}\n    ${change}`);
  }
  for (const { file, line, change } of stale) {
    console.log(`\n${file}: explained, but no such mutant lives\n    ${line}\n    ${change}`);
  }
  await writeFile(`${ARTIFACTS}/${area.name}.json`, JSON.stringify(fresh, null, 2));
  if (fresh.length > 0 || stale.length > 0 || results.length === 0) process.exitCode = 1;
  if (AREAS.includes(area)) await keepRun(area, { digest, results, unnoticed, fresh });
}
console.log(`\n${lines.join('\n')}`);

function chosen(word: string): Area {
  const around = AREAS.find((area) => area.mutate.some((glob) => matchesGlob(word, glob)));
  return around ? { ...around, mutate: [word] } : areaNamed(word);
}

interface LastRun {
  digest: string;
  results: MutantResult[];
}

function lastOf({ name }: Pick<Area, 'name'>): string {
  return `${ARTIFACTS}/${name}.last.json`;
}

function lives({ status }: MutantResult): boolean {
  return status === 'Survived' || status === 'NoCoverage';
}

/** All of an area anew; or what its last run told, with those that lived, or some of those left out, tried now. */
async function resultsOf(area: Area, digest: string): Promise<MutantResult[]> {
  if (!onlyLived && !onlyJudge && share === null) return mutateAll(area);
  const last = existsSync(lastOf(area))
    ? (JSON.parse(await readFile(lastOf(area), 'utf8')) as LastRun)
    : { digest, results: [] };
  const changed = last.digest !== digest;
  if (share !== null) return sampled(area, changed ? [] : last.results, share);
  if (changed) throw new Error(`${area.name} has changed since its last run: run it whole`);
  if (onlyJudge) return last.results;
  const open = await openOf(last.results);
  return again(area, last.results, (mutant) => open.has(mutant));
}

/** Those that live and are not explained. */
async function openOf(results: readonly MutantResult[]): Promise<Set<MutantResult>> {
  const told = new Map<Unnoticed, MutantResult>();
  for (const mutant of results.filter(lives)) told.set(await describe(mutant), mutant);
  const files = [...new Set(results.map(({ fileName }) => fileName))];
  const { fresh } = judge([...told.keys()], explained, files);
  return new Set(fresh.flatMap((one) => told.get(one) ?? []));
}

/** A share of what was not tried before, beside what was. */
async function sampled(area: Area, before: readonly MutantResult[], of: number): Promise<MutantResult[]> {
  const known = new Map(before.filter(isTried).map((mutant) => [keyOf(mutant), mutant]));
  process.env[SAMPLE] = JSON.stringify({ share: of, seed, tried: [...known.keys()] } satisfies Sample);
  const now = await mutateAll(area).finally(() => delete process.env[SAMPLE]);
  return now.map((mutant) => known.get(keyOf(mutant)) ?? mutant);
}

function isTried({ status }: MutantResult): boolean {
  return status !== 'CompileError' && status !== 'Ignored';
}

function keyOf({ fileName, location, replacement }: MutantResult): string {
  return placeOf(fileName, location, replacement);
}

/** All of an area. What a kept thread cannot see, since it runs while a module loads, has another try in its own. */
async function mutateAll(area: Area): Promise<MutantResult[]> {
  const first = await mutate(area, true);
  return again(area, first, (mutant) => lives(mutant) && mutant.static === true);
}

async function again(
  area: Area,
  results: readonly MutantResult[],
  wanted: (mutant: MutantResult) => boolean,
): Promise<MutantResult[]> {
  const chosenOnes = results.filter(wanted);
  if (chosenOnes.length === 0) return [...results];
  delete process.env[SAMPLE];
  const tried = await mutate({ ...area, mutate: [...new Set(chosenOnes.map(rangeOf))] });
  const now = new Map(tried.map((mutant) => [keyOf(mutant), mutant]));
  return results.map((mutant) => (wanted(mutant) ? (now.get(keyOf(mutant)) ?? mutant) : mutant));
}

/** The place of a mutant as Stryker wants it: lines from 1, columns from 0. */
function rangeOf({ fileName, location: { start, end } }: MutantResult): string {
  return `${fileName}:${start.line}:${start.column - 1}-${end.line}:${end.column - 1}`;
}

/** `kept`: in threads that are kept from mutant to mutant. */
async function mutate(
  { name, mutate: files, project, sentencesAside = false }: Area,
  kept = false,
): Promise<MutantResult[]> {
  process.env['MUTANTS_AREA'] = name;
  process.env['MUTANTS_KEEP'] = kept ? '1' : '0';
  const results = await new Stryker({
    mutate: files,
    mutator: { plugins: [], excludedMutations: sentencesAside ? ['StringLiteral'] : [] },
    plugins: [
      fileURLToPath(import.meta.resolve('@stryker-mutator/vitest-runner')),
      fileURLToPath(new URL('sample.ts', import.meta.url)),
    ],
    checkers: process.env[SAMPLE] === undefined ? [] : ['sample'],
    testRunner: 'vitest',
    // Which tests belong to an area is said by the area.
    vitest: { configFile: 'test/mutants/vitest.config.ts', related: false },
    coverageAnalysis: 'perTest',
    // Others may work on this machine.
    concurrency: Number(process.env['MUTANTS_AT_ONCE'] ?? 1),
    // A loop without an end is noticed by the time it takes; a database may take longer by itself.
    timeoutMS: project === 'api' ? 20_000 : 5_000,
    // Nothing is known by the time of the first run but how busy the machine is.
    dryRunTimeoutMinutes: 30,
    ignorePatterns: ['web/build', 'data', 'docs', 'test/.artifacts'],
    tempDirName: `${ARTIFACTS}/copies`,
    // Each result is written down as it comes, so that a run that is cut short has told something.
    reporters: ['progress', 'event-recorder'],
    eventReporter: { baseDir: `${ARTIFACTS}/events-${name}` },
    warnings: {
      slow: false,
      unknownOptions: true,
      preprocessorErrors: true,
      unserializableOptions: true,
    },
    allowConsoleColors: false,
    disableTypeChecks: false,
  }).runMutationTest();
  return results.map(({ fileName, location, replacement, status, static: loading }) => ({
    fileName: fileOf(fileName),
    location,
    ...(replacement !== undefined && { replacement }),
    ...(loading !== undefined && { static: loading }),
    status,
  }));
}

function fileOf(fileName: string): string {
  return relative(root, fileName).replaceAll('\\', '/');
}

async function describe({ fileName, location, replacement }: MutantResult): Promise<Unnoticed> {
  const text = (await readFile(fileName, 'utf8')).split('\n');
  const { start, end } = location;
  const part = text.slice(start.line - 1, end.line);
  part[part.length - 1] = (part.at(-1) ?? '').slice(0, end.column - 1);
  part[0] = (part[0] ?? '').slice(start.column - 1);
  return {
    file: fileName,
    at: start.line,
    line: (text[start.line - 1] ?? '').trim(),
    change: `${plain(part.join(' '))} -> ${plain(replacement ?? '')}`,
  };
}

function plain(code: string): string {
  const short = code.replaceAll(/\s+/g, ' ').trim();
  return short.length > LONGEST_CHANGE ? `${short.slice(0, LONGEST_CHANGE)}…` : short;
}

function counted(results: readonly MutantResult[], ...states: MutantResult['status'][]): number {
  return results.filter(({ status }) => states.includes(status)).length;
}

function summary({ name }: Area, results: readonly MutantResult[], unnoticed: number, fresh: number): string {
  const noticed = counted(results, ...NOTICED);
  const score = (100 * noticed) / Math.max(1, noticed + unnoticed);
  return (
    `${name}: ${noticed} of ${noticed + unnoticed} mutants noticed (${score.toFixed(1)} %), ` +
    `${unnoticed - fresh} live and are explained, ${fresh} live unexplained, ` +
    `${counted(results, 'RuntimeError')} of those noticed fail before the first test; ` +
    `${counted(results, 'CompileError')} were not tried`
  );
}

async function keepRun(
  { name }: Area,
  told: LastRun & { unnoticed: readonly Unnoticed[]; fresh: readonly Unnoticed[] },
): Promise<void> {
  const { digest, results, unnoticed, fresh } = told;
  await writeFile(lastOf({ name }), JSON.stringify({ digest, results } satisfies LastRun));
  const noticed = counted(results, ...NOTICED);
  const open = Map.groupBy(fresh, ({ file }) => file);
  const command = `npm run mutants -- ${name}${share === null ? '' : ` --sample=${share} --seed=${seed}`}`;
  await keep(({ areas: kept }) => {
    kept[name] = {
      date: today(),
      command: (onlyLived || onlyJudge ? kept[name]?.command : undefined) ?? command,
      mutants: noticed + unnoticed.length,
      noticed,
      explained: unnoticed.length - fresh.length,
      open: fresh.length,
      beforeTests: counted(results, 'RuntimeError'),
      timedOut: counted(results, 'Timeout'),
      notTried: counted(results, 'CompileError'),
      openBy: Object.fromEntries([...open].map(([file, list]) => [file, list.length])),
      digest,
    };
  });
}
