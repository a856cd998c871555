import { readFile, writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { format, resolveConfig } from 'prettier';
import { AREAS } from './areas.ts';
import { NINETEEN } from './nineteen-list.ts';
import { digestOf, readRecord, RECORD, type MutantRecord } from './record.ts';
import { reportOf } from './report.ts';
import { readSurvivors } from './survivors.ts';

// node test/mutants/keep.ts writes the report anew, as after the list of nineteen has changed, and names the areas whose files
// changed since they were run; runs write it by themselves.

const REPORT = new URL('report.md', import.meta.url);

/** Changes what is kept and writes the report anew; others may have written meanwhile, so it is read just before. */
export async function keep(change: (kept: MutantRecord) => void): Promise<void> {
  const kept = await readRecord();
  change(kept);
  await writeFile(RECORD, `${JSON.stringify(kept, null, 2)}\n`);
  await writeFile(REPORT, await currentReport());
}

/** The report as it should stand, by what is kept and the lists beside it. */
export async function currentReport(): Promise<string> {
  const [record, survivors] = await Promise.all([readRecord(), readSurvivors()]);
  const file = fileURLToPath(REPORT);
  const config = await resolveConfig(file);
  return format(reportOf({ record, areas: AREAS, survivors, nineteen: NINETEEN }), {
    ...config,
    plugins: [],
    filepath: file,
  });
}

/** The report as it stands in the house. */
export const keptReport = (): Promise<string> => readFile(REPORT, 'utf8');

/** Names of the areas with a run whose mutated files are not what they were. */
async function changedSince(): Promise<string[]> {
  const { areas } = await readRecord();
  const digests = await Promise.all(AREAS.map(async (area) => [area.name, await digestOf(area)] as const));
  return digests.flatMap(([name, digest]) => (areas[name] && areas[name].digest !== digest ? [name] : []));
}

if (import.meta.main) {
  await keep(() => undefined);
  const changed = await changedSince();
  console.log(changed.length === 0 ? 'no area has changed since its run' : `changed: ${changed.join(', ')}`);
}
