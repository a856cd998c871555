import { listDeviations } from '@oddglass/db/queries/deviation.ts';
import { newestSafety } from '@oddglass/db/queries/safety.ts';
import { findSession, listSessionsOfTrial, type Session } from '@oddglass/db/queries/session.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { Panel } from '@oddglass/db/queries/panel.ts';
import { storyLineOf } from '@oddglass/shared/analysis/story/line.ts';
import { storyMarks } from '@oddglass/shared/analysis/story/marks.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { Story, StoryInput, StoryLine, StorySession } from '@oddglass/shared/contracts/story.ts';
import { trialFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { armsWithFree } from '../../session-data/liquid.ts';
import { readAnswers, type Answers } from '../../session-data/session-input.ts';
import { resultOf } from '../../session-data/session-result.ts';
import { ByContent } from './by-content.ts';
import { listMeasured } from './measured.ts';

// Some trials that people look at, with their sessions: a result with its marks takes up to a megabyte. Our own bounds.
const MAX_SESSIONS = 48;
const MAX_STORIES = 16;

/** What stories need to be told, with what was worked out for the last ones. */
export interface StoryDesk {
  deps: Deps;
  results: ByContent<ResultContent, ResultDocument>;
  stories: ByContent<StoryInput, Story>;
}

type ResultContent = Pick<Answers, 'input' | 'withdrawn' | 'atReveal'>;

export function storyDesk(deps: Deps): StoryDesk {
  return {
    deps,
    results: new ByContent(MAX_SESSIONS, (answers) => resultOf(deps, answers)),
    stories: new ByContent(MAX_STORIES, (input) => deps.analyst.tell(input)),
  };
}

/** The story of a trial from what is stored now; worked out anew only where something of it changed. */
export async function readStory(desk: StoryDesk, actor: Actor, trialId: string): Promise<Story> {
  return desk.stories.get(await readStoryInput(desk, actor, trialId));
}

export async function readStoryLine(desk: StoryDesk, actor: Actor, trialId: string): Promise<StoryLine> {
  return storyLineOf(await readStory(desk, actor, trialId));
}

async function readStoryInput(desk: StoryDesk, actor: Actor, trialId: string): Promise<StoryInput> {
  const { deps } = desk;
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
    if (session) sessions.push(await readSession(desk, session, panel));
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

async function readSession(
  { deps, results }: StoryDesk,
  session: Session,
  panel: Panel,
): Promise<StorySession> {
  const { input, withdrawn, atReveal } = await readAnswers(deps.db, session, panel);
  const tasted = session.openedAt ?? session.revealedAt ?? session.createdAt;
  return {
    id: session.id,
    on: tasted.toISOString().slice(0, 10),
    pullId: null,
    result: await results.get({ input, withdrawn, atReveal }),
    marks: storyMarks(input),
  };
}
