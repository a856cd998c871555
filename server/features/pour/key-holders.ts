import type { Db } from '@oddglass/db/client.ts';
import { listMembers } from '@oddglass/db/queries/panel.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { mayAct } from '@oddglass/shared/rules/session.ts';
import type { Actor } from '../../access/actor.ts';
import type { PanelInHand } from '../../access/panel-access.ts';
import { problem } from '../../refusal/problem.ts';

/** The key opens to whoever may pour: the steward, or a host who took it. */
export function refuseWithoutKey(session: Session, panel: PanelInHand): void {
  if (mayAct(session, panel.role, 'pour')) return;
  throw problem(session.state === 'draft' ? 'wrong-state' : 'key-closed');
}

/** Cups are poured from sealing until the tasting is closed; afterwards the sheet stays as it is. */
export function mayTick({ state }: Pick<Session, 'state'>): boolean {
  return state === 'sealed' || state === 'open';
}

/** Names of the other accounts of the panel that may pour this session now. */
export async function othersWithKey(db: Db, session: Session, actor: Pick<Actor, 'id'>): Promise<string[]> {
  const members = await listMembers(db, session.panelId);
  return members
    .filter(({ id, role }) => id !== actor.id && mayAct(session, role, 'pour'))
    .map(({ name }) => name);
}
