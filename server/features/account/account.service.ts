import {
  anyAccount,
  deleteFirstHostInvitations,
  holdAccountNames,
  insertAccount,
  useInvitation,
} from '@oddglass/db/queries/account.ts';
import type { Db } from '@oddglass/db/client.ts';
import { insertMembership, insertPanel } from '@oddglass/db/queries/panel.ts';
import type { AcceptInvitationInput, FirstHostInput } from '@oddglass/shared/contracts/account.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { isOneScript, lookOf } from '@oddglass/shared/rules/likeness.ts';
import { networkOf } from '../../guard/attempts.ts';
import { refuseGuessable } from '../../guard/passphrase.ts';
import { hashToken } from '../../access/tokens.ts';
import type { Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { issueInvitation } from './invitation.service.ts';
import { hashPassphrase, startSignedIn, type SignedIn, type Visitor } from './sign-in.service.ts';

const FIRST_HOST_DAYS = 1;

/** A fresh one-time link for the first host; null when somebody is there already. Earlier links stop working. */
export async function issueFirstHostToken(deps: Deps): Promise<string | null> {
  return deps.db.transaction(async (tx) => {
    if (await anyAccount(tx)) return null;
    await deleteFirstHostInvitations(tx);
    const first = { panelId: null, role: 'host', days: FIRST_HOST_DAYS, by: null } as const;
    return (await issueInvitation(deps, tx, first)).token;
  });
}

/** Adds somebody who signs in by name and passphrase; a problem when the name is taken. */
export async function addAccount(
  deps: Deps,
  db: Db,
  name: string,
  passphrase: string,
): Promise<{ id: string; name: string }> {
  return newAccount(deps, db, name, await hashPassphrase(passphrase));
}

async function newAccount(
  deps: Deps,
  db: Db,
  name: string,
  passphraseHash: string,
): Promise<{ id: string; name: string }> {
  const account = { id: randomUuid(deps.random), name, passphraseHash, createdAt: deps.clock() };
  const look = lookOf(name);
  return db.transaction(async (tx) => {
    const like = (await holdAccountNames(tx)).find((other) => lookOf(other) === look);
    if (like !== undefined || !(await insertAccount(tx, account))) {
      const detail = 'Somebody has this name already, or one that looks like it.';
      throw problem('name-taken', { detail, errors: [{ pointer: '#/name', detail }] });
    }
    return account;
  });
}

/** What a newcomer says of themselves, looked at before their link is. */
async function checkNewcomer({ name, passphrase }: { name: string; passphrase: string }): Promise<void> {
  if (!isOneScript(name)) {
    throw fieldProblem('#/name', 'Keep a name to one script: letters of several can look like another name.');
  }
  await refuseGuessable(passphrase, name, '#/passphrase');
}

export async function createFirstHost(
  deps: Deps,
  visitor: Visitor,
  input: FirstHostInput,
): Promise<SignedIn> {
  await checkNewcomer(input);
  return deps.limits.link.attempt(networkOf(visitor.from), async () => {
    if (await anyAccount(deps.db)) throw problem('already-set-up');
    const passphraseHash = await hashPassphrase(input.passphrase);
    const signedIn = await deps.db.transaction(async (tx) => {
      const used = await useInvitation(tx, hashToken(input.token), deps.clock());
      if (!used || used.panelId !== null) throw problem('link-expired');
      const account = await newAccount(deps, tx, input.name, passphraseHash);
      const panelId = randomUuid(deps.random);
      await insertPanel(tx, { id: panelId, name: input.panel, demo: false, createdAt: deps.clock() });
      await insertMembership(tx, { panelId, accountId: account.id, role: 'host' });
      return startSignedIn(deps, tx, account, visitor, 'link');
    });
    deps.security.note('invitation-accepted', { account: input.name, role: 'host', panel: null });
    return signedIn;
  });
}

export async function acceptInvitation(
  deps: Deps,
  visitor: Visitor,
  input: AcceptInvitationInput,
): Promise<SignedIn> {
  await checkNewcomer(input);
  return deps.limits.link.attempt(networkOf(visitor.from), async () => {
    const passphraseHash = await hashPassphrase(input.passphrase);
    const { signedIn, role, panelId } = await deps.db.transaction(async (tx) => {
      const used = await useInvitation(tx, hashToken(input.token), deps.clock());
      if (!used?.panelId) throw problem('link-expired');
      const account = await newAccount(deps, tx, input.name, passphraseHash);
      await insertMembership(tx, {
        panelId: used.panelId,
        accountId: account.id,
        role: used.role,
        joinedAt: deps.clock(),
      });
      return { ...used, signedIn: await startSignedIn(deps, tx, account, visitor, 'link') };
    });
    deps.security.note('invitation-accepted', { account: input.name, role, panel: panelId });
    return signedIn;
  });
}
