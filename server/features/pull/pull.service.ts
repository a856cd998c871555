import {
  findPulls,
  insertPulls,
  listPulls,
  listPullsOfPanel,
  setPitched,
  updatePull,
  whenColumns,
  whenOf,
  type PullRow,
} from '@oddglass/db/queries/pull.ts';
import { countReadArms } from '@oddglass/db/queries/reading.ts';
import { listArms, lockTrial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import {
  MAX_PULLS,
  type PanelPulls,
  type PullChange,
  type PullInput,
  type TrialPulls,
} from '@oddglass/shared/contracts/pull.ts';
import { onlyHost, panelFor, trialFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { pullFor, pullsFor } from './pulls.ts';

export const readPulls = (deps: Deps, actor: Actor, trialId: string): Promise<TrialPulls> =>
  pullsFor(deps.db, actor, trialId);

/** Time zero: every pull planned in hours moves with it. */
export async function notePitched(
  deps: Deps,
  actor: Actor,
  trialId: string,
  pitchedAt: string | null,
): Promise<TrialPulls> {
  onlyHost((await trialFor(deps.db, actor, trialId)).panel);
  await setPitched(deps.db, trialId, pitchedAt === null ? null : new Date(pitchedAt));
  return pullsFor(deps.db, actor, trialId);
}

/** What is planned by a host, or taken now by anybody of the panel. Sending the same again plans it once. */
export async function planPulls(
  deps: Deps,
  actor: Actor,
  trialId: string,
  pulls: PullInput[],
): Promise<TrialPulls> {
  const { panel } = await trialFor(deps.db, actor, trialId);
  if (pulls.some(({ when }) => when.kind !== 'unplanned')) onlyHost(panel);
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, trialId);
    await addPulls(tx, { trialId, createdBy: actor.id, createdAt: deps.clock() }, pulls);
  });
  return pullsFor(deps.db, actor, trialId);
}

/** Under the lock of the trial: those that are not there yet. */
export async function addPulls(
  tx: Db,
  by: Pick<PullRow, 'trialId' | 'createdBy' | 'createdAt'>,
  pulls: readonly PullInput[],
): Promise<void> {
  const sent = await findPulls(
    tx,
    pulls.map(({ id }) => id),
  );
  const there = await listPulls(tx, by.trialId);
  const names = new Set(there.filter((row) => row.cancelledAt === null).map((row) => folded(row.name)));
  const rows: PullRow[] = [];
  for (const [index, input] of pulls.entries()) {
    const row = { ...rowOf(input), ...by, cancelledAt: null };
    const known = sent.find(({ id }) => id === input.id);
    if (known) {
      // Moved or renamed since, it is still the pull that was sent.
      if (known.trialId !== by.trialId) throw problem('id-taken');
      continue;
    }
    if (rows.some(({ id }) => id === input.id))
      throw fieldProblem(`#/pulls/${index}/id`, 'Two pulls have this id.');
    if (names.has(folded(input.name)))
      throw fieldProblem(`#/pulls/${index}/name`, `There is a pull called ${input.name} already.`);
    names.add(folded(input.name));
    rows.push(row);
  }
  if (there.length + rows.length > MAX_PULLS) throw problem('too-many-pulls');
  await insertPulls(tx, rows);
}

const folded = (name: string): string => name.toLocaleLowerCase('en');

const rowOf = ({ id, name, when, mlPerArm, note }: PullInput) => ({
  id,
  name,
  ...whenColumns(when),
  mlPerArm,
  note,
});

/** Renames or moves a pull that nobody has read at yet. */
export async function changePull(
  deps: Deps,
  actor: Actor,
  pullId: string,
  change: PullChange,
): Promise<TrialPulls> {
  const { pull, panel } = await pullFor(deps.db, actor, pullId);
  onlyHost(panel);
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, pull.trialId);
    const row = await stillFree(tx, pull);
    if (row.cancelledAt !== null) throw problem('pull-cancelled');
    const { when, name, ...rest } = change;
    if (name !== undefined) {
      const others = (await listPulls(tx, pull.trialId)).filter(
        ({ id, cancelledAt }) => id !== pullId && cancelledAt === null,
      );
      if (others.some((other) => folded(other.name) === folded(name)))
        throw fieldProblem('#/name', `There is a pull called ${name} already.`);
    }
    await updatePull(tx, pullId, {
      ...(name !== undefined && { name }),
      ...(when !== undefined && whenColumns(when)),
      ...(rest.mlPerArm !== undefined && { mlPerArm: rest.mlPerArm }),
      ...(rest.note !== undefined && { note: rest.note }),
    });
  });
  return pullsFor(deps.db, actor, pull.trialId);
}

/** A pull that will not be taken; cancelling it twice changes nothing. */
export async function cancelPull(deps: Deps, actor: Actor, pullId: string): Promise<TrialPulls> {
  const { pull, panel } = await pullFor(deps.db, actor, pullId);
  onlyHost(panel);
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, pull.trialId);
    const row = await stillFree(tx, pull);
    if (row.cancelledAt === null) await updatePull(tx, pullId, { cancelledAt: deps.clock() });
  });
  return pullsFor(deps.db, actor, pull.trialId);
}

async function stillFree(tx: Db, { id }: PullRow): Promise<PullRow> {
  if ((await countReadArms(tx, [id])).has(id)) throw problem('pull-has-readings');
  const [row] = await findPulls(tx, [id]);
  if (!row) throw problem('not-found');
  return row;
}

/** Pulls of a panel that are neither cancelled nor taken whole. */
export async function readPanelPulls(deps: Deps, actor: Actor, panelId: string): Promise<PanelPulls> {
  await panelFor(deps.db, actor, panelId);
  return { pulls: await openPulls(deps.db, panelId) };
}

export async function openPulls(db: Db, panelId: string): Promise<PanelPulls['pulls']> {
  const rows = (await listPullsOfPanel(db, panelId)).filter(({ pull }) => pull.cancelledAt === null);
  const read = await countReadArms(
    db,
    rows.map(({ pull }) => pull.id),
  );
  const arms = new Map<string, number>();
  for (const trialId of new Set(rows.map((row) => row.trialId)))
    arms.set(trialId, (await listArms(db, trialId)).length);
  return rows
    .map(({ pull, trialId, title, pitchedAt }) => ({
      trial: trialId,
      title,
      pitchedAt: pitchedAt?.toISOString() ?? null,
      pull: { id: pull.id, name: pull.name, when: whenOf(pull), mlPerArm: pull.mlPerArm },
      read: read.get(pull.id) ?? 0,
      arms: arms.get(trialId) ?? 0,
    }))
    .filter((one) => one.read < one.arms);
}
