import {
  deleteInvitation,
  insertInvitation,
  listOpenInvitations,
  useInvitation,
} from '@oddglass/db/queries/account.ts';
import type { Db } from '@oddglass/db/client.ts';
import { insertMembership } from '@oddglass/db/queries/panel.ts';
import type { ActorView, InvitationView, OpenInvitations, Role } from '@oddglass/shared/contracts/account.ts';
import type { Actor } from '../../access/actor.ts';
import { onlyHost, panelFor } from '../../access/panel-access.ts';
import { hashToken, newToken } from '../../access/tokens.ts';
import type { Deps } from '../../deps.ts';
import { networkOf } from '../../guard/attempts.ts';
import { problem } from '../../refusal/problem.ts';
import { readActor } from './sign-in.service.ts';

const DAY_MS = 86_400_000;
const INVITATION_DAYS = 7;

/** A fresh one-time link. Without a panel it is that of the first host. */
export async function issueInvitation(
  deps: Deps,
  db: Db,
  { panelId, role, days, by }: { panelId: string | null; role: Role; days: number; by: string | null },
): Promise<InvitationView> {
  const token = newToken(deps.random);
  const createdAt = deps.clock();
  const expiresAt = new Date(createdAt.getTime() + days * DAY_MS);
  await insertInvitation(db, {
    tokenHash: hashToken(token),
    panelId,
    role,
    invitedBy: by,
    createdAt,
    expiresAt,
  });
  return { token, role, expiresAt: expiresAt.toISOString() };
}

export async function invite(deps: Deps, actor: Actor, panelId: string, role: Role): Promise<InvitationView> {
  onlyHost(await panelFor(deps.db, actor, panelId));
  const wanted = { panelId, role, days: INVITATION_DAYS, by: actor.id };
  const invitation = await issueInvitation(deps, deps.db, wanted);
  deps.security.note('invitation-made', { account: actor.name, panel: panelId, role });
  return invitation;
}

/** Links that still let somebody in, newest first; what opens them is not among it. */
export async function readInvitations(deps: Deps, actor: Actor, panelId: string): Promise<OpenInvitations> {
  onlyHost(await panelFor(deps.db, actor, panelId));
  return { invitations: await listOpenInvitations(deps.db, panelId, deps.clock()) };
}

export async function revokeInvitation(
  deps: Deps,
  actor: Actor,
  panelId: string,
  id: string,
): Promise<OpenInvitations> {
  onlyHost(await panelFor(deps.db, actor, panelId));
  if (!(await deleteInvitation(deps.db, panelId, id))) {
    throw problem('not-found', { detail: 'This invitation was used, revoked or has ended.' });
  }
  deps.security.note('invitation-revoked', { account: actor.name, panel: panelId });
  return readInvitations(deps, actor, panelId);
}

/** Somebody who has an account takes an invitation with it. Whoever is of the panel already does not use it up. */
export async function joinPanel(deps: Deps, actor: Actor, from: string, token: string): Promise<ActorView> {
  const used = await deps.limits.link.attempt(networkOf(from), () =>
    deps.db.transaction(async (tx) => {
      const now = deps.clock();
      const found = await useInvitation(tx, hashToken(token), now);
      if (!found?.panelId) throw problem('link-expired');
      const { panelId, role } = found;
      const row = { panelId, accountId: actor.id, role, joinedAt: now };
      if (!(await insertMembership(tx, row))) throw problem('already-member');
      return found;
    }),
  );
  deps.security.note('invitation-accepted', { account: actor.name, role: used.role, panel: used.panelId });
  return readActor(deps, actor);
}
