import { deleteUnkept, insertSession } from '@oddglass/db/queries/session.ts';
import type { RehearsalInput, RehearsalView } from '@oddglass/shared/contracts/rehearsal.ts';
import type { SessionSettings, SessionView } from '@oddglass/shared/contracts/session.ts';
import { randomUuid, toHex } from '@oddglass/shared/ground/random.ts';
import { mayAct } from '@oddglass/shared/rules/session.ts';
import { sessionFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import type { PanelPlayer } from './rehearsal-player.ts';
import { sealSession } from './seal.service.ts';
import { act, readSession } from './session.service.ts';

/**
 * A copy of what a session asks, with a plan of its own, sealed and marked as a rehearsal. Settings are all that it takes
 * over: nothing here reads a seat, a code or the key of the session, so that whoever opens the copy's key learns nothing.
 */
export async function rehearse(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  input: RehearsalInput,
): Promise<SessionView> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  if (!mayAct(session, panel.role, 'rehearse'))
    throw problem(panel.role === 'host' ? 'wrong-state' : 'not-allowed');
  const { settings } = session;
  refuseMisfit(settings, input);
  const id = randomUuid(deps.random);
  await insertSession(deps.db, {
    id,
    panelId: session.panelId,
    trialId: session.trialId,
    state: 'draft',
    blinding: 'double',
    settings,
    createdAt: deps.clock(),
    rehearsal: {
      simulation: { ...input, seed: input.seed ?? toHex(deps.random.bytes(8)) },
      play: 'ready',
    },
  });
  try {
    await sealSession(deps, actor, id);
  } catch (reason) {
    await deleteUnkept(deps.db, id);
    throw reason;
  }
  return readSession(deps, actor, id);
}

function refuseMisfit({ assessors, spareSeats, parts }: SessionSettings, input: RehearsalInput): void {
  const seats = assessors + spareSeats;
  if (input.people > seats) throw fieldProblem('#/people', `There are ${seats} seats in this plan.`);
  const known = new Set(
    parts.flatMap((part) => (part.kind === 'rating' ? part.attributes.map(({ id }) => id) : [])),
  );
  const strange = Object.keys(input.attributeSteps).find((id) => !known.has(id));
  if (strange !== undefined)
    throw fieldProblem(`#/attributeSteps/${strange}`, 'This plan asks for no such attribute.');
}

/** What was put in, and how far its people came; a problem for a session that is no rehearsal. */
export async function readRehearsal(
  deps: Deps,
  player: PanelPlayer,
  actor: Actor,
  sessionId: string,
): Promise<RehearsalView> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  if (!session.rehearsal) throw problem('not-found');
  const { simulation, play } = session.rehearsal;
  const lost = play === 'playing' && !player.plays(sessionId);
  return {
    sessionId,
    simulation,
    play: lost ? 'interrupted' : play,
    mayPlay: mayAct(session, panel.role, 'play'),
  };
}

/** Lets the simulated people sit down, on the seats that are still free. */
export async function startPlaying(
  deps: Deps,
  player: PanelPlayer,
  actor: Actor,
  sessionId: string,
): Promise<RehearsalView> {
  let begun = false;
  try {
    await act(deps, actor, sessionId, 'play', async (tx, session) => {
      await player.begin(tx, session);
      begun = true;
    });
  } catch (reason) {
    if (begun) player.forget(sessionId);
    throw reason;
  }
  player.go(sessionId);
  return readRehearsal(deps, player, actor, sessionId);
}

/** Stops them; whoever was in the middle of something leaves. */
export async function stopPlaying(
  deps: Deps,
  player: PanelPlayer,
  actor: Actor,
  sessionId: string,
): Promise<RehearsalView> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  if (panel.role !== 'host') throw problem('not-allowed');
  if (!session.rehearsal) throw problem('not-found');
  await player.stop(sessionId);
  return readRehearsal(deps, player, actor, sessionId);
}
