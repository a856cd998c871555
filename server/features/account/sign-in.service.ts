import {
  changePassphraseHash,
  findAccount,
  findAccountByName,
  findPassphraseLink,
  insertPassphraseLink,
  listMemberships,
  usePassphraseLink,
} from '@oddglass/db/queries/account.ts';
import type { Db } from '@oddglass/db/client.ts';
import {
  deletePendingSignIns,
  deleteSecondFactors,
  insertPendingSignIn,
  listPasskeys,
} from '@oddglass/db/queries/passkey.ts';
import {
  deleteOwnSignedIn,
  deleteSignedIn,
  insertSignedIn,
  listSignedIn,
} from '@oddglass/db/queries/signed-in.ts';
import type {
  ActorView,
  ChangePassphraseInput,
  ForgottenPassphraseInput,
  SignInInput,
  SignInViews,
  SignInWay,
} from '@oddglass/shared/contracts/account.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { randomBytes } from 'node:crypto';
import { hash, verify } from '@node-rs/argon2';
import type { Actor } from '../../access/actor.ts';
import { networkOf } from '../../guard/attempts.ts';
import { refuseGuessable } from '../../guard/passphrase.ts';
import { endsUnused, signInEnd, signInTime } from '../../guard/sign-in-time.ts';
import { hashToken, newToken } from '../../access/tokens.ts';
import type { Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';

const HOUR_MS = 3_600_000;
/** How long a passkey or recovery code is waited for, and a challenge holds. */
export const SECOND_FACTOR_MS = 5 * 60_000;
// OWASP's first choice for argon2id: 19 MiB, two passes, one lane.
export const ARGON2ID = { algorithm: 2, memoryCost: 19_456, timeCost: 2, parallelism: 1 };
// A hash of nothing anybody knows, so that an unknown name takes as long as a wrong passphrase.
const NOBODY = hash(randomBytes(16), ARGON2ID);

export const hashPassphrase = (passphrase: string): Promise<string> => hash(passphrase, ARGON2ID);

/** Where a request comes from: its address, and what its browser calls itself. */
export interface Visitor {
  from: string;
  device: string;
}

export interface SignedIn {
  view: ActorView;
  token: string;
}

/** The passphrase was right, and the account has passkeys: nobody is signed in yet. */
export interface Pending {
  pendingToken: string;
  endsAt: Date;
  /** Under which names passkeys of the account work. */
  places: string[];
}

async function actorView(db: Db, account: { id: string; name: string }): Promise<ActorView> {
  return { id: account.id, name: account.name, panels: await listMemberships(db, account.id) };
}

export const readActor = (deps: Deps, actor: Actor): Promise<ActorView> => actorView(deps.db, actor);

export async function startSignedIn(
  deps: Deps,
  db: Db,
  account: { id: string; name: string },
  { device }: Visitor,
  by: SignInWay,
): Promise<SignedIn> {
  const token = newToken(deps.random);
  const now = deps.clock();
  const row = {
    tokenHash: hashToken(token),
    id: randomUuid(deps.random),
    accountId: account.id,
    createdAt: now,
    lastUsedAt: now,
    expiresAt: signInEnd(deps.signInLasts, now),
    device,
    by,
  };
  await insertSignedIn(db, row, signInTime(deps.signInLasts, now));
  return { view: await actorView(db, account), token };
}

export async function signIn(deps: Deps, visitor: Visitor, input: SignInInput): Promise<SignedIn | Pending> {
  const { signIn: byName, signInFrom } = deps.limits;
  const network = networkOf(visitor.from);
  const account = await byName.attempt(`${network} ${input.name.toLowerCase()}`, () =>
    // Within the other one: who is refused for a name takes nothing from what the address has left.
    signInFrom.attempt(network, async () => {
      const found = await findAccountByName(deps.db, input.name);
      const right = await verify(found?.passphraseHash ?? (await NOBODY), input.passphrase);
      if (found && right) return found;
      // A name that is nobody's may be a passphrase typed into the wrong field.
      deps.security.note('sign-in-failed', { account: found?.name ?? null, address: visitor.from });
      throw problem('wrong-credentials');
    }),
  );
  const passkeys = await listPasskeys(deps.db, account.id);
  return passkeys.length === 0
    ? startSignedIn(deps, deps.db, account, visitor, 'passphrase')
    : startPending(
        deps,
        account,
        passkeys.map(({ place }) => place),
      );
}

async function startPending(deps: Deps, account: { id: string }, places: string[]): Promise<Pending> {
  const pendingToken = newToken(deps.random);
  const now = deps.clock();
  const endsAt = new Date(now.getTime() + SECOND_FACTOR_MS);
  const row = { tokenHash: hashToken(pendingToken), accountId: account.id, expiresAt: endsAt };
  await insertPendingSignIn(deps.db, row, now);
  return { pendingToken, endsAt, places };
}

export async function signOut(deps: Deps, { tokenHash, name }: Actor): Promise<void> {
  await deleteSignedIn(deps.db, tokenHash);
  deps.sockets.endSignIn(tokenHash);
  deps.security.note('sign-in-ended', { account: name, by: 'sign-out' });
}

/** Asks somebody signed in for their passphrase once more; a problem at that field when it is not theirs. */
export async function confirmPassphrase(
  deps: Deps,
  actor: Actor,
  passphrase: string,
  pointer: string,
): Promise<void> {
  await deps.limits.passphrase.attempt(actor.id, async () => {
    const account = await findAccount(deps.db, actor.id);
    if (!account || !(await verify(account.passphraseHash, passphrase))) {
      throw fieldProblem(pointer, 'This is not your passphrase.');
    }
  });
}

export async function changePassphrase(
  deps: Deps,
  actor: Actor,
  input: ChangePassphraseInput,
): Promise<void> {
  await refuseGuessable(input.next, actor.name, '#/next');
  await confirmPassphrase(deps, actor, input.current, '#/current');
  await setPassphrase(deps, deps.db, actor, input.next, actor.tokenHash);
  deps.security.note('passphrase-changed', { account: actor.name, by: 'passphrase' });
}

async function setPassphrase(
  deps: Deps,
  db: Db,
  account: { id: string },
  passphrase: string,
  keepTokenHash: string,
): Promise<void> {
  const hashed = await hashPassphrase(passphrase);
  const ended = await changePassphraseHash(db, account.id, hashed, keepTokenHash);
  // Whoever began to sign in by the passphrase before begins again.
  await deletePendingSignIns(db, account.id);
  for (const tokenHash of ended) deps.sockets.endSignIn(tokenHash);
}

export async function readSignIns(deps: Deps, actor: Actor): Promise<SignInViews> {
  const rows = await listSignedIn(deps.db, actor.id, signInTime(deps.signInLasts, deps.clock()));
  const signIns = rows.map(({ id, device, by, createdAt, lastUsedAt, expiresAt, tokenHash }) => ({
    id,
    device,
    by,
    createdAt: createdAt.toISOString(),
    lastUsedAt: lastUsedAt.toISOString(),
    endsAt: endsUnused(deps.signInLasts, lastUsedAt, expiresAt).toISOString(),
    here: tokenHash === actor.tokenHash,
  }));
  return { signIns: signIns.sort((a, b) => Number(b.here) - Number(a.here)) };
}

export async function endSignIn(deps: Deps, actor: Actor, id: string): Promise<SignInViews> {
  const tokenHash = await deleteOwnSignedIn(deps.db, actor.id, id);
  if (tokenHash === undefined) throw problem('not-found');
  deps.sockets.endSignIn(tokenHash);
  deps.security.note('sign-in-ended', { account: actor.name, by: 'owner' });
  return readSignIns(deps, actor);
}

/** What a link for a forgotten passphrase is made with. */
export type LinkDeps = Pick<Deps, 'db' | 'clock' | 'random'>;

/**
 * A one-time link for somebody who forgot their passphrase, valid for an hour; an earlier one stops working. For whoever
 * runs the machine, who has the database anyway. Null when nobody has this name.
 */
export async function issuePassphraseToken(deps: LinkDeps, name: string): Promise<string | null> {
  const account = await findAccountByName(deps.db, name);
  if (!account) return null;
  const token = newToken(deps.random);
  const expiresAt = new Date(deps.clock().getTime() + HOUR_MS);
  await insertPassphraseLink(deps.db, { tokenHash: hashToken(token), accountId: account.id, expiresAt });
  return token;
}

/**
 * A new passphrase by such a link: every browser that was signed in is signed out, this one is signed in. Passkeys and
 * recovery codes go too, since whoever asked for the link may have lost all of them.
 */
export async function replacePassphrase(
  deps: Deps,
  visitor: Visitor,
  input: ForgottenPassphraseInput,
): Promise<SignedIn> {
  const tokenHash = hashToken(input.token);
  const account = await deps.limits.link.attempt(networkOf(visitor.from), async () => {
    const found = await findPassphraseLink(deps.db, tokenHash, deps.clock());
    if (!found) throw problem('link-expired');
    return found;
  });
  await refuseGuessable(input.passphrase, account.name, '#/passphrase');
  const { signedIn, removed } = await deps.db.transaction(async (tx) => {
    if (!(await usePassphraseLink(tx, tokenHash))) throw problem('link-expired');
    await setPassphrase(deps, tx, account, input.passphrase, '');
    const gone = await deleteSecondFactors(tx, account.id);
    return { signedIn: await startSignedIn(deps, tx, account, visitor, 'link'), removed: gone };
  });
  deps.security.note('passphrase-changed', { account: account.name, by: 'link' });
  if (removed > 0)
    deps.security.note('second-factor-removed', { account: account.name, by: 'link', removed });
  return signedIn;
}
