import type { Db } from '@oddglass/db/client.ts';
import { findPanelFor, type Panel } from '@oddglass/db/queries/panel.ts';
import { findSession, type Session } from '@oddglass/db/queries/session.ts';
import { findTrial, type Trial } from '@oddglass/db/queries/trial.ts';
import type { Role } from '@oddglass/shared/contracts/account.ts';
import type { Actor } from './actor.ts';
import { problem } from '../refusal/problem.ts';

// Every way from an id in an address to its row leads through the panel: what is not the actor's does not exist.

export type PanelInHand = Panel & { role: Role };

export async function panelFor(db: Db, actor: Actor, panelId: string): Promise<PanelInHand> {
  const panel = await findPanelFor(db, panelId, actor.id);
  if (!panel) throw problem('not-found');
  return panel;
}

export async function trialFor(
  db: Db,
  actor: Actor,
  trialId: string,
): Promise<{ trial: Trial; panel: PanelInHand }> {
  const trial = await findTrial(db, trialId);
  if (!trial) throw problem('not-found');
  return { trial, panel: await panelFor(db, actor, trial.panelId) };
}

export async function sessionFor(
  db: Db,
  actor: Actor,
  sessionId: string,
): Promise<{ session: Session; panel: PanelInHand }> {
  const session = await findSession(db, sessionId);
  if (!session) throw problem('not-found');
  return { session, panel: await panelFor(db, actor, session.panelId) };
}

export function onlyHost(panel: PanelInHand): void {
  if (panel.role !== 'host') throw problem('not-allowed');
}
