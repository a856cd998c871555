import { createHash } from 'node:crypto';
import { globSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import type { Area } from './areas.ts';

// What the last run of each area told, kept with the project: a run takes long, and its screen forgets what it said.

const root = fileURLToPath(new URL('../..', import.meta.url));
export const RECORD = new URL('record.json', import.meta.url);

const areaRun = z.strictObject({
  /** YYYY-MM-DD. */
  date: z.string(),
  command: z.string(),
  /** Those that were tried. */
  mutants: z.int(),
  noticed: z.int(),
  /** Of those noticed: a whole file of tests failed, as it loaded or in a hook before its tests. */
  beforeTests: z.int(),
  /** Of those noticed: a test took too long. */
  timedOut: z.int(),
  /** Left out of a sample. */
  notTried: z.int(),
  /** Live, and survivors.json says why they may. */
  explained: z.int(),
  /** Live, and nobody has looked at them. */
  open: z.int(),
  /** Open ones by file. */
  openBy: z.record(z.string(), z.int()),
  /** Of the mutated files as they were. */
  digest: z.string(),
});
export type AreaRun = z.infer<typeof areaRun>;

const record = z.strictObject({
  areas: z.record(z.string(), areaRun),
  /** Of the nineteen: when each was noticed last, by its mistake. */
  nineteen: z.record(z.string(), z.string()),
});
export type MutantRecord = z.infer<typeof record>;

export async function readRecord(): Promise<MutantRecord> {
  return record.parse(JSON.parse(await readFile(RECORD, 'utf8')));
}

/** Twelve digits that change with any of the files mutated. */
export async function digestOf({ mutate }: Area): Promise<string> {
  const hash = createHash('sha256');
  for (const file of globSync(mutate, { cwd: root }).sort())
    hash.update(`${file}\n`).update(await readFile(`${root}${file}`));
  return hash.digest('hex').slice(0, 12);
}

export const today = (): string => new Date().toISOString().slice(0, 10);
