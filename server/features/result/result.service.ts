import { listBallots } from '@oddglass/db/queries/ballot.ts';
import { listKeyedServings, listSamples } from '@oddglass/db/queries/key.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { findTrial, listArms, listDeviations } from '@oddglass/db/queries/trial.ts';
import type { AnsweredTray, SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import { figureRows, tidyAnswers, TIDY_COLUMNS } from '@oddglass/shared/analysis/tidy.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { armsOfParts } from '@oddglass/shared/rules/parts.ts';
import { sessionFor, type PanelInHand } from '../../access.ts';
import type { Deps } from '../../deps.ts';
import { csvOf } from '../../csv.ts';
import type { Actor } from '../../plugins/actor.ts';
import { problem } from '../../problem.ts';
import { vocabularyOf } from '../../vocabulary.ts';
import { namedSamples } from './sample-names.ts';

/** The result document of a revealed session, worked out anew from key and ballots, so that nothing can go stale. */
export async function readResult(deps: Deps, actor: Actor, sessionId: string): Promise<ResultDocument> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  return deps.analyst.analyse(await sessionInput(deps, session, panel));
}

/** Every answer as a tidy row. */
export async function readAnswersCsv(
  deps: Deps,
  actor: Actor,
  sessionId: string,
): Promise<{ title: string; csv: string }> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  const input = await sessionInput(deps, session, panel);
  return { title: session.settings.title, csv: csvOf(tidyAnswers(input), TIDY_COLUMNS) };
}

/** Every number of the result document as a row. */
export async function readFiguresCsv(
  deps: Deps,
  actor: Actor,
  sessionId: string,
): Promise<{ title: string; csv: string }> {
  const document = await readResult(deps, actor, sessionId);
  const csv = csvOf(figureRows(document), ['part', 'kind', 'figure', 'value']);
  return { title: document.session.title, csv };
}

/** All that the analysis of a revealed session stands on; a problem before the reveal. */
export async function sessionInput(
  deps: Deps,
  session: Session,
  panel: Pick<PanelInHand, 'demo'>,
): Promise<SessionInput> {
  if (session.state !== 'revealed' || !session.revealedAt || !session.root) throw problem('not-revealed');
  const { settings, root } = session;
  const [trial, arms, servings, samples, ballots, vocabulary] = await Promise.all([
    findTrial(deps.db, session.trialId),
    listArms(deps.db, session.trialId),
    listKeyedServings(deps.db, session.id),
    listSamples(deps.db, session.id),
    listBallots(deps.db, session.id),
    vocabularyOf(deps.db, session.panelId, session.vocabularyVersion),
  ]);
  const armIds = armsOfParts(settings.parts);
  const named = namedSamples(samples);
  const families = new Map(vocabulary.families.map(({ id, name }) => [id, name]));
  return {
    session: {
      title: settings.title,
      trialTitle: trial?.title ?? '',
      question: trial?.question ?? '',
      factor: trial?.factor ?? '',
      demo: panel.demo,
      // In the order in which the plan names them.
      arms: armIds.flatMap((armId) => {
        const arm = arms.find(({ id }) => id === armId);
        return arm ? [{ id: arm.id, name: arm.name, differs: arm.differs }] : [];
      }),
      blinding: session.blinding,
      fingerprint: fingerprint(root),
      root,
      revealedAt: session.revealedAt.toISOString(),
      assessors: settings.assessors,
      cupMl: settings.cupMl,
      restSeconds: settings.restSeconds,
    },
    settings,
    samples: named.map(({ id: _id, ...facts }) => facts),
    trays: answeredTrays(servings, ballots, named),
    deviations: (await listDeviations(deps.db, armIds)).map(({ armId, on, note }) => ({ armId, on, note })),
    words: vocabulary.words.map(({ id, word, family }) => [id, { word, family: families.get(family) ?? '' }]),
  };
}

function answeredTrays(
  servings: Awaited<ReturnType<typeof listKeyedServings>>,
  ballots: Awaited<ReturnType<typeof listBallots>>,
  samples: ReturnType<typeof namedSamples>,
): AnsweredTray[] {
  const keys = new Map(samples.map(({ id, key }) => [id, key]));
  const taken = servings.filter(({ seatTaken }) => seatTaken);
  // Seat ids are random, so their order says nothing about seats.
  const seats = [...new Set(taken.map(({ seatId }) => seatId))].sort();
  const labels = new Map(seats.map((seatId, index) => [seatId, `a${index + 1}`]));
  const byTray = Map.groupBy(ballots, ({ trayId }) => trayId);
  return [...Map.groupBy(taken, ({ trayId }) => trayId).entries()].map(([trayId, cups]) => {
    const [{ seatId, part, replicate }] = cups as [(typeof cups)[number]];
    return {
      assessor: labels.get(seatId) ?? '',
      part,
      replicate,
      cups: cups
        .map(({ code, position, mark, sampleId, armId }) => ({
          code,
          position,
          mark,
          sample: keys.get(sampleId) ?? '',
          armId,
        }))
        .sort((a, b) => a.position - b.position),
      ballots: (byTray.get(trayId) ?? []).map((ballot) => ({
        part: ballot.part,
        sheet: ballot.sheet,
        answer: ballot.answer,
        comment: ballot.comment,
      })),
    };
  });
}
