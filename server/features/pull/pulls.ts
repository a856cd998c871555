import { findPull, listPulls, whenOf, type PullRow } from '@oddglass/db/queries/pull.ts';
import { listPhotos, listReadings } from '@oddglass/db/queries/reading.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { TrialPulls } from '@oddglass/shared/contracts/pull.ts';
import { inOrder } from '@oddglass/shared/notebook/due.ts';
import { trialFor, type PanelInHand } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import { armsWithFree } from '../../session-data/liquid.ts';
import { problem } from '../../refusal/problem.ts';

/** The notebook of a trial, for whoever is of its panel. */
export async function pullsFor(db: Db, actor: Actor, trialId: string): Promise<TrialPulls> {
  const { trial, panel } = await trialFor(db, actor, trialId);
  const pitchedAt = trial.pitchedAt?.toISOString() ?? null;
  // One after the other: in a transaction there is one connection.
  const arms = await armsWithFree(db, trial, await listArms(db, trialId));
  const pulls = await listPulls(db, trialId);
  const readings = Map.groupBy(await listReadings(db, trialId), ({ pullId }) => pullId);
  const photos = Map.groupBy(await listPhotos(db, trialId), ({ pullId }) => pullId);
  const views = pulls.map((row) => ({
    id: row.id,
    name: row.name,
    when: whenOf(row),
    mlPerArm: row.mlPerArm,
    note: row.note,
    cancelledAt: row.cancelledAt?.toISOString() ?? null,
    readings: readings.get(row.id) ?? [],
    photos: photos.get(row.id) ?? [],
  }));
  return {
    trial: trial.id,
    panel: panel.id,
    title: trial.title,
    demo: panel.demo,
    pitchedAt,
    arms: arms.map(({ id, name, differs, volumeMl }) => ({ id, name, differs, volumeMl })),
    pulls: inOrder(views, pitchedAt),
  };
}

/** The pull, or a problem as if it did not exist: what is not the actor's does not. */
export async function pullFor(
  db: Db,
  actor: Actor,
  pullId: string,
): Promise<{ pull: PullRow; panel: PanelInHand }> {
  const pull = await findPull(db, pullId);
  if (!pull) throw problem('not-found');
  const { panel } = await trialFor(db, actor, pull.trialId);
  return { pull, panel };
}

/** The same, with an arm of its trial. */
export async function pullAndArmFor(db: Db, actor: Actor, pullId: string, armId: string): Promise<PullRow> {
  const { pull } = await pullFor(db, actor, pullId);
  if (!(await listArms(db, pull.trialId)).some(({ id }) => id === armId)) throw problem('not-found');
  return pull;
}
