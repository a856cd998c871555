import { deleteInvitationsOf } from '@oddglass/db/queries/account.ts';
import { deleteMembership, listMembers } from '@oddglass/db/queries/panel.ts';
import { listTokenHashes } from '@oddglass/db/queries/signed-in.ts';
import { lockPanel } from '@oddglass/db/queries/vocabulary.ts';
import type { Actor } from '../../access/actor.ts';
import { onlyHost, panelFor } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';

/**
 * Takes somebody out of the panel: their open boards close, and the invitations they made end, by which they could come
 * back. What they did stays. A panel keeps a host.
 */
export async function removeMember(
  deps: Deps,
  actor: Actor,
  panelId: string,
  accountId: string,
): Promise<void> {
  const { gone, tokenHashes } = await deps.db.transaction(async (tx) => {
    // Two hosts who remove each other go one after the other, and the second is no host any more.
    await lockPanel(tx, panelId);
    onlyHost(await panelFor(tx, actor, panelId));
    const members = await listMembers(tx, panelId);
    const member = members.find(({ id }) => id === accountId);
    if (!member) throw problem('not-found', { detail: 'Nobody like that is in this panel.' });
    const hosts = members.filter(({ role }) => role === 'host');
    if (member.role === 'host' && hosts.length === 1) throw problem('last-host');
    await deleteMembership(tx, panelId, accountId);
    await deleteInvitationsOf(tx, panelId, accountId);
    return { gone: member, tokenHashes: await listTokenHashes(tx, accountId) };
  });
  for (const tokenHash of tokenHashes) deps.sockets.endSignIn(tokenHash, panelId);
  deps.security.note('member-removed', {
    account: gone.name,
    role: gone.role,
    panel: panelId,
    by: actor.name,
  });
}
