import { and, desc, eq, gt, lte, or } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account, signedIn } from '../schema/account.ts';

export type SignedInRow = typeof signedIn.$inferSelect;

/** The moments that decide whether a sign-in still holds. */
export interface SignInTime {
  now: Date;
  /** One that was not used after this has ended. */
  idleSince: Date;
}

const holds = ({ now, idleSince }: SignInTime) =>
  and(gt(signedIn.expiresAt, now), gt(signedIn.lastUsedAt, idleSince));

/** Adds a sign-in, and sweeps away what has ended by itself. */
export async function insertSignedIn(
  db: Db,
  row: typeof signedIn.$inferInsert,
  { now, idleSince }: SignInTime,
): Promise<void> {
  await db.delete(signedIn).where(or(lte(signedIn.expiresAt, now), lte(signedIn.lastUsedAt, idleSince)));
  await db.insert(signedIn).values(row);
}

/** Whose browser holds this token, and when it was used last; undefined once the sign-in has ended. */
export async function findSignedIn(
  db: Db,
  tokenHash: string,
  time: SignInTime,
): Promise<{ id: string; name: string; lastUsedAt: Date } | undefined> {
  const [row] = await db
    .select({ id: account.id, name: account.name, lastUsedAt: signedIn.lastUsedAt })
    .from(signedIn)
    .innerJoin(account, eq(account.id, signedIn.accountId))
    .where(and(eq(signedIn.tokenHash, tokenHash), holds(time)));
  return row;
}

export async function noteSignedInUse(db: Db, tokenHash: string, now: Date): Promise<void> {
  await db.update(signedIn).set({ lastUsedAt: now }).where(eq(signedIn.tokenHash, tokenHash));
}

/** Where somebody is signed in, the one used last first. */
export async function listSignedIn(db: Db, accountId: string, time: SignInTime): Promise<SignedInRow[]> {
  return db
    .select()
    .from(signedIn)
    .where(and(eq(signedIn.accountId, accountId), holds(time)))
    .orderBy(desc(signedIn.lastUsedAt), signedIn.id);
}

export async function deleteSignedIn(db: Db, tokenHash: string): Promise<void> {
  await db.delete(signedIn).where(eq(signedIn.tokenHash, tokenHash));
}

/** Hashes of the tokens of all browsers in which somebody is signed in. */
export async function listTokenHashes(db: Db, accountId: string): Promise<string[]> {
  const rows = await db
    .select({ tokenHash: signedIn.tokenHash })
    .from(signedIn)
    .where(eq(signedIn.accountId, accountId));
  return rows.map(({ tokenHash }) => tokenHash);
}

/** Ends one of somebody's sign-ins; the hash of its token, undefined when it is not theirs or has ended. */
export async function deleteOwnSignedIn(db: Db, accountId: string, id: string): Promise<string | undefined> {
  const [row] = await db
    .delete(signedIn)
    .where(and(eq(signedIn.accountId, accountId), eq(signedIn.id, id)))
    .returning({ tokenHash: signedIn.tokenHash });
  return row?.tokenHash;
}
