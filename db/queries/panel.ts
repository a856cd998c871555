import type { Role } from '@oddglass/shared/contracts/account.ts';
import type { TrialSummary } from '@oddglass/shared/contracts/panel.ts';
import { and, asc, count, desc, eq } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { membership, panel } from '../schema/panel.ts';
import { arm, trial } from '../schema/trial.ts';

export type Panel = typeof panel.$inferSelect;

export async function insertPanel(db: Db, row: Panel): Promise<void> {
  await db.insert(panel).values(row);
}

/** Adds somebody to a panel; false when they are in it. */
export async function insertMembership(db: Db, row: typeof membership.$inferInsert): Promise<boolean> {
  const rows = await db
    .insert(membership)
    .values(row)
    .onConflictDoNothing()
    .returning({ role: membership.role });
  return rows.length > 0;
}

export async function deleteMembership(db: Db, panelId: string, accountId: string): Promise<void> {
  await db
    .delete(membership)
    .where(and(eq(membership.panelId, panelId), eq(membership.accountId, accountId)));
}

/** The panel and the account's role in it; undefined for a stranger, as if it did not exist. */
export async function findPanelFor(
  db: Db,
  panelId: string,
  accountId: string,
): Promise<(Panel & { role: Role }) | undefined> {
  const [row] = await db
    .select({
      id: panel.id,
      name: panel.name,
      demo: panel.demo,
      createdAt: panel.createdAt,
      role: membership.role,
    })
    .from(panel)
    .innerJoin(membership, and(eq(membership.panelId, panel.id), eq(membership.accountId, accountId)))
    .where(eq(panel.id, panelId));
  return row;
}

export async function listMembers(
  db: Db,
  panelId: string,
): Promise<{ id: string; name: string; role: Role }[]> {
  return db
    .select({ id: account.id, name: account.name, role: membership.role })
    .from(membership)
    .innerJoin(account, eq(account.id, membership.accountId))
    .where(eq(membership.panelId, panelId))
    .orderBy(asc(account.name));
}

export async function listTrials(db: Db, panelId: string): Promise<Omit<TrialSummary, 'finding'>[]> {
  const rows = await db
    .select({
      id: trial.id,
      title: trial.title,
      question: trial.question,
      arms: count(arm.id),
      createdAt: trial.createdAt,
      archivedAt: trial.archivedAt,
    })
    .from(trial)
    .leftJoin(arm, eq(arm.trialId, trial.id))
    .where(eq(trial.panelId, panelId))
    .groupBy(trial.id)
    .orderBy(desc(trial.createdAt), trial.id);
  return rows.map(({ archivedAt, createdAt, ...row }) => ({
    ...row,
    archived: archivedAt !== null,
    createdAt: createdAt.toISOString(),
  }));
}

/** The panel by itself, for what is not asked on behalf of an account (a seat). */
export async function findPanel(db: Db, panelId: string): Promise<Panel | undefined> {
  const [row] = await db.select().from(panel).where(eq(panel.id, panelId));
  return row;
}
