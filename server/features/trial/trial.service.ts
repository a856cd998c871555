import { listRehearsalsOfTrial, listSessionsOfTrial } from '@oddglass/db/queries/session.ts';
import { insertFairTestAnswer } from '@oddglass/db/queries/fair-test.ts';
import { insertLiquid } from '@oddglass/db/queries/liquid.ts';
import {
  insertArm,
  insertChanges,
  insertTrial,
  listArms,
  listChanges,
  listSealedArmIds,
  lockTrial,
  updateArm,
  updateTrial,
  type Arm,
} from '@oddglass/db/queries/trial.ts';
import { insertDeviation, listDeviations } from '@oddglass/db/queries/deviation.ts';
import type { Db } from '@oddglass/db/client.ts';
import {
  allergen,
  type ArmChange,
  type ArmInput,
  type TrialChange,
  type TrialInput,
  type TrialView,
} from '@oddglass/shared/contracts/trial.ts';
import type { FairTestAnswerInput } from '@oddglass/shared/contracts/fair-test.ts';
import type { LiquidInput } from '@oddglass/shared/contracts/liquid.ts';
import { armMaking, baseMaking } from '@oddglass/shared/contracts/making.ts';
import { type DeviationInput } from '@oddglass/shared/contracts/deviation.ts';
import { checkFairTest } from '@oddglass/shared/fermentation/fair-test/check.ts';
import { fieldsNamedBy } from '@oddglass/shared/fermentation/fair-test/fields.ts';
import { freeMl } from '@oddglass/shared/fermentation/ledger.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { z } from 'zod';
import { onlyHost, panelFor, trialFor } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { knownSafety } from '../../session-data/arm-safety.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { fairTestInput } from '../../session-data/fair-test.ts';
import { liquidOfTrial } from '../../session-data/liquid.ts';
import { withGravity } from './original-gravity.ts';
import { overwrittenOfArm, overwrittenOfTrial, type Overwritten } from './trial-changes.ts';

const MAX_ARMS = 8;

export async function createTrial(
  deps: Deps,
  actor: Actor,
  panelId: string,
  input: TrialInput,
): Promise<TrialView> {
  onlyHost(await panelFor(deps.db, actor, panelId));
  const { arms, ...rest } = input;
  const trialId = randomUuid(deps.random);
  const fresh = { making: {}, factorFields: fieldsNamedBy(input.factor), archivedAt: null };
  await deps.db.transaction((tx) =>
    insertTrial(
      tx,
      { ...rest, ...fresh, id: trialId, panelId, createdAt: deps.clock() },
      arms.map((arm, position) => armRow(deps, trialId, arm, position)),
    ),
  );
  return readTrial(deps, actor, trialId);
}

const armRow = ({ random }: Deps, trialId: string, arm: ArmInput, position: number): Arm => ({
  ...arm,
  making: arm.making ?? {},
  id: randomUuid(random),
  trialId,
  position,
});

export async function readTrial(deps: Deps, actor: Actor, trialId: string): Promise<TrialView> {
  const { trial, panel } = await trialFor(deps.db, actor, trialId);
  const arms = await listArms(deps.db, trialId);
  const armIds = arms.map(({ id }) => id);
  const [deviations, safety, sealed, sessions, rehearsals, liquid, fairTest, changes] = await Promise.all([
    listDeviations(deps.db, armIds),
    knownSafety(deps.db, armIds),
    listSealedArmIds(deps.db, trialId),
    listSessionsOfTrial(deps.db, trialId),
    listRehearsalsOfTrial(deps.db, trialId),
    liquidOfTrial(deps.db, trial, arms),
    fairTestInput(deps.db, trial, arms),
    listChanges(deps.db, trialId),
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
    making: baseMaking.parse(trial.making),
    factorFields: trial.factorFields,
    createdAt: trial.createdAt.toISOString(),
    archivedAt: trial.archivedAt?.toISOString() ?? null,
    arms: arms.map((arm) => {
      const ledger = liquid.get(arm.id) ?? {
        leftMl: arm.volumeMl,
        reservedMl: 0,
        headspaceMl: null,
        lines: [],
      };
      return {
        ...arm,
        volumeMl: freeMl(ledger),
        liquid: ledger,
        making: armMaking.parse(arm.making),
        allergens: z.array(allergen).parse(arm.allergens),
        sealed: sealed.has(arm.id),
        deviations: deviations.filter(({ armId }) => armId === arm.id),
        safety: safety.get(arm.id)?.facts ?? null,
      };
    }),
    fairTest: checkFairTest(fairTest),
    changes,
    sessions,
    rehearsals,
  };
}

/** Corrects what the trial is about. What a session sealed is told there as it was sealed. */
export async function changeTrial(
  deps: Deps,
  actor: Actor,
  trialId: string,
  { archived, making, ...words }: TrialChange,
): Promise<TrialView> {
  onlyHost((await trialFor(deps.db, actor, trialId)).panel);
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, trialId);
    // Once more, under the lock: what is written down as the value before has to be it.
    const { trial } = await trialFor(tx, actor, trialId);
    const archivedAt =
      archived === undefined || archived === (trial.archivedAt !== null)
        ? trial.archivedAt
        : archived
          ? deps.clock()
          : null;
    const change = { ...words, ...(making && { making: withGravity(making) }), archivedAt };
    await writeDown(deps, tx, { trialId, armId: null, actor }, overwrittenOfTrial(trial, change));
    await updateTrial(tx, trialId, change);
  });
  return readTrial(deps, actor, trialId);
}

