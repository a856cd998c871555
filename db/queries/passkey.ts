import { and, eq, gt, lte } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { passkey, passkeyChallenge, pendingSignIn, recoveryCode } from '../schema/passkey.ts';

export type Passkey = typeof passkey.$inferSelect;
export type PasskeyChallenge = typeof passkeyChallenge.$inferSelect;

/** Somebody's passkeys, the oldest first. */
export async function listPasskeys(db: Db, accountId: string): Promise<Passkey[]> {
  return db
    .select()
    .from(passkey)
    .where(eq(passkey.accountId, accountId))
    .orderBy(passkey.createdAt, passkey.id);
}

/** Holds what an account has as second factors until the transaction ends, so that they are counted right. */
export async function holdSecondFactors(tx: Db, accountId: string): Promise<void> {
  await tx.select({ id: account.id }).from(account).where(eq(account.id, accountId)).for('update');
}

/** Adds a passkey; false when it is known already. */
export async function insertPasskey(db: Db, row: Passkey): Promise<boolean> {
  const added = await db.insert(passkey).values(row).onConflictDoNothing().returning({ id: passkey.id });
  return added.length > 0;
}

const own = (accountId: string, id: string) => and(eq(passkey.accountId, accountId), eq(passkey.id, id));

/** Another name for one's own passkey; false when there is none like that. */
export async function renamePasskey(db: Db, accountId: string, id: string, name: string): Promise<boolean> {
  const renamed = await db
    .update(passkey)
    .set({ name })
    .where(own(accountId, id))
    .returning({ id: passkey.id });
  return renamed.length > 0;
}

/** Removes one's own passkey; false when there is none like that. */
export async function deletePasskey(db: Db, accountId: string, id: string): Promise<boolean> {
  return (await db.delete(passkey).where(own(accountId, id)).returning({ id: passkey.id })).length > 0;
}

/** Writes down that a passkey signed; false when another signature of it came in between. */
export async function notePasskeyUse(
  db: Db,
  { id, counter }: Pick<Passkey, 'id' | 'counter'>,
  { newCounter, at }: { newCounter: number; at: Date },
): Promise<boolean> {
  const noted = await db
    .update(passkey)
    .set({ counter: newCounter, lastUsedAt: at })
    .where(and(eq(passkey.id, id), eq(passkey.counter, counter)))
    .returning({ id: passkey.id });
  return noted.length > 0;
}

/** Everything that is asked for besides the passphrase goes, with sign-ins that wait for it; how many passkeys there were. */
export async function deleteSecondFactors(db: Db, accountId: string): Promise<number> {
  await deletePendingSignIns(db, accountId);
  await db.delete(passkeyChallenge).where(eq(passkeyChallenge.accountId, accountId));
  await db.delete(recoveryCode).where(eq(recoveryCode.accountId, accountId));
  const gone = await db.delete(passkey).where(eq(passkey.accountId, accountId)).returning({ id: passkey.id });
  return gone.length;
}

/** Adds a challenge, and sweeps away those that are too old. */
export async function insertChallenge(db: Db, row: PasskeyChallenge, now: Date): Promise<void> {
  await db.delete(passkeyChallenge).where(lte(passkeyChallenge.expiresAt, now));
  await db.insert(passkeyChallenge).values(row);
}

/** Uses up a challenge; false when it is not this account's, browser's and purpose's, was used or is too old. */
export async function useChallenge(
  db: Db,
  { challengeHash, accountId, purpose, browserHash }: Omit<PasskeyChallenge, 'expiresAt'>,
  now: Date,
): Promise<boolean> {
  const used = await db
    .delete(passkeyChallenge)
    .where(
      and(
        eq(passkeyChallenge.challengeHash, challengeHash),
        eq(passkeyChallenge.accountId, accountId),
        eq(passkeyChallenge.purpose, purpose),
        eq(passkeyChallenge.browserHash, browserHash),
        gt(passkeyChallenge.expiresAt, now),
      ),
    )
    .returning({ accountId: passkeyChallenge.accountId });
  return used.length > 0;
}

/** Adds a sign-in that waits for its second factor, and sweeps away those that are too old. */
export async function insertPendingSignIn(
  db: Db,
  row: typeof pendingSignIn.$inferInsert,
  now: Date,
): Promise<void> {
  await db.delete(pendingSignIn).where(lte(pendingSignIn.expiresAt, now));
  await db.insert(pendingSignIn).values(row);
}

/** Whose sign-in waits in the browser that holds this token. */
export async function findPendingSignIn(
  db: Db,
  tokenHash: string,
  now: Date,
): Promise<{ id: string; name: string } | undefined> {
  const [row] = await db
    .select({ id: account.id, name: account.name })
    .from(pendingSignIn)
    .innerJoin(account, eq(account.id, pendingSignIn.accountId))
    .where(and(eq(pendingSignIn.tokenHash, tokenHash), gt(pendingSignIn.expiresAt, now)));
  return row;
}

/** Uses up a pending sign-in; false when it is gone. One of two racing calls wins. */
export async function usePendingSignIn(db: Db, tokenHash: string, now: Date): Promise<boolean> {
  const used = await db
    .delete(pendingSignIn)
    .where(and(eq(pendingSignIn.tokenHash, tokenHash), gt(pendingSignIn.expiresAt, now)))
    .returning({ accountId: pendingSignIn.accountId });
  return used.length > 0;
}

export async function deletePendingSignIns(db: Db, accountId: string): Promise<void> {
  await db.delete(pendingSignIn).where(eq(pendingSignIn.accountId, accountId));
}

/** Replaces somebody's recovery codes; none takes them away. */
export async function replaceRecoveryCodes(
  db: Db,
  accountId: string,
  salt: string,
  codeHashes: readonly string[],
): Promise<void> {
  await db.delete(recoveryCode).where(eq(recoveryCode.accountId, accountId));
  if (codeHashes.length > 0)
    await db.insert(recoveryCode).values(codeHashes.map((codeHash) => ({ accountId, salt, codeHash })));
}

/** How many recovery codes are left, and the salt they were hashed with; undefined when there are none. */
export async function findRecoveryCodes(
  db: Db,
  accountId: string,
): Promise<{ salt: string; left: number } | undefined> {
  const rows = await db
    .select({ salt: recoveryCode.salt })
    .from(recoveryCode)
    .where(eq(recoveryCode.accountId, accountId));
  return rows[0] && { salt: rows[0].salt, left: rows.length };
}

/** Uses up a recovery code; false when there is none like that. One of two racing calls wins. */
export async function useRecoveryCode(db: Db, accountId: string, codeHash: string): Promise<boolean> {
  const used = await db
    .delete(recoveryCode)
    .where(and(eq(recoveryCode.accountId, accountId), eq(recoveryCode.codeHash, codeHash)))
    .returning({ accountId: recoveryCode.accountId });
  return used.length > 0;
}
