import { listBallots } from '@oddglass/db/queries/ballot.ts';
import { listKeyedServings } from '@oddglass/db/queries/key.ts';
import { listSeats } from '@oddglass/db/queries/seat.ts';
import { findTrial, listArms, listDeviations } from '@oddglass/db/queries/trial.ts';
import { analyseTriangle } from '@oddglass/shared/analysis/triangle.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { sessionFor } from '../../access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../plugins/actor.ts';
import { problem } from '../../problem.ts';

/** The result document of a revealed session, computed from key and ballots each time, so that nothing can go stale. */
export async function readResult(deps: Deps, actor: Actor, sessionId: string): Promise<ResultDocument> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  if (session.state !== 'revealed' || !session.revealedAt || !session.root) throw problem('not-revealed');
  const [trial, arms, seats, servings, ballots] = await Promise.all([
    findTrial(deps.db, session.trialId),
    listArms(deps.db, session.trialId),
    listSeats(deps.db, sessionId),
    listKeyedServings(deps.db, sessionId),
    listBallots(deps.db, sessionId),
  ]);
  if (!trial) throw problem('not-found');
  const compared = arms.filter(({ id }) => session.settings.armIds.includes(id));
  const deviations = await listDeviations(
    deps.db,
    compared.map(({ id }) => id),
  );
  const takenSeats = new Set(seats.filter(({ takenAt }) => takenAt !== null).map(({ id }) => id));
  const answers = new Map(ballots.map((ballot) => [ballot.trayId, ballot]));
  const traysOf = Map.groupBy(servings, ({ trayId }) => trayId);
  return analyseTriangle({
    session: {
      title: session.settings.title,
      trialTitle: trial.title,
      question: trial.question,
      factor: trial.factor,
      demo: panel.demo,
      arms: compared.map(({ id, name, differs }) => ({ id, name, differs })),
      blinding: session.blinding,
      fingerprint: fingerprint(session.root),
      root: session.root,
      revealedAt: session.revealedAt.toISOString(),
    },
    plan: session.settings,
    trays: [...traysOf.entries()]
      .filter(([, cups]) => cups.some(({ seatId }) => takenSeats.has(seatId)))
      .map(([trayId, cups]) => {
        const answer = answers.get(trayId);
        const inOrder = [...cups].sort((a, b) => a.position - b.position);
        const { seatId = '', replicate = 1 } = inOrder[0] ?? {};
        return {
          assessor: seatId,
          replicate,
          arms: inOrder.map(({ armId }) => armId),
          answer: answer
            ? {
                position: inOrder.findIndex(({ servingId }) => servingId === answer.oddServingId) + 1,
                confidence: answer.confidence,
                descriptors: answer.descriptors,
                comment: answer.comment,
              }
            : null,
        };
      }),
    deviations: deviations.map(({ armId, on, note }) => ({ armId, on, note })),
  });
}