/** One arm more, new or as a copy in which something was changed. */
export async function addArm(deps: Deps, actor: Actor, trialId: string, input: ArmInput): Promise<TrialView> {
  onlyHost((await trialFor(deps.db, actor, trialId)).panel);
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, trialId);
    const arms = await listArms(tx, trialId);
    if (arms.length >= MAX_ARMS) throw fieldProblem('#', 'A trial has at most eight arms.');
    refuseNameTwice(arms, input.name);
    const row = armRow(deps, trialId, input, Math.max(-1, ...arms.map(({ position }) => position)) + 1);
    await insertArm(tx, row);
    await writeDown(deps, tx, { trialId, armId: row.id, actor }, [
      { field: 'arm', before: 'not there', after: 'added' },
    ]);
  });
  return readTrial(deps, actor, trialId);
}

export async function changeArm(
  deps: Deps,
  actor: Actor,
  trialId: string,
  armId: string,
  { volumeMl, ...change }: ArmChange,
): Promise<TrialView> {
  const { trial, panel } = await trialFor(deps.db, actor, trialId);
  onlyHost(panel);
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, trialId);
    const arms = await listArms(tx, trialId);
    const arm = arms.find(({ id }) => id === armId);
    if (!arm) throw problem('not-found');
    const renamed = change.name !== undefined && change.name !== arm.name;
    const redescribed = change.differs !== undefined && change.differs !== arm.differs;
    if ((renamed || redescribed) && (await listSealedArmIds(tx, trialId)).has(armId))
      throw problem('arm-sealed');
    if (change.name !== undefined)
      refuseNameTwice(
        arms.filter(({ id }) => id !== armId),
        change.name,
      );
    if (volumeMl !== undefined) {
      const ledger = (await liquidOfTrial(tx, trial, [arm])).get(armId);
      // What a form shows is what is free; only another number was counted.
      if (ledger && volumeMl !== freeMl(ledger)) {
        await noteLiquid(
          deps,
          tx,
          { armId, actor },
          { kind: 'counted', ml: volumeMl + ledger.reservedMl, note: '' },
        );
      }
    }
    await writeDown(deps, tx, { trialId, armId, actor }, overwrittenOfArm(arm, change));
    await updateArm(tx, armId, change);
  });
  return readTrial(deps, actor, trialId);
}

function refuseNameTwice(others: readonly Arm[], name: string): void {
  const wanted = name.toLocaleLowerCase('en');
  if (others.some((arm) => arm.name.toLocaleLowerCase('en') === wanted)) {
    throw fieldProblem('#/name', 'Two arms have this name.');
  }
}

async function writeDown(
  { random, clock }: Deps,
  tx: Db,
  { trialId, armId, actor }: { trialId: string; armId: string | null; actor: Actor },
  overwritten: readonly Overwritten[],
): Promise<void> {
  const writtenAt = clock();
  await insertChanges(
    tx,
    overwritten.map((one) => ({
      ...one,
      id: randomUuid(random),
      trialId,
      armId,
      writtenBy: actor.id,
      writtenAt,
    })),
  );
}

const noteLiquid = (
  { random, clock }: Deps,
  tx: Db,
  { armId, actor }: { armId: string; actor: Actor },
  { kind, ml, note }: LiquidInput,
): Promise<void> =>
  insertLiquid(tx, [{ id: randomUuid(random), armId, kind, ml, note, at: clock(), writtenBy: actor.id }]);

/** Something was added to an arm, lost of it, or counted. */
export async function changeLiquid(
  deps: Deps,
  actor: Actor,
  trialId: string,
  armId: string,
  input: LiquidInput,
): Promise<TrialView> {
  onlyHost((await trialFor(deps.db, actor, trialId)).panel);
  if (!(await listArms(deps.db, trialId)).some(({ id }) => id === armId)) throw problem('not-found');
  await noteLiquid(deps, deps.db, { armId, actor }, input);
  return readTrial(deps, actor, trialId);
}

/** A host's answer to a finding that stands now. */
export async function answerFinding(
  deps: Deps,
  actor: Actor,
  trialId: string,
  { finding, grounds, answer }: FairTestAnswerInput,
): Promise<TrialView> {
  const { trial, panel } = await trialFor(deps.db, actor, trialId);
  onlyHost(panel);
  const found = checkFairTest(await fairTestInput(deps.db, trial, await listArms(deps.db, trialId)));
  const same = found.find(({ id }) => id === finding);
  if (!same || same.grounds.join('\n') !== grounds.join('\n')) throw problem('finding-changed');
  await insertFairTestAnswer(deps.db, {
    id: randomUuid(deps.random),
    trialId,
    finding,
    grounds,
    answer,
    writtenBy: actor.id,
    writtenAt: deps.clock(),
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
