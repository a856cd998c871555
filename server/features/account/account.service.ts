import {
  anyAccount,
  changePassphraseHash,
  deleteFirstHostInvitations,
  deleteSignedIn,
  findAccount,
  findAccountByName,
  insertAccount,
  insertInvitation,
  insertSignedIn,
  listMemberships,
  useInvitation,
} from '@oddglass/db/queries/account.ts';
import type { Db } from '@oddglass/db/client.ts';
import { insertMembership, insertPanel } from '@oddglass/db/queries/panel.ts';
import type {
  AcceptInvitationInput,
  ActorView,
  ChangePassphraseInput,
  FirstHostInput,
  InvitationView,
  Role,
  SignInInput,
} from '@oddglass/shared/contracts/account.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { randomBytes } from 'node:crypto';
import { hash, verify } from '@node-rs/argon2';
import { onlyHost, panelFor } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import type { FailureLimit } from '../../access/rate-limit.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { hashToken, newToken } from '../../access/tokens.ts';

const DAY_MS = 86_400_000;
export const SIGNED_IN_DAYS = 14;
const INVITATION_DAYS = 7;
const FIRST_HOST_DAYS = 1;

// OWASP's first choice for argon2id: 19 MiB, two passes, one lane.
const ARGON2ID = { algorithm: 2, memoryCost: 19_456, timeCost: 2, parallelism: 1 };
// A hash of nothing anybody knows, so that an unknown name takes as long as a wrong passphrase.
const NOBODY = hash(randomBytes(16), ARGON2ID);

export interface SignedIn {
  view: ActorView;
  token: string;
}

async function actorView(db: Db, account: { id: string; name: string }): Promise<ActorView> {
  return { id: account.id, name: account.name, panels: await listMemberships(db, account.id) };
}

export const readActor = (deps: Deps, actor: Actor): Promise<ActorView> => actorView(deps.db, actor);

async function startSignedIn(deps: Deps, db: Db, account: { id: string; name: string }): Promise<SignedIn> {
  const token = newToken(deps.random);
  const now = deps.clock();
  await insertSignedIn(db, {
    tokenHash: hashToken(token),
    accountId: account.id,
    createdAt: now,
    expiresAt: new Date(now.getTime() + SIGNED_IN_DAYS * DAY_MS),
  });
  return { view: await actorView(db, account), token };
}

export async function signIn(
  deps: Deps,
  limit: FailureLimit,
  from: string,
  input: SignInInput,
): Promise<SignedIn> {
  const keys = [`from ${from}`, `name ${input.name.toLowerCase()}`];
  for (const key of keys) await limit.check(key);
  const account = await findAccountByName(deps.db, input.name);
  const right = await verify(account?.passphraseHash ?? (await NOBODY), input.passphrase);
  if (!account || !right) {
    for (const key of keys) await limit.fail(key);
    throw problem('wrong-credentials');
  }
  return startSignedIn(deps, deps.db, account);
}

export async function signOut(deps: Deps, actor: Actor): Promise<void> {
  await deleteSignedIn(deps.db, actor.tokenHash);
}

export async function changePassphrase(
  deps: Deps,
  actor: Actor,
  input: ChangePassphraseInput,
): Promise<void> {
  const account = await findAccount(deps.db, actor.id);
  if (!account || !(await verify(account.passphraseHash, input.current))) {
    throw fieldProblem('#/current', 'This is not your passphrase.');
  }
  await changePassphraseHash(deps.db, actor.id, await hash(input.next, ARGON2ID), actor.tokenHash);
}

/** A fresh one-time link for the first host; null when somebody is there already. Earlier links stop working. */
export async function issueFirstHostToken(deps: Deps): Promise<string | null> {
  return deps.db.transaction(async (tx) => {
    if (await anyAccount(tx)) return null;
    await deleteFirstHostInvitations(tx);
    return issue(deps, tx, null, 'host', FIRST_HOST_DAYS).then(({ token }) => token);
  });
}

async function issue(
  deps: Deps,
  db: Db,
  panelId: string | null,
  role: Role,
  days: number,
): Promise<InvitationView> {
  const token = newToken(deps.random);
  const createdAt = deps.clock();
  const expiresAt = new Date(createdAt.getTime() + days * DAY_MS);
  await insertInvitation(db, { tokenHash: hashToken(token), panelId, role, createdAt, expiresAt });
  return { token, role, expiresAt: expiresAt.toISOString() };
}

export async function invite(deps: Deps, actor: Actor, panelId: string, role: Role): Promise<InvitationView> {
  onlyHost(await panelFor(deps.db, actor, panelId));
  return issue(deps, deps.db, panelId, role, INVITATION_DAYS);
}

/** Adds somebody who signs in by name and passphrase; a problem when the name is taken. */
export async function addAccount(
  deps: Deps,
  db: Db,
  name: string,
  passphrase: string,
): Promise<{ id: string; name: string }> {
  return newAccount(deps, db, name, await hash(passphrase, ARGON2ID));
}

async function newAccount(
  deps: Deps,
  db: Db,
  name: string,
  passphraseHash: string,
): Promise<{ id: string; name: string }> {
  const account = { id: randomUuid(deps.random), name, passphraseHash, createdAt: deps.clock() };
  if (!(await insertAccount(db, account))) {
    throw problem('name-taken', {
      detail: 'Somebody has this name already.',
      errors: [{ pointer: '#/name', detail: 'Somebody has this name already.' }],
    });
  }
  return account;
}

export async function createFirstHost(
  deps: Deps,
  limit: FailureLimit,
  from: string,
  input: FirstHostInput,
): Promise<SignedIn> {
  await limit.check(from);
  if (await anyAccount(deps.db)) throw problem('already-set-up');
  const passphraseHash = await hash(input.passphrase, ARGON2ID);
  try {
    return await deps.db.transaction(async (tx) => {
      const used = await useInvitation(tx, hashToken(input.token), deps.clock());
      if (!used || used.panelId !== null) throw problem('link-expired');
      const account = await newAccount(deps, tx, input.name, passphraseHash);
      const panelId = randomUuid(deps.random);
      await insertPanel(tx, { id: panelId, name: input.panel, demo: false, createdAt: deps.clock() });
      await insertMembership(tx, { panelId, accountId: account.id, role: 'host' });
      return startSignedIn(deps, tx, account);
    });
  } catch (reason) {
    await limit.fail(from);
    throw reason;
  }
}

export async function acceptInvitation(
  deps: Deps,
  limit: FailureLimit,
  from: string,
  input: AcceptInvitationInput,
): Promise<SignedIn> {
  await limit.check(from);
  const passphraseHash = await hash(input.passphrase, ARGON2ID);
  try {
    return await deps.db.transaction(async (tx) => {
      const used = await useInvitation(tx, hashToken(input.token), deps.clock());
      if (!used?.panelId) throw problem('link-expired');
      const account = await newAccount(deps, tx, input.name, passphraseHash);
      await insertMembership(tx, { panelId: used.panelId, accountId: account.id, role: used.role });
      return startSignedIn(deps, tx, account);
    });
  } catch (reason) {
    await limit.fail(from);
    throw reason;
  }
}
