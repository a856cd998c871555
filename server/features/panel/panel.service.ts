import { insertMembership, insertPanel, listMembers, listTrials } from '@oddglass/db/queries/panel.ts';
import { listSessionsOfPanel } from '@oddglass/db/queries/session.ts';
import type { PanelInput, PanelView } from '@oddglass/shared/contracts/panel.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { panelFor } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';

export async function createPanel(deps: Deps, actor: Actor, { name }: PanelInput): Promise<PanelView> {
  const panelId = randomUuid(deps.random);
  await deps.db.transaction(async (tx) => {
    await insertPanel(tx, { id: panelId, name, demo: false, createdAt: deps.clock() });
    await insertMembership(tx, { panelId, accountId: actor.id, role: 'host' });
  });
  return readPanel(deps, actor, panelId);
}

export async function readPanel(deps: Deps, actor: Actor, panelId: string): Promise<PanelView> {
  const { id, name, demo, role } = await panelFor(deps.db, actor, panelId);
  const [members, trials, sessions] = await Promise.all([
    listMembers(deps.db, id),
    listTrials(deps.db, id),
    listSessionsOfPanel(deps.db, id),
  ]);
  // Sessions come newest first.
  const findingOf = (trialId: string): string | null =>
    sessions.find((one) => one.trialId === trialId && one.findings.length > 0)?.findings[0]?.sentence ?? null;
  return {
    id,
    name,
    demo,
    role,
    members,
    trials: trials.map((trial) => ({ ...trial, finding: findingOf(trial.id) })),
    sessions,
  };
}
