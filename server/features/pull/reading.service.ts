import { findPulls } from '@oddglass/db/queries/pull.ts';
import {
  findReading,
  insertReading,
  listReadings,
  type ReadingOfPull,
} from '@oddglass/db/queries/reading.ts';
import { lockTrial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { ReadingInput, ReadingView } from '@oddglass/shared/contracts/reading.ts';
import { readingValues } from '@oddglass/shared/fermentation/reading-values.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { underWatch } from '../../session-data/tasting-watch.ts';
import { pullAndArmFor } from './pulls.ts';

/** A row of the notebook, by hosts and stewards alike; a tasting that is open is stopped, or goes on, by it. */
export async function noteReading(
  deps: Deps,
  actor: Actor,
  { pullId, armId }: { pullId: string; armId: string },
  input: ReadingInput,
): Promise<ReadingView> {
  const pull = await pullAndArmFor(deps.db, actor, pullId, armId);
  await underWatch(deps, pull.trialId, async (tx) => {
    await lockTrial(tx, pull.trialId);
    const known = await findReading(tx, input.id);
    if (known) {
      if (known.pullId === pullId && isSame(known, armId, input)) return;
      // Whoever sends another's id learns nothing of it.
      throw problem('id-taken');
    }
    const [row] = await findPulls(tx, [pullId]);
    if (!row) throw problem('not-found');
    if (row.cancelledAt !== null) throw problem('pull-cancelled');
    const newest = (await listReadings(tx, pull.trialId)).findLast(
      (one) => one.pullId === pullId && one.arm === armId && one.current,
    );
    if ((newest?.id ?? null) !== input.replaces) throw problem('reading-moved');
    await addReading(tx, { pullId, armId, by: actor.id, at: deps.clock() }, input);
  });
  const rows = (await listReadings(deps.db, pull.trialId)).filter(({ id }) => id === input.id);
  const [view] = rows;
  if (!view) throw problem('not-found');
  return view;
}

/** Under the lock of the trial. */
export async function addReading(
  tx: Db,
  { pullId, armId, by, at }: { pullId: string; armId: string; by: string; at: Date },
  { id, replaces, takenAt, typed, added, looks, smell, note, confirmed }: ReadingInput,
): Promise<void> {
  const { values, noNumber } = readingValues(typed);
  const [field] = noNumber;
  if (field !== undefined) throw fieldProblem(`#/typed/${field}/text`, 'This is no number.');
  await insertReading(tx, {
    id,
    pullId,
    armId,
    replaces,
    takenAt: new Date(takenAt),
    typed,
    ...values,
    added,
    looks,
    smell,
    note,
    confirmed,
    writtenBy: by,
    writtenAt: at,
  });
}

function isSame(known: ReadingOfPull, armId: string, input: ReadingInput): boolean {
  const body = ({
    replaces,
    takenAt,
    typed,
    added,
    looks,
    smell,
    note,
    confirmed,
  }: Omit<ReadingInput, 'id'>) =>
    JSON.stringify([
      replaces,
      new Date(takenAt).toISOString(),
      typed,
      added,
      looks,
      smell,
      note,
      confirmed.map(({ question, asked }) => [question, asked]),
    ]);
  return known.arm === armId && body(known) === body(input);
}
