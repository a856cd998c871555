import type { OpenInvitations, Role } from '@oddglass/shared/contracts/account.ts';
import { and, desc, eq, gt, isNull, ne, sql } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account, passphraseLink, signedIn } from '../schema/account.ts';
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

/** Names of all accounts, while no other account can be added before the transaction ends. */
export async function holdAccountNames(tx: Db): Promise<string[]> {
  await tx.execute(sql`lock table ${account} in share row exclusive mode`);
  return (await tx.select({ name: account.name }).from(account)).map(({ name }) => name);
}

/** New passphrase; every other browser of the account is signed out. Returns the hashes of their tokens. */
export async function changePassphraseHash(
  db: Db,
  id: string,
  hash: string,
  keepTokenHash: string,
): Promise<string[]> {
  await db.update(account).set({ passphraseHash: hash }).where(eq(account.id, id));
  const ended = await db
    .delete(signedIn)
    .where(and(eq(signedIn.accountId, id), ne(signedIn.tokenHash, keepTokenHash)))
    .returning({ tokenHash: signedIn.tokenHash });
  return ended.map(({ tokenHash }) => tokenHash);
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

const open = (panelId: string) => and(eq(invitation.panelId, panelId), isNull(invitation.usedAt));

/** Invitations to a panel that still let somebody in, newest first, without what opens them. */
export async function listOpenInvitations(
  db: Db,
  panelId: string,
  now: Date,
): Promise<OpenInvitations['invitations']> {
  const rows = await db
    .select({
      id: invitation.id,
      role: invitation.role,
      invitedBy: account.name,
      createdAt: invitation.createdAt,
      expiresAt: invitation.expiresAt,
    })
    .from(invitation)
    .leftJoin(account, eq(account.id, invitation.invitedBy))
    .where(and(open(panelId), gt(invitation.expiresAt, now)))
    .orderBy(desc(invitation.createdAt), invitation.id);
  return rows.map((row) => ({
    ...row,
    createdAt: row.createdAt.toISOString(),
    expiresAt: row.expiresAt.toISOString(),
  }));
}

/** Ends an invitation that nobody has taken; false when there is none like that. */
export async function deleteInvitation(db: Db, panelId: string, id: string): Promise<boolean> {
  const rows = await db
    .delete(invitation)
    .where(and(open(panelId), eq(invitation.id, id)))
    .returning({ id: invitation.id });
  return rows.length > 0;
}

/** Ends what somebody invited to a panel and nobody has taken. */
export async function deleteInvitationsOf(db: Db, panelId: string, accountId: string): Promise<void> {
  await db.delete(invitation).where(and(open(panelId), eq(invitation.invitedBy, accountId)));
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

/** Replaces what was made for the account before. */
export async function insertPassphraseLink(db: Db, row: typeof passphraseLink.$inferInsert): Promise<void> {
  await db.delete(passphraseLink).where(eq(passphraseLink.accountId, row.accountId));
  await db.insert(passphraseLink).values(row);
}

/** Whose passphrase a link may change, while it lasts. */
export async function findPassphraseLink(
  db: Db,
  tokenHash: string,
  now: Date,
): Promise<Pick<Account, 'id' | 'name'> | undefined> {
  const [row] = await db
    .select({ id: account.id, name: account.name })
    .from(passphraseLink)
    .innerJoin(account, eq(account.id, passphraseLink.accountId))
    .where(and(eq(passphraseLink.tokenHash, tokenHash), gt(passphraseLink.expiresAt, now)));
  return row;
}

/** Uses up a link; false when it is unknown or used. One of two racing calls wins. */
export async function usePassphraseLink(db: Db, tokenHash: string): Promise<boolean> {
  const used = await db
    .delete(passphraseLink)
    .where(eq(passphraseLink.tokenHash, tokenHash))
    .returning({ accountId: passphraseLink.accountId });
  return used.length > 0;
}
