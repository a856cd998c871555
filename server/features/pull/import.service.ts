import { listPulls } from '@oddglass/db/queries/pull.ts';
import type { Db } from '@oddglass/db/client.ts';
import { lockTrial } from '@oddglass/db/queries/trial.ts';
import type { CsvImport, CsvImported } from '@oddglass/shared/contracts/reading-import.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { previewImport, type ImportRow } from '@oddglass/shared/notebook/import-preview.ts';
import { readingsCsv } from '@oddglass/shared/notebook/readings-csv.ts';
import { onlyHost, trialFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { underWatch } from '../../session-data/tasting-watch.ts';
import { addPulls } from './pull.service.ts';
import { pullsFor } from './pulls.ts';
import { addReading } from './reading.service.ts';

export async function writeCsv(
  deps: Deps,
  actor: Actor,
  trialId: string,
): Promise<{ title: string; csv: string }> {
  const pulls = await pullsFor(deps.db, actor, trialId);
  return { title: pulls.title, csv: readingsCsv(pulls) };
}

type Added = Extract<ImportRow, { kind: 'add' | 'there' }>;

/** What the preview promised, in one transaction: the same file once more adds nothing. */
export async function importCsv(
  deps: Deps,
  actor: Actor,
  trialId: string,
  { csv, minutesEast }: CsvImport,
): Promise<CsvImported> {
  const { panel } = await trialFor(deps.db, actor, trialId);
  const counts = await underWatch(deps, trialId, async (tx) => {
    await lockTrial(tx, trialId);
    const trial = await pullsFor(tx, actor, trialId);
    const at = deps.clock();
    const { rows, wrong } = previewImport({ csv, trial, now: at.toISOString(), minutesEast });
    if (wrong !== null) throw problem('invalid-input', { detail: wrong });
    const added = rows.flatMap((row) => (row.kind === 'add' ? [row] : []));
    if (added.some(({ pullId, pull }) => pullId === null && pull.when.kind !== 'unplanned')) onlyHost(panel);
    const idOf = await pullsMade(tx, deps, { trialId, by: actor.id, at }, added);
    for (const row of added) {
      const asked = row.questions.map((one) => ({ question: one.question, asked: one.asked.slice(0, 300) }));
      await addReading(
        tx,
        { pullId: row.pullId ?? idOf(row), armId: row.arm.id, by: actor.id, at },
        {
          ...row.reading,
          id: randomUuid(deps.random),
          replaces: null,
          // Whoever imports has seen the questions in the preview.
          confirmed: [...row.reading.confirmed, ...asked].slice(0, 12),
        },
      );
    }
    return {
      added: added.length,
      there: rows.filter(({ kind }) => kind === 'there').length,
      refused: rows.flatMap((row) => (row.kind === 'refused' ? [{ line: row.line, why: row.why }] : [])),
    };
  });
  return { ...counts, pulls: await pullsFor(deps.db, actor, trialId) };
}

async function pullsMade(
  tx: Db,
  deps: Deps,
  { trialId, by, at }: { trialId: string; by: string; at: Date },
  added: readonly Added[],
): Promise<(row: Added) => string> {
  const folded = (name: string): string => name.toLocaleLowerCase('en');
  const missing = new Map(
    added.flatMap(({ pullId, pull }) => (pullId === null ? [[folded(pull.name), pull] as const] : [])),
  );
  const made = [...missing.values()].map((pull) => ({ ...pull, id: randomUuid(deps.random) }));
  await addPulls(tx, { trialId, createdBy: by, createdAt: at }, made);
  const ids = new Map(
    (await listPulls(tx, trialId))
      .filter(({ cancelledAt }) => cancelledAt === null)
      .map(({ id, name }) => [folded(name), id]),
  );
  return ({ pull }) => {
    const id = ids.get(folded(pull.name));
    if (id === undefined) throw new Error('a pull of the file was not made');
    return id;
  };
}
