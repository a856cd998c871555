import { appendEvent } from '@oddglass/db/queries/event.ts';
import {
  countServings,
  insertPourTicks,
  listKeyedServings,
  listPoured,
  listSamples,
} from '@oddglass/db/queries/key.ts';
import type { PourTickAnswer, PourTickInput, PourView } from '@oddglass/shared/contracts/pour.ts';
import { allergen } from '@oddglass/shared/contracts/trial.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { mayAct } from '@oddglass/shared/rules/session.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { z } from 'zod';
import { sessionFor, type PanelInHand } from '../../access.ts';
import { inSession, type Deps } from '../../deps.ts';
import type { Actor } from '../../plugins/actor.ts';
import { fieldProblem, problem } from '../../problem.ts';

/** The key opens to whoever may pour: the steward, or a host who took it. */
function refuseWithoutKey(session: Session, panel: PanelInHand): void {
  if (mayAct(session, panel.role, 'pour')) return;
  throw problem(session.state === 'draft' ? 'wrong-state' : 'key-closed');
}

export async function readPour(deps: Deps, actor: Actor, sessionId: string): Promise<PourView> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  refuseWithoutKey(session, panel);
  const [samples, servings, poured] = await Promise.all([
    listSamples(deps.db, sessionId),
    listKeyedServings(deps.db, sessionId),
    listPoured(deps.db, sessionId),
  ]);
  const root = session.root ?? '';
  const { title, cupMl, servingNote, replicates } = session.settings;
  return {
    title,
    fingerprint: fingerprint(root),
    root,
    demo: panel.demo,
    cupMl,
    servingNote,
    replicates,
    samples: samples.map(({ id, arm, allergens }) => ({
      id,
      arm,
      allergens: z.array(allergen).parse(allergens),
      cups: servings
        .filter(({ sampleId }) => sampleId === id)
        .map(({ servingId, code, seat, replicate, position, spare, seatTaken }) => ({
          servingId,
          code,
          seat,
          replicate,
          position,
          spare,
          seatTaken,
          poured: poured.has(servingId),
        })),
    })),
  };
}

/** Ticks cups as poured, or takes ticks back. Boards hear the total only: a steward pours bottle by bottle. */
export async function tickCups(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  { servingIds, poured }: PourTickInput,
): Promise<PourTickAnswer> {
  const { panel } = await sessionFor(deps.db, actor, sessionId);
  return inSession(deps, sessionId, async (tx, session) => {
    refuseWithoutKey(session, panel);
    if (session.state !== 'sealed' && session.state !== 'open') throw problem('wrong-state');
    const ids = [...new Set(servingIds)];
    if ((await countServings(tx, sessionId, ids)) !== ids.length) {
      throw fieldProblem('#/servingIds', 'Some of these cups are not in this session.');
    }
    const before = await listPoured(tx, sessionId);
    const changed = ids.filter((id) => before.has(id) !== poured);
    if (changed.length === 0) return { poured: before.size };
    const at = deps.clock();
    await insertPourTicks(
      tx,
      changed.map((servingId) => ({ sessionId, servingId, poured, by: actor.id, at })),
    );
    const cups = before.size + (poured ? changed.length : -changed.length);
    await appendEvent(tx, sessionId, { kind: 'poured', cups }, at);
    return { poured: cups };
  });
}
