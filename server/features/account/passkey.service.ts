import {
  deletePasskey,
  deleteSecondFactors,
  findRecoveryCodes,
  holdSecondFactors,
  insertPasskey,
  listPasskeys,
  renamePasskey,
  replaceRecoveryCodes,
} from '@oddglass/db/queries/passkey.ts';
import type { AddPasskeyInput, PasskeyCreation, SecondFactors } from '@oddglass/shared/contracts/passkey.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import type { Actor } from '../../access/actor.ts';
import { passkeyPlaceOf, type PasskeyPlace } from '../../access/passkey-place.ts';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { checkMade, offerCreation, type Signing } from './passkey-check.ts';
import { drawRecoveryCodes } from './recovery-code.ts';
import { confirmPassphrase } from './sign-in.service.ts';

const MAX_PASSKEYS = 10;

/** Where passkeys belong, or a problem where there can be none. */
export function placeOrProblem(origin: string): PasskeyPlace {
  const found = passkeyPlaceOf(origin);
  if ('lacks' in found) throw problem('passkeys-elsewhere');
  return found;
}

const signingOf = (actor: Actor): Signing => ({
  accountId: actor.id,
  purpose: 'add',
  browserHash: actor.tokenHash,
});

export async function readSecondFactors(deps: Deps, actor: Actor, origin: string): Promise<SecondFactors> {
  const found = passkeyPlaceOf(origin);
  const at = 'lacks' in found ? { origin: null, place: null } : found;
  const passkeys = await listPasskeys(deps.db, actor.id);
  return {
    origin: at.origin,
    lacks: 'lacks' in found ? found.lacks : null,
    passkeys: passkeys.map(({ id, name, createdAt, lastUsedAt, place }) => ({
      id,
      name,
      createdAt: createdAt.toISOString(),
      lastUsedAt: lastUsedAt?.toISOString() ?? null,
      here: place === at.place,
    })),
    recoveryCodesLeft: (await findRecoveryCodes(deps.db, actor.id))?.left ?? 0,
  };
}

/** What the browser makes a passkey by; asks for the passphrase, so that nobody locks an owner out who left a browser open. */
export async function offerPasskey(
  deps: Deps,
  actor: Actor,
  origin: string,
  passphrase: string,
): Promise<PasskeyCreation> {
  const at = placeOrProblem(origin);
  await confirmPassphrase(deps, actor, passphrase, '#/passphrase');
  const passkeys = await listPasskeys(deps.db, actor.id);
  if (passkeys.length >= MAX_PASSKEYS) throw full();
  return offerCreation(deps, signingOf(actor), at, { name: actor.name, passkeys });
}

const full = () =>
  problem('passkey-refused', {
    detail: `An account has ${MAX_PASSKEYS} passkeys at most: remove one first.`,
  });

export async function addPasskey(
  deps: Deps,
  actor: Actor,
  origin: string,
  { name, made }: AddPasskeyInput,
): Promise<{ secondFactors: SecondFactors; codes: string[] | null }> {
  const at = placeOrProblem(origin);
  const checked = await checkMade(deps, signingOf(actor), at, made);
  if (!checked) {
    deps.security.note('second-factor-refused', { account: actor.name, by: 'new passkey' });
    throw problem('passkey-refused');
  }
  const codes = await deps.db.transaction(async (tx) => {
    await holdSecondFactors(tx, actor.id);
    const { length } = await listPasskeys(tx, actor.id);
    if (length >= MAX_PASSKEYS) throw full();
    const id = randomUuid(deps.random);
    const row = { ...checked, id, accountId: actor.id, place: at.place, name, lastUsedAt: null };
    if (!(await insertPasskey(tx, { ...row, createdAt: deps.clock() })))
      throw problem('passkey-refused', { detail: 'This passkey belongs to an account here already.' });
    if (length > 0) return null;
    const drawn = await drawRecoveryCodes(deps.random);
    await replaceRecoveryCodes(tx, actor.id, drawn.salt, drawn.codeHashes);
    return drawn.codes;
  });
  deps.security.note('second-factor-added', { account: actor.name });
  return { secondFactors: await readSecondFactors(deps, actor, origin), codes };
}

export async function nameAnew(
  deps: Deps,
  actor: Actor,
  origin: string,
  { id, name }: { id: string; name: string },
): Promise<SecondFactors> {
  if (!(await renamePasskey(deps.db, actor.id, id, name))) throw problem('not-found');
  return readSecondFactors(deps, actor, origin);
}

/** Takes a passkey away; with the last one the recovery codes go. */
export async function removePasskey(
  deps: Deps,
  actor: Actor,
  origin: string,
  { id, passphrase }: { id: string; passphrase: string },
): Promise<SecondFactors> {
  await confirmPassphrase(deps, actor, passphrase, '#/passphrase');
  await deps.db.transaction(async (tx) => {
    await holdSecondFactors(tx, actor.id);
    if (!(await deletePasskey(tx, actor.id, id))) throw problem('not-found');
    if ((await listPasskeys(tx, actor.id)).length === 0) await deleteSecondFactors(tx, actor.id);
  });
  deps.security.note('second-factor-removed', { account: actor.name, by: 'owner' });
  return readSecondFactors(deps, actor, origin);
}

/** Ten new recovery codes; those before stop working. */
export async function drawCodesAnew(deps: Deps, actor: Actor, passphrase: string): Promise<string[]> {
  await confirmPassphrase(deps, actor, passphrase, '#/passphrase');
  const { codes, salt, codeHashes } = await drawRecoveryCodes(deps.random);
  await deps.db.transaction(async (tx) => {
    await holdSecondFactors(tx, actor.id);
    if ((await listPasskeys(tx, actor.id)).length === 0)
      throw problem('not-found', { detail: 'Recovery codes stand in for passkeys: add a passkey first.' });
    await replaceRecoveryCodes(tx, actor.id, salt, codeHashes);
  });
  deps.security.note('recovery-codes-drawn', { account: actor.name });
  return codes;
}
