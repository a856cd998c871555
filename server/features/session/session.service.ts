import { isDeepStrictEqual } from 'node:util';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import {
  deleteUnkept,
  insertSession,
  moveSession,
  updateDraft,
  type Session,
} from '@oddglass/db/queries/session.ts';
import { insertLiquid } from '@oddglass/db/queries/liquid.ts';
import { listArms, type Arm, findTrial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type {
  OpenInput,
  SessionAction,
  SessionSettings,
  SessionView,
} from '@oddglass/shared/contracts/session.ts';
import type { CallWaveInput } from '@oddglass/shared/contracts/waves.ts';
import type { SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import { recordOf } from '@oddglass/shared/analysis/reveal-record.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { controlArmOf, kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { isChoice, isFlight } from '@oddglass/shared/contracts/part-fit.ts';
import { refusedSpikes } from '@oddglass/shared/contracts/refused-spikes.ts';
import { untoldSpikes } from '@oddglass/shared/contracts/spike-fit.ts';
import type { Vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { armsOfParts } from '@oddglass/shared/rules/parts.ts';
import { actionsFor, mayAct } from '@oddglass/shared/rules/session.ts';
import { wavesOf } from '@oddglass/shared/rules/waves.ts';
import { revealsArmName } from '@oddglass/shared/rules/title.ts';
import { isAsInVocabulary } from '@oddglass/shared/vocabulary/spike-cups.ts';
import { onlyHost, sessionFor, trialFor, type PanelInHand } from '../../access/panel-access.ts';
import { inSession, type Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { fieldProblem, problem, Problem } from '../../refusal/problem.ts';
import { sealAllAnswers } from '../../session-data/answer-seal.ts';
import { refuseUnsafe } from '../../session-data/arm-safety.ts';
import { newJoinCode, newToken } from '../../access/tokens.ts';
import { takePaperIn } from '../../session-data/paper-ballots.ts';
import { readToReveal } from '../../session-data/session-input.ts';
import { noteKeyOpening } from '../../session-data/key-openings.ts';
import { pouredByArm } from '../../session-data/poured.ts';
import { vocabularyOf } from '../../session-data/session-vocabulary.ts';

const iso = (date: Date | null): string | null => date?.toISOString() ?? null;

async function sessionView(deps: Deps, session: Session, panel: PanelInHand): Promise<SessionView> {
  const trial = await findTrial(deps.db, session.trialId);
  return {
    id: session.id,
    panelId: panel.id,
    panelName: panel.name,
    trialId: session.trialId,
    trialTitle: trial?.title ?? '',
    demo: panel.demo,
    rehearsal: session.rehearsal !== null,
    state: session.state,
    settings: session.settings,
    blinding: session.blinding,
    smellOnly: session.smellOnly,
    stoppedAt: iso(session.stoppedAt),
    root: session.root,
    fingerprint: session.root && fingerprint(session.root),
    answersRoot: session.answersRoot,
    createdAt: session.createdAt.toISOString(),
    sealedAt: iso(session.sealedAt),
    openedAt: iso(session.openedAt),
    closedAt: iso(session.closedAt),
    revealedAt: iso(session.revealedAt),
    role: panel.role,
    actions: actionsFor(session, panel.role),
    join: session.joinCode && session.joinToken ? { code: session.joinCode, token: session.joinToken } : null,
    ...(session.guest && { guest: session.guest }),
  };
}

/**
 * Settings that make sense for this trial: its own arms, questions that tell nothing, and spikes that are told, as the
 * vocabulary has them now.
 */
export function checkSettings(settings: SessionSettings, arms: Arm[], vocabulary: Vocabulary): void {
  // A draft may be older than the list of what is never added, or than what is asked of a spike.
  const [refused] = [...refusedSpikes(settings.parts), ...untoldSpikes(settings.parts)];
  if (refused) throw fieldProblem(`#/parts/${refused.at.join('/')}`, refused.message);
  const [pointer] = spikesOtherwise(settings, vocabulary);
  if (pointer !== undefined) {
    throw fieldProblem(pointer, 'The vocabulary has another reference cup by now: choose it again.');
  }
  for (const { pointer, armId } of armsNamed(settings)) {
    if (arms.some(({ id }) => id === armId)) continue;
    const detail = 'This arm belongs to another trial.';
    throw problem('arm-out-of-trial', { detail, errors: [{ pointer, detail }] });
  }
  const poured = armsOfParts(settings.parts);
  const names = arms.filter(({ id }) => poured.includes(id)).map(({ name }) => name);
  for (const { pointer, text } of textsAtSeat(settings)) {
    if (!revealsArmName(text, names)) continue;
    const detail = 'Assessors read this: leave the names of the arms out of it.';
    throw problem('title-tells', { detail, errors: [{ pointer, detail }] });
  }
}

/** Spiked samples that are not as the vocabulary has their reference cup. */
function spikesOtherwise({ parts }: SessionSettings, vocabulary: Vocabulary): string[] {
  return parts.flatMap((part, index) =>
    (isFlight(part) ? part.samples : []).flatMap((sample, place) =>
      isAsInVocabulary(sample, vocabulary) ? [] : [`#/parts/${index}/samples/${place}/spikeReference`],
    ),
  );
}

function armsNamed({ parts, replicates }: SessionSettings): { pointer: string; armId: string }[] {
  const repeated = (replicates?.armIds ?? []).map((armId, place) => ({
    pointer: `#/replicates/armIds/${place}`,
    armId,
  }));
  return [...repeated, ...parts.flatMap(armsOfPart)];
}

function armsOfPart(
  part: SessionSettings['parts'][number],
  index: number,
): { pointer: string; armId: string }[] {
  const at = `#/parts/${index}`;
  if (isChoice(part)) return part.armIds.map((armId, place) => ({ pointer: `${at}/armIds/${place}`, armId }));
  const samples = part.samples.map(({ armId }, place) => ({
    pointer: `${at}/samples/${place}/armId`,
    armId,
  }));
  const control = controlArmOf(part);
  return control === null ? samples : [{ pointer: `${at}/controlArmId`, armId: control }, ...samples];
}

/** Everything of the settings that an assessor gets to read. */
function textsAtSeat({ title, parts, sites = [] }: SessionSettings): { pointer: string; text: string }[] {
  return [
    { pointer: '#/title', text: title },
    ...sites.map(({ name }, at) => ({ pointer: `#/sites/${at}/name`, text: name })),
    ...parts.flatMap((part, index) =>
      kindOf(part)
        .textsAtSeat(part)
        .map(({ path, text }) => ({ pointer: `#/parts/${index}/${path}`, text })),
    ),
  ];
}

export async function createSession(
  deps: Deps,
  actor: Actor,
  trialId: string,
  settings: SessionSettings,
): Promise<SessionView> {
  const { trial, panel } = await trialFor(deps.db, actor, trialId);
  onlyHost(panel);
  checkSettings(settings, await listArms(deps.db, trialId), await vocabularyOf(deps.db, panel.id, null));
  const id = randomUuid(deps.random);
  await insertSession(deps.db, {
    id,
    panelId: panel.id,
    trialId: trial.id,
    state: 'draft',
    blinding: 'double',
    settings,
    createdAt: deps.clock(),
  });
  return readSession(deps, actor, id);
}

export async function readSession(deps: Deps, actor: Actor, sessionId: string): Promise<SessionView> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  return sessionView(deps, session, panel);
}

export async function changeSession(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  settings: SessionSettings,
): Promise<SessionView> {
  await act(deps, actor, sessionId, 'edit', async (tx, session) => {
    const vocabulary = await vocabularyOf(tx, session.panelId, null);
    checkSettings(settings, await listArms(tx, session.trialId), vocabulary);
    const { replicates } = session.settings;
    if (settings.replicates && !isDeepStrictEqual(settings.replicates, replicates)) {
      throw fieldProblem('#/replicates', 'What is repeated is chosen with the draft and stays.');
    }
    await updateDraft(tx, session.id, { ...settings, ...(replicates && { replicates }) });
  });
  return readSession(deps, actor, sessionId);
}

export async function removeSession(deps: Deps, actor: Actor, sessionId: string): Promise<void> {
  await act(deps, actor, sessionId, 'remove', (tx, session) => deleteUnkept(tx, session.id));
}

/** Runs `work` on the locked session if the actor may do this now; the rules decide, for the screens too. */
export async function act<T>(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  action: SessionAction,
  work: (tx: Db, session: Session) => Promise<T>,
): Promise<T> {
  const { panel } = await sessionFor(deps.db, actor, sessionId);
  return inSession(deps, sessionId, async (tx, session) => {
    if (!mayAct(session, panel.role, action)) {
      const elsewhere = (['host', 'steward'] as const).some(
        (role) => role !== panel.role && mayAct(session, role, action),
      );
      throw problem(elsewhere ? 'not-allowed' : 'wrong-state');
    }
    return work(tx, session);
  });
}

interface Step {
  to: Parameters<typeof moveSession>[2];
  event: SessionEventBody;
}

async function move(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  action: SessionAction,
  step: (now: Date, tx: Db, session: Session) => Step | Promise<Step>,
): Promise<SessionView> {
  await act(deps, actor, sessionId, action, async (tx, session) => {
    const now = deps.clock();
    const { to, event } = await step(now, tx, session);
    await moveSession(tx, session.id, to);
    await appendEvent(tx, session.id, event, now);
  });
  // A result is asked for at the end of an evening; what works it out has the evening to get ready.
  if (action === 'open' || action === 'close') deps.analyst.wake();
  return readSession(deps, actor, sessionId);
}

/** Opens the tasting, if what is on the table is fit for it. */
export const openSession = (
  deps: Deps,
  actor: Actor,
  sessionId: string,
  { smellOnly }: OpenInput = { smellOnly: false },
) =>
  move(deps, actor, sessionId, 'open', async (now, tx, session) => {
    // In a rehearsal nothing is on the table.
    if (!session.rehearsal) await refuseUnsafe(tx, session, smellOnly, now);
    return {
      to: {
        state: 'open',
        openedAt: now,
        smellOnly,
        wave: wavesOf(session.settings, null) ? 1 : null,
        joinCode: newJoinCode(deps.random),
        joinToken: newToken(deps.random),
      },
      event: { kind: 'opened' },
    };
  });

/** Closes the tasting and seals what was answered, so that nobody changes, adds or deletes an answer unseen from then on. */
export const closeSession = (deps: Deps, actor: Actor, sessionId: string) =>
  move(deps, actor, sessionId, 'close', async (now, tx, session) => {
    await takePaperIn(tx, session, deps.random);
    return {
      to: {
        state: 'closed',
        closedAt: now,
        joinCode: null,
        joinToken: null,
        answersRoot: await sealAllAnswers(tx, session.id, deps.random),
      },
      event: { kind: 'closed' },
    };
  });

// Somebody may take their answers back in the moment of the reveal: then it is counted once more.
const REVEAL_TRIES = 5;

/** What the tasting took of each arm goes to the ledgers of the arms, now that it tells nothing any more. */
async function notePoured({ random }: Deps, tx: Db, session: Session, now: Date): Promise<void> {
  const poured = await pouredByArm(tx, session, session.openedAt ?? now);
  await insertLiquid(
    tx,
    poured.map((one) => ({
      ...one,
      id: randomUuid(random),
      kind: 'poured' as const,
      note: session.settings.title,
    })),
  );
}

/**
 * Turns the key. What each part says is worked out before and written down with it, once and for all: what is withdrawn
 * later changes the result and never this record.
 */
export async function revealSession(deps: Deps, actor: Actor, sessionId: string): Promise<SessionView> {
  for (let left = REVEAL_TRIES; ; left--) {
    const { session, panel } = await sessionFor(deps.db, actor, sessionId);
    const record = mayAct(session, panel.role, 'reveal') ? await recordToReveal(deps, session, panel) : null;
    try {
      return await move(deps, actor, sessionId, 'reveal', async (now, tx, { lastSeq }) => {
        if (lastSeq !== session.lastSeq) throw new MovedOn();
        if (!session.rehearsal) await notePoured(deps, tx, session, now);
        return {
          to: { state: 'revealed', revealedAt: now, revealRecord: record },
          event: { kind: 'revealed' },
        };
      });
    } catch (reason) {
      if (!(reason instanceof MovedOn) || left === 1) throw reason;
    }
  }
}

class MovedOn extends Error {}

async function recordToReveal(
  deps: Deps,
  session: Session,
  panel: PanelInHand,
): Promise<NonNullable<Session['revealRecord']>> {
  const { input, withdrawn } = await readToReveal(deps.db, session, panel, deps.clock());
  const result = await deps.analyst.analyse(input).catch((reason: unknown) => {
    // Answers that cannot be worked out today are no reason to keep the key shut: the table is waiting.
    if (reason instanceof Problem && reason.kind === 'no-result') return null;
    throw reason;
  });
  return { parts: result ? recordOf(result) : [], withdrawn };
}

/** The host pours without a steward: from here on the session is single-blind, for good. */
export const takeKey = (deps: Deps, actor: Actor, sessionId: string) =>
  move(deps, actor, sessionId, 'take-key', async (now, tx, session) => {
    await noteKeyOpening(tx, session, actor, now);
    return { to: { blinding: 'single' }, event: { kind: 'key-taken' } };
  });

export const rotateJoinCode = (deps: Deps, actor: Actor, sessionId: string) =>
  move(deps, actor, sessionId, 'rotate-code', () => ({
    to: { joinCode: newJoinCode(deps.random), joinToken: newToken(deps.random) },
    event: { kind: 'join-code-changed' },
  }));

/**
 * Calls the next wave: its seats may be taken from now on. Only forward, and one at a time: of two who call at once the
 * second is told that it is called.
 */
export const callWave = (deps: Deps, actor: Actor, sessionId: string, { wave }: CallWaveInput) =>
  move(deps, actor, sessionId, 'call-wave', (_now, _tx, session) => {
    const called = session.wave ?? 0;
    if (wave !== called + 1) {
      throw problem('wrong-state', {
        detail: `Wave ${called} was called last: the next one is wave ${called + 1}.`,
      });
    }
    if (session.stoppedAt !== null) {
      throw problem('unsafe-to-taste', {
        detail: 'The tasting is stopped: nobody else sits down before what was found is settled.',
      });
    }
    return { to: { wave }, event: { kind: 'wave-called', wave } };
  });
