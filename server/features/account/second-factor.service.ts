import {
  findPendingSignIn,
  findRecoveryCodes,
  listPasskeys,
  notePasskeyUse,
  usePendingSignIn,
  useRecoveryCode,
} from '@oddglass/db/queries/passkey.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { SignInWay } from '@oddglass/shared/contracts/account.ts';
import type { PasskeyRequest, PasskeySigned } from '@oddglass/shared/contracts/passkey.ts';
import { hashToken } from '../../access/tokens.ts';
import type { Deps } from '../../deps.ts';
import { networkOf } from '../../guard/attempts.ts';
import { problem } from '../../refusal/problem.ts';
import { checkSigned, offerSigning, type Signing } from './passkey-check.ts';
import { placeOrProblem } from './passkey.service.ts';
import { hashRecoveryCode } from './recovery-code.ts';
import { startSignedIn, type SignedIn, type Visitor } from './sign-in.service.ts';

interface Waiting {
  account: { id: string; name: string };
  tokenHash: string;
}

async function waitingOf(deps: Deps, pendingToken: string | undefined): Promise<Waiting> {
  const tokenHash = hashToken(pendingToken ?? '');
  const account = pendingToken && (await findPendingSignIn(deps.db, tokenHash, deps.clock()));
  if (!account) throw problem('second-factor-over');
  return { account, tokenHash };
}

const signingOf = ({ account, tokenHash }: Waiting): Signing => ({
  accountId: account.id,
  purpose: 'sign-in',
  browserHash: tokenHash,
});

/** What a passkey of whoever waits is to sign; each challenge is good for one try. */
export async function offerSignIn(
  deps: Deps,
  pendingToken: string | undefined,
  origin: string,
): Promise<PasskeyRequest> {
  const waiting = await waitingOf(deps, pendingToken);
  const at = placeOrProblem(origin);
  const passkeys = await listPasskeys(deps.db, waiting.account.id);
  if (!passkeys.some(({ place }) => place === at.place)) throw problem('passkeys-elsewhere');
  return offerSigning(deps, signingOf(waiting), at, passkeys);
}

export async function signInByPasskey(
  deps: Deps,
  visitor: Visitor,
  {
    pendingToken,
    origin,
    signed,
  }: { pendingToken: string | undefined; origin: string; signed: PasskeySigned },
): Promise<SignedIn> {
  const waiting = await waitingOf(deps, pendingToken);
  const at = placeOrProblem(origin);
  return tried(deps, visitor, waiting, 'passkey', async () => {
    const passkeys = await listPasskeys(deps.db, waiting.account.id);
    const found = await checkSigned(deps, signingOf(waiting), at, { signed, passkeys });
    const { passkey, newCounter } = found ?? {};
    return async (tx) =>
      passkey !== undefined &&
      newCounter !== undefined &&
      (await notePasskeyUse(tx, passkey, { newCounter, at: deps.clock() }));
  });
}

export async function signInByRecoveryCode(
  deps: Deps,
  visitor: Visitor,
  { pendingToken, code }: { pendingToken: string | undefined; code: string },
): Promise<SignedIn> {
  const waiting = await waitingOf(deps, pendingToken);
  const { account } = waiting;
  const signedIn = await tried(deps, visitor, waiting, 'recovery-code', async () => {
    const { salt } = (await findRecoveryCodes(deps.db, account.id)) ?? {};
    const codeHash = salt === undefined ? undefined : await hashRecoveryCode(code, salt);
    return async (tx) => codeHash !== undefined && (await useRecoveryCode(tx, account.id, codeHash));
  });
  const left = (await findRecoveryCodes(deps.db, account.id))?.left ?? 0;
  deps.security.note('recovery-code-used', { account: account.name, address: visitor.from, left });
  return signedIn;
}

/**
 * One counted try: `look` finds out what it can outside of a transaction, and what it returns uses the factor up inside.
 * Factor and pending sign-in are used up together, or neither is.
 */
async function tried(
  deps: Deps,
  visitor: Visitor,
  { account, tokenHash }: Waiting,
  by: SignInWay,
  look: () => Promise<(tx: Db) => Promise<boolean>>,
): Promise<SignedIn> {
  return deps.limits.secondFactor.attempt(`${networkOf(visitor.from)} ${account.id}`, async () => {
    const use = await look();
    return deps.db.transaction(async (tx) => {
      if (!(await use(tx))) {
        deps.security.note('second-factor-refused', { account: account.name, address: visitor.from, by });
        throw problem('second-factor-refused');
      }
      if (!(await usePendingSignIn(tx, tokenHash, deps.clock()))) throw problem('second-factor-over');
      return startSignedIn(deps, tx, account, visitor, by);
    });
  });
}
