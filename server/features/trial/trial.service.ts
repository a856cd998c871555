import { listSessionsOfTrial } from '@oddglass/db/queries/session.ts';
import { insertTrial, listArms, listSealedArmIds, lockTrial, updateArm } from '@oddglass/db/queries/trial.ts';
import { newestSafety } from '@oddglass/db/queries/safety.ts';
import { insertDeviation, listDeviations } from '@oddglass/db/queries/deviation.ts';
import {
  allergen,
  type ArmChange,
  type TrialInput,
  type TrialView,
} from '@oddglass/shared/contracts/trial.ts';
import { type DeviationInput } from '@oddglass/shared/contracts/deviation.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { z } from 'zod';
import { onlyHost, panelFor, trialFor } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';

export async function createTrial(
  deps: Deps,
  actor: Actor,
  panelId: string,
  input: TrialInput,
): Promise<TrialView> {
  onlyHost(await panelFor(deps.db, actor, panelId));
  const { arms, ...rest } = input;
  const trialId = randomUuid(deps.random);
  await deps.db.transaction((tx) =>
    insertTrial(
      tx,
      { ...rest, id: trialId, panelId, createdAt: deps.clock() },
      arms.map((arm, position) => ({ ...arm, id: randomUuid(deps.random), trialId, position })),
    ),
  );
  return readTrial(deps, actor, trialId);
}

export async function readTrial(deps: Deps, actor: Actor, trialId: string): Promise<TrialView> {
  const { trial, panel } = await trialFor(deps.db, actor, trialId);
  const arms = await listArms(deps.db, trialId);
  const [deviations, safety, sealed, sessions] = await Promise.all([
    listDeviations(
      deps.db,
      arms.map(({ id }) => id),
    ),
    newestSafety(
      deps.db,
      arms.map(({ id }) => id),
    ),
    listSealedArmIds(deps.db, trialId),
    listSessionsOfTrial(deps.db, trialId),
  ]);
  return {
    id: trial.id,
    panelId: panel.id,
    panelName: panel.name,
    demo: panel.demo,
    title: trial.title,
    question: trial.question,
    factor: trial.factor,
    base: trial.base,
    createdAt: trial.createdAt.toISOString(),
    arms: arms.map((arm) => ({
      ...arm,
      allergens: z.array(allergen).parse(arm.allergens),
      sealed: sealed.has(arm.id),
      deviations: deviations.filter(({ armId }) => armId === arm.id),
      safety: safety.get(arm.id) ?? null,
    })),
    sessions,
  };
}

export async function changeArm(
  deps: Deps,
  actor: Actor,
  trialId: string,
  armId: string,
  change: ArmChange,
): Promise<TrialView> {
  onlyHost((await trialFor(deps.db, actor, trialId)).panel);
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, trialId);
    const arms = await listArms(tx, trialId);
    const arm = arms.find(({ id }) => id === armId);
    if (!arm) throw problem('not-found');
    const renamed = change.name !== undefined && change.name !== arm.name;
    const redescribed = change.differs !== undefined && change.differs !== arm.differs;
    if ((renamed || redescribed) && (await listSealedArmIds(tx, trialId)).has(armId))
      throw problem('arm-sealed');
    const wanted = change.name?.toLocaleLowerCase('en');
    if (arms.some(({ id, name }) => id !== armId && name.toLocaleLowerCase('en') === wanted)) {
      throw fieldProblem('#/name', 'Two arms have this name.');
    }
    await updateArm(tx, armId, change);
  });
  return readTrial(deps, actor, trialId);
}

export async function noteDeviation(
  deps: Deps,
  actor: Actor,
  trialId: string,
  armId: string,
  input: DeviationInput,
): Promise<TrialView> {
  onlyHost((await trialFor(deps.db, actor, trialId)).panel);
  if (!(await listArms(deps.db, trialId)).some(({ id }) => id === armId)) throw problem('not-found');
  await insertDeviation(deps.db, {
    ...input,
    id: randomUuid(deps.random),
    armId,
    writtenBy: actor.id,
    writtenAt: deps.clock(),
  });
  return readTrial(deps, actor, trialId);
}
