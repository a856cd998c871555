import type { Role } from '@oddglass/shared/contracts/account.ts';
import { and, eq, gt, isNull, lte, ne, sql } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account, signedIn } from '../schema/account.ts';
import { invitation, membership, panel } from '../schema/panel.ts';

export type Account = typeof account.$inferSelect;

export async function anyAccount(db: Db): Promise<boolean> {
  return (await db.select({ id: account.id }).from(account).limit(1)).length > 0;
}

/** Adds an account; false when the name is taken. */
export async function insertAccount(db: Db, row: Account): Promise<boolean> {
  const added = await db.insert(account).values(row).onConflictDoNothing().returning({ id: account.id });
  return added.length > 0;
}

export async function findAccountByName(db: Db, name: string): Promise<Account | undefined> {
  const [row] = await db
    .select()
    .from(account)
    .where(eq(sql`lower(${account.name})`, name.toLowerCase()));
  return row;
}

export async function findAccount(db: Db, id: string): Promise<Account | undefined> {
  const [row] = await db.select().from(account).where(eq(account.id, id));
  return row;
}

/** New passphrase; every other browser of the account is signed out. */
export async function changePassphraseHash(
  db: Db,
  id: string,
  hash: string,
  keepTokenHash: string,
): Promise<void> {
  await db.update(account).set({ passphraseHash: hash }).where(eq(account.id, id));
  await db.delete(signedIn).where(and(eq(signedIn.accountId, id), ne(signedIn.tokenHash, keepTokenHash)));
}

export async function insertSignedIn(db: Db, row: typeof signedIn.$inferInsert): Promise<void> {
  await db.delete(signedIn).where(lte(signedIn.expiresAt, row.createdAt));
  await db.insert(signedIn).values(row);
}

export async function deleteSignedIn(db: Db, tokenHash: string): Promise<void> {
  await db.delete(signedIn).where(eq(signedIn.tokenHash, tokenHash));
}

/** The account signed in with this token, while it lasts. */
export async function findSignedIn(
  db: Db,
  tokenHash: string,
  now: Date,
): Promise<Pick<Account, 'id' | 'name'> | undefined> {
  const [row] = await db
    .select({ id: account.id, name: account.name })
    .from(signedIn)
    .innerJoin(account, eq(account.id, signedIn.accountId))
    .where(and(eq(signedIn.tokenHash, tokenHash), gt(signedIn.expiresAt, now)));
  return row;
}

export async function listMemberships(
  db: Db,
  accountId: string,
): Promise<{ id: string; name: string; role: Role; demo: boolean }[]> {
  return db
    .select({ id: panel.id, name: panel.name, role: membership.role, demo: panel.demo })
    .from(membership)
    .innerJoin(panel, eq(panel.id, membership.panelId))
    .where(eq(membership.accountId, accountId))
    .orderBy(panel.name, panel.id);
}

export async function insertInvitation(db: Db, row: typeof invitation.$inferInsert): Promise<void> {
  await db.insert(invitation).values(row);
}

/** Removes links for the first host that nobody used: a new start prints a new one. */
export async function deleteFirstHostInvitations(db: Db): Promise<void> {
  await db.delete(invitation).where(and(isNull(invitation.panelId), isNull(invitation.usedAt)));
}

/** Uses up a link; undefined when it is unknown, used or too old. One of two racing calls wins. */
export async function useInvitation(
  db: Db,
  tokenHash: string,
  now: Date,
): Promise<{ panelId: string | null; role: Role } | undefined> {
  const [row] = await db
    .update(invitation)
    .set({ usedAt: now })
    .where(and(eq(invitation.tokenHash, tokenHash), isNull(invitation.usedAt), gt(invitation.expiresAt, now)))
    .returning({ panelId: invitation.panelId, role: invitation.role });
  return row;
}
