import {
  DEMO_FAIR_ANSWER,
  DEMO_NOTES,
  DEMO_PITCHED,
  DEMO_PULLS,
  DEMO_SLIP,
  demoTyped,
} from '@oddglass/db/demo/notebook.ts';
import type { ReadingInput } from '@oddglass/shared/contracts/reading.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { notePitched, planPulls } from '../pull/pull.service.ts';
import { noteReading } from '../pull/reading.service.ts';
import { answerFinding, readTrial } from '../trial/trial.service.ts';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

/** What the invented host wrote down between the pitching and today: pulls, readings, a slip put right, an answer. */
export async function keepNotebook(
  deps: Deps,
  actor: Actor,
  trial: TrialView,
  ago: (deps: Deps, days: number) => () => Date,
): Promise<void> {
  const { daysAgo, hoursBefore } = DEMO_PITCHED;
  const pitchedMs = deps.clock().getTime() - daysAgo * DAY_MS - hoursBefore * HOUR_MS;
  const started = { ...deps, clock: ago(deps, daysAgo) };
  await notePitched(started, actor, trial.id, new Date(pitchedMs).toISOString());
  const pulls = DEMO_PULLS.map(({ day, ...pull }) => ({ ...pull, day, id: randomUuid(deps.random) }));
  await planPulls(
    started,
    actor,
    trial.id,
    pulls.map(({ day, ...pull }) => ({ ...pull, when: { kind: 'hours', hours: day * 24 } })),
  );
  for (const { id, day } of pulls.filter((pull) => pull.day <= daysAgo)) {
    const takenAt = new Date(pitchedMs + day * DAY_MS);
    const clock = (): Date => new Date(takenAt.getTime() + HOUR_MS / 4);
    for (const [arm, { id: armId }] of trial.arms.entries())
      await noteArm({ ...deps, clock }, actor, { pullId: id, armId, arm, day, takenAt });
  }
  await answerCells(started, actor, trial.id);
}

interface Taken {
  pullId: string;
  armId: string;
  arm: number;
  day: number;
  takenAt: Date;
}

async function noteArm(deps: Deps, actor: Actor, { pullId, armId, arm, day, takenAt }: Taken): Promise<void> {
  const on = takenAt.toISOString().slice(0, 10);
  const written = DEMO_NOTES.find((one) => one.day === day && one.arm === arm);
  const slipped = DEMO_SLIP.day === day && DEMO_SLIP.arm === arm;
  const first: ReadingInput = {
    id: randomUuid(deps.random),
    replaces: null,
    takenAt: takenAt.toISOString(),
    typed: demoTyped(arm, day, on, slipped ? DEMO_SLIP.ph : undefined),
    added: '',
    looks: written?.looks ?? '',
    smell: written?.smell ?? '',
    note: written?.note ?? '',
    confirmed: [],
  };
  await noteReading(deps, actor, { pullId, armId }, first);
  if (!slipped) return;
  const later = { ...deps, clock: () => new Date(deps.clock().getTime() + HOUR_MS) };
  await noteReading(
    later,
    actor,
    { pullId, armId },
    {
      ...first,
      id: randomUuid(deps.random),
      replaces: first.id,
      typed: demoTyped(arm, day, on),
      note: DEMO_SLIP.note,
    },
  );
}

/** One finding has the host's answer; what opening the vessel means has none yet. */
async function answerCells(deps: Deps, actor: Actor, trialId: string): Promise<void> {
  const { fairTest } = await readTrial(deps, actor, trialId);
  const found = fairTest.find(({ id }) => id === DEMO_FAIR_ANSWER.finding);
  if (!found) throw new Error('nobody counted the cells of the demo');
  await answerFinding(deps, actor, trialId, {
    finding: found.id,
    grounds: found.grounds,
    answer: DEMO_FAIR_ANSWER.answer,
  });
}
