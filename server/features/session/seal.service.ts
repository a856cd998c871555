import { setImmediate } from 'node:timers/promises';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import { insertKey, listSealLeaves } from '@oddglass/db/queries/key.ts';
import { insertTable } from '@oddglass/db/queries/seat.ts';
import { moveSession } from '@oddglass/db/queries/session.ts';
import { listArms, lockTrial, type Arm } from '@oddglass/db/queries/trial.ts';
import { readTrianglePlan } from '@oddglass/shared/analysis/triangle-plan.ts';
import type { SealView } from '@oddglass/shared/contracts/seal.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { randomUuid, shuffled, toHex } from '@oddglass/shared/design/random.ts';
import { buildSealSteps, fingerprint } from '@oddglass/shared/design/seal.ts';
import { inSlices } from '@oddglass/shared/stats/in-slices.ts';
import { drawTrianglePlan } from '@oddglass/shared/design/triangle.ts';
import { sessionFor } from '../../access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../plugins/actor.ts';
import { problem } from '../../problem.ts';
import { act, checkSettings } from './session.service.ts';

/** Draws the plan, seals it and lays the table. From here on nothing of it can change. */
export async function sealSession(deps: Deps, actor: Actor, sessionId: string): Promise<void> {
  await act(deps, actor, sessionId, 'seal', async (tx, session) => {
    const { settings, trialId } = session;
    await lockTrial(tx, trialId);
    const arms = await listArms(tx, trialId);
    checkSettings(settings, arms);
    const compared = settings.armIds
      .map((id) => arms.find((arm) => arm.id === id))
      .filter((arm) => arm !== undefined);
    refuseTooLittle(settings, compared);

    const { random } = deps;
    const seed = random.bytes(32);
    // Which arm gets which sample id is as random as the ids: their order says nothing.
    const samples = shuffled(random, compared).map(({ id, name }) => ({
      id: randomUuid(random),
      armId: id,
      armName: name,
    }));
    const [first, second] = samples;
    if (!first || !second) throw new Error('a triangle needs two samples');
    const plan = drawTrianglePlan({
      seats: settings.assessors + settings.spareSeats,
      replicates: settings.replicates,
      sampleIds: [first.id, second.id],
      seed,
    });
    const steps = buildSealSteps({
      settings: sealedSettings(settings, samples.map(({ id }) => id).sort()),
      samples,
      plan,
      random,
    });
    const { root, leaves } = await inSlices({
      steps,
      pause: setImmediate,
      now: () => performance.now(),
      longest: 20,
    });

    const seats = plan.seats.map(({ number }) => ({
      id: randomUuid(random),
      sessionId,
      number,
      spare: number > settings.assessors,
      tokenHash: null,
      takenAt: null,
      cautionsConfirmedAt: null,
      progress: null,
    }));
    const trays = plan.seats.flatMap((seat, index) =>
      seat.trays.map((tray) => ({ tray, seatId: seats[index]?.id ?? '' })),
    );
    const servings = trays.flatMap(({ tray }) =>
      tray.servings.map((serving) => ({ ...serving, trayId: tray.id })),
    );
    await insertTable(
      tx,
      seats,
      trays.map(({ tray, seatId }) => ({ id: tray.id, sessionId, seatId, replicate: tray.replicate })),
      servings
        .map(({ id, trayId, position, code }) => ({ id, sessionId, trayId, position, code }))
        .sort((a, b) => a.code.localeCompare(b.code) || a.id.localeCompare(b.id)),
    );
    await insertKey(tx, {
      sessionId,
      seed: toHex(seed),
      samples: samples.map(({ id, armId }) => ({ id, armId })),
      servings: servings.map(({ id, sampleId }) => ({ servingId: id, sampleId })),
      leaves,
    });
    const now = deps.clock();
    await moveSession(tx, sessionId, { state: 'sealed', root, sealedAt: now });
    await appendEvent(tx, sessionId, { kind: 'sealed' }, now);
  });
}

/** What the seal says of the plan: enough to hold the analysis to it, and no arm by name. */
function sealedSettings(settings: SessionSettings, samples: string[]): Record<string, unknown> {
  return {
    test: settings.kind,
    side: 'one-sided, more right than by guessing',
    alpha: settings.alpha,
    aim: settings.aim,
    meaningfulShare: settings.meaningfulShare,
    beta: settings.beta,
    assessors: settings.assessors,
    spareSeats: settings.spareSeats,
    replicates: settings.replicates,
    cupMl: settings.cupMl,
    restSeconds: settings.restSeconds,
    samples,
  };
}

function refuseTooLittle(settings: SessionSettings, compared: Arm[]): void {
  const { liquid } = readTrianglePlan(settings, compared);
  const short = liquid.filter(({ enough }) => !enough);
  if (short.length === 0) return;
  const detail = short
    .map(({ name, needMl, leftMl }) => `${name}: the plan needs ${needMl} mL, ${leftMl} mL are left.`)
    .join(' ');
  throw problem('not-enough-liquid', { detail, errors: [{ pointer: '#/cupMl', detail }] });
}

/** Root from sealing on; leaves with their nonces once everything is revealed. */
export async function readSeal(deps: Deps, actor: Actor, sessionId: string): Promise<SealView> {
  const { session } = await sessionFor(deps.db, actor, sessionId);
  if (!session.root || !session.sealedAt) throw problem('wrong-state', { detail: 'Nothing is sealed yet.' });
  return {
    root: session.root,
    fingerprint: fingerprint(session.root),
    sealedAt: session.sealedAt.toISOString(),
    leaves: session.state === 'revealed' ? await listSealLeaves(deps.db, sessionId) : null,
  };
}
