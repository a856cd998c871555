import type { Db } from '@oddglass/db/client.ts';
import { insertDilutionStep, listDilutionSteps, listSamples } from '@oddglass/db/queries/key.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Done } from '@oddglass/shared/contracts/common.ts';
import type { DilutionCheckInput, DilutionInput } from '@oddglass/shared/contracts/pour.ts';
import { dilutionInHand } from '@oddglass/shared/rules/dilution.ts';
import type { Actor } from '../../access/actor.ts';
import { sessionFor } from '../../access/panel-access.ts';
import { inSession, type Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { noteKeyOpening } from '../../session-data/key-openings.ts';
import { bottlesOf } from './bottles.ts';
import { mayTick, othersWithKey, refuseWithoutKey } from './key-holders.ts';

/** Records what somebody measured for a spiked bottle. No event tells of it: it would follow the bottle. */
export async function noteDilution(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  { sampleId, amount, volumeMl }: DilutionInput,
): Promise<Done> {
  return atBottle(deps, actor, { sessionId, sampleId }, async (tx) => {
    await insertDilutionStep(tx, {
      sessionId,
      sampleId,
      kind: 'measured',
      amount,
      volumeMl,
      by: actor.id,
      at: deps.clock(),
    });
    return { ok: true };
  });
}

/** A second person confirms the newest measurement, or whoever made it goes on alone and says so. Sent twice it counts once. */
export async function checkDilution(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  { sampleId, measurement, by }: DilutionCheckInput,
): Promise<Done> {
  return atBottle(deps, actor, { sessionId, sampleId }, async (tx, session) => {
    const steps = await listDilutionSteps(tx, sessionId);
    const inHand = dilutionInHand(steps.filter((step) => step.sampleId === sampleId));
    if (inHand?.measured.id !== measurement) {
      throw fieldProblem('#/measurement', 'Something else was measured meanwhile: look at it again.');
    }
    const { measured, settled } = inHand;
    if (settled) return { ok: true };
    const own = measured.by === actor.id;
    if (by === 'second' && own) {
      throw problem('second-person-needed', {
        detail: 'Whoever measured cannot confirm it: let another account with the key look.',
      });
    }
    if (by !== 'second') await refuseGoingOn(tx, session, { actor, own, by });
    await insertDilutionStep(tx, {
      sessionId,
      sampleId,
      kind: by === 'second' ? 'checked' : by,
      measurement,
      by: actor.id,
      at: deps.clock(),
    });
    return { ok: true };
  });
}

/** Going on without a second person is for whoever measured; where others have the key it takes saying that they are not there. */
async function refuseGoingOn(
  db: Db,
  session: Session,
  { actor, own, by }: { actor: Actor; own: boolean; by: 'alone' | 'others-absent' },
): Promise<void> {
  if (!own) throw fieldProblem('#/by', 'Somebody else measured this: you are the second person.');
  const others = await othersWithKey(db, session, actor);
  if (by === 'alone' && others.length > 0) {
    throw problem('second-person-needed', {
      detail: 'Others have the key too: let one of them confirm it, or say that none of them is there.',
    });
  }
}

/** Work on a spiked bottle while cups may still be poured, under the row lock of the session. */
async function atBottle<T>(
  deps: Deps,
  actor: Actor,
  { sessionId, sampleId }: { sessionId: string; sampleId: string },
  work: (tx: Db, session: Session) => Promise<T>,
): Promise<T> {
  const { panel } = await sessionFor(deps.db, actor, sessionId);
  return inSession(deps, sessionId, async (tx, session) => {
    refuseWithoutKey(session, panel);
    if (!mayTick(session)) throw problem('wrong-state');
    await noteKeyOpening(tx, session, actor, deps.clock());
    const bottles = bottlesOf(await listSamples(tx, sessionId), session.settings);
    const bottle = bottles.find(({ id }) => id === sampleId);
    if (!bottle || bottle.spike === null) {
      throw fieldProblem('#/sampleId', 'This is no spiked bottle of this session.');
    }
    return work(tx, session);
  });
}
