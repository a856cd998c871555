import { setImmediate } from 'node:timers/promises';
import type { Db } from '@oddglass/db/client.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import { insertKey, listSealLeaves } from '@oddglass/db/queries/key.ts';
import { insertSeating } from '@oddglass/db/queries/seat.ts';
import { moveSession, updateDraft } from '@oddglass/db/queries/session.ts';
import { findTrial, listArms, lockTrial, type Arm } from '@oddglass/db/queries/trial.ts';
import { lockPanel, vocabularyVersion } from '@oddglass/db/queries/vocabulary.ts';
import { liquidOfPlan } from '@oddglass/shared/planner/planner.ts';
import type { SealAnnouncement, SealView } from '@oddglass/shared/contracts/seal.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { NotApartError } from '@oddglass/shared/design/flight.ts';
import { drawPlan, type Plan, type PlanDesign } from '@oddglass/shared/design/plan-draw.ts';
import { EDITION } from '@oddglass/shared/vocabulary/editions.ts';
import { randomUuid, shuffled, toHex } from '@oddglass/shared/ground/random.ts';
import { buildSealSteps, fingerprint, proveLeaf } from '@oddglass/shared/design/seal.ts';
import { inSlices } from '@oddglass/shared/ground/in-slices.ts';
import { groupsOf, isSpareSeat } from '@oddglass/shared/rules/sites.ts';
import { sessionFor } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { armsWithFree } from '../../session-data/liquid.ts';
import { vocabularyOf } from '../../session-data/session-vocabulary.ts';
import { withLiveWords } from './offered-words.ts';
import { designsOf, samplesOf, sealedSettings } from './samples.ts';
import { act, checkSettings } from './session.service.ts';

/** Draws the plan, seals it and lays the table. From here on nothing of it can change. */
export async function sealSession(deps: Deps, actor: Actor, sessionId: string): Promise<void> {
  await act(deps, actor, sessionId, 'seal', async (tx, session) => {
    const { trialId, panelId } = session;
    await lockTrial(tx, trialId);
    await lockPanel(tx, panelId);
    const version = await vocabularyVersion(tx, panelId);
    const vocabulary = await vocabularyOf(tx, panelId, { version, edition: EDITION });
    const settings = withLiveWords(session.settings, vocabulary);
    const arms = await listArms(tx, trialId);
    checkSettings(settings, arms, vocabulary);
    const trial = await findTrial(tx, trialId);
    if (!trial) throw problem('not-found');
    // A rehearsal pours nothing.
    if (!session.rehearsal) refuseTooLittle(settings, await armsWithFree(tx, trial, arms));

    const { random } = deps;
    const seed = random.bytes(32);
    const samples = samplesOf(settings, arms).map((sample) => ({ ...sample, id: randomUuid(random) }));
    const plan = drawn({
      seats: settings.assessors + settings.spareSeats,
      parts: designsOf(settings, samples),
      ...(settings.sites && { groups: groupsOf(settings, { spare: true }) }),
      seed,
    });
    const steps = buildSealSteps({
      settings: {
        ...sealedSettings(settings, samples, { version, edition: EDITION }),
        // Under the root, so that nobody shows it for the plan of a tasting.
        ...(session.rehearsal && { rehearsal: true }),
      },
      // Which arm gets which sample id is as random as the ids: their order says nothing.
      samples: shuffled(random, samples),
      plan,
      random,
    });
    const { root, leaves } = await inSlices({
      steps,
      pause: setImmediate,
      now: () => performance.now(),
      longest: 20,
    });

    const servings = await laySeating(deps, tx, session.id, { plan, settings });
    await insertKey(tx, {
      sessionId,
      seed: toHex(seed),
      samples: samples.map(({ armName: _name, ...sample }) => sample),
      servings: servings.map(({ id, sampleId }) => ({ servingId: id, sampleId })),
      leaves,
    });
    const now = deps.clock();
    await updateDraft(tx, sessionId, settings);
    await moveSession(tx, sessionId, {
      state: 'sealed',
      root,
      sealedAt: now,
      trialWords: { title: trial.title, question: trial.question, factor: trial.factor },
      keyWatched: true,
      vocabularyVersion: version,
      vocabularyEdition: EDITION,
    });
    await appendEvent(tx, sessionId, { kind: 'sealed' }, now);
  });
}

/** Seats, trays and cups as drawn; rows of cups in the order of their codes, which says nothing. */
async function laySeating(
  { random }: Deps,
  tx: Db,
  sessionId: string,
  { plan, settings }: { plan: Plan; settings: SessionSettings },
): Promise<(Plan['seats'][number]['trays'][number]['servings'][number] & { trayId: string })[]> {
  const seats = plan.seats.map(({ number }) => ({
    id: randomUuid(random),
    sessionId,
    number,
    spare: isSpareSeat(settings, number),
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
  await insertSeating(
    tx,
    seats,
    trays.map(({ tray: { id, trayNumber, part, replicate }, seatId }) => ({
      id,
      sessionId,
      seatId,
      number: trayNumber,
      part,
      replicate,
    })),
    servings
      .map(({ id, trayId, position, code, mark }) => ({ id, sessionId, trayId, position, code, mark }))
      .sort((a, b) => a.code.localeCompare(b.code) || a.id.localeCompare(b.id)),
  );
  return servings;
}

/** The plan; a problem at the samples when cups of one bottle cannot be kept apart. */
function drawn(design: PlanDesign): Plan {
  try {
    return drawPlan(design);
  } catch (reason) {
    if (reason instanceof NotApartError) throw fieldProblem('#/parts', reason.message);
    throw reason;
  }
}

function refuseTooLittle(settings: SessionSettings, arms: Arm[]): void {
  const liquid = liquidOfPlan(settings, arms);
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

const ABOUT =
  'What this tasting asks was fixed when it was sealed. The leaf and its path lead to the root; samples stand by ids that are opened with the result.';

/** The settings with their proof, to be shown to anybody from sealing on: who announces a plan cannot drop it unseen. */
export async function announceSeal(deps: Deps, actor: Actor, sessionId: string): Promise<SealAnnouncement> {
  const { session } = await sessionFor(deps.db, actor, sessionId);
  if (!session.root || !session.sealedAt) throw problem('wrong-state', { detail: 'Nothing is sealed yet.' });
  const leaves = await listSealLeaves(deps.db, sessionId);
  const settings = leaves.find(({ kind }) => kind === 'settings');
  if (!settings) {
    if (session.guest) {
      throw problem('wrong-state', {
        detail: 'This plan was sealed on another server, which announces it. The fingerprint is the same.',
      });
    }
    throw new Error('a seal has no settings');
  }
  return {
    about: `${session.rehearsal ? 'A rehearsal: nothing in it is tasted. ' : ''}${ABOUT}`,
    root: session.root,
    fingerprint: fingerprint(session.root),
    sealedAt: session.sealedAt.toISOString(),
    size: leaves.length,
    settings: { ...settings, proof: proveLeaf(leaves, settings.index) },
  };
}
