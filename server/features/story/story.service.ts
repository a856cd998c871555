import { listDeviations } from '@oddglass/db/queries/deviation.ts';
import { newestSafety } from '@oddglass/db/queries/safety.ts';
import { findSession, listSessionsOfTrial, type Session } from '@oddglass/db/queries/session.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { Panel } from '@oddglass/db/queries/panel.ts';
import { storyLineOf } from '@oddglass/shared/analysis/story/line.ts';
import { storyMarks } from '@oddglass/shared/analysis/story/marks.ts';
import type { Story, StoryInput, StoryLine, StorySession } from '@oddglass/shared/contracts/story.ts';
import { trialFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { armsWithFree } from '../../session-data/liquid.ts';
import { readAnswers } from '../../session-data/session-input.ts';
import { resultOf } from '../../session-data/session-result.ts';
import { listMeasured } from './measured.ts';

/** The story of a trial, worked out anew from what is stored, so that nothing of it can go stale. */
export async function readStory(deps: Deps, actor: Actor, trialId: string): Promise<Story> {
  return deps.analyst.tell(await readStoryInput(deps, actor, trialId));
}

export async function readStoryLine(deps: Deps, actor: Actor, trialId: string): Promise<StoryLine> {
  return storyLineOf(await readStory(deps, actor, trialId));
}

async function readStoryInput(deps: Deps, actor: Actor, trialId: string): Promise<StoryInput> {
  const { trial, panel } = await trialFor(deps.db, actor, trialId);
  const arms = await armsWithFree(deps.db, trial, await listArms(deps.db, trialId));
  const armIds = arms.map(({ id }) => id);
  const [deviations, safety, summaries, measured] = await Promise.all([
    listDeviations(deps.db, armIds),
    newestSafety(deps.db, armIds),
    listSessionsOfTrial(deps.db, trialId),
    listMeasured(deps.db, trial, arms),
  ]);
  const sessions: StorySession[] = [];
  // One after another: the thread works on one at a time, and all of them at once would hold every ballot in memory.
  for (const { id, state } of summaries) {
    if (state !== 'revealed') continue;
    const session = await findSession(deps.db, id);
    if (session) sessions.push(await readSession(deps, session, panel));
  }
  return {
    trial: {
      id: trial.id,
      title: trial.title,
      question: trial.question,
      factor: trial.factor,
      demo: panel.demo,
    },
    arms: arms.map(({ id, name, differs, volumeMl }) => ({
      id,
      name,
      differs,
      volumeMl,
      pitchedOn: trial.pitchedAt?.toISOString().slice(0, 10) ?? safety.get(id)?.pitchedOn ?? null,
    })),
    ...measured,
    sessions,
    waiting: summaries
      .filter(({ state }) => state !== 'revealed')
      .map(({ id, title, state }) => ({ id, title, state })),
    deviations: deviations.map(({ armId, on, note }) => ({ armId, on, note })),
  };
}

async function readSession(deps: Deps, session: Session, panel: Panel): Promise<StorySession> {
  const answers = await readAnswers(deps.db, session, panel);
  const tasted = session.openedAt ?? session.revealedAt ?? session.createdAt;
  return {
    id: session.id,
    on: tasted.toISOString().slice(0, 10),
    pullId: null,
    result: await resultOf(deps, answers),
    marks: storyMarks(answers.input),
  };
}
