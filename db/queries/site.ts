import { and, asc, eq, isNull } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { seat } from '../schema/session.ts';
import { siteAway, siteHome } from '../schema/site.ts';

export type SiteAway = typeof siteAway.$inferSelect;

/** Places of a session that answer on other servers, in their order. */
export async function listSitesAway(db: Db, sessionId: string): Promise<SiteAway[]> {
  return db.select().from(siteAway).where(eq(siteAway.sessionId, sessionId)).orderBy(asc(siteAway.site));
}

export async function insertSiteAway(db: Db, row: typeof siteAway.$inferInsert): Promise<void> {
  await db.insert(siteAway).values(row);
}

/** Writes down that the ballots of a place are in; false when others were in before. To be called under the session's lock. */
export async function joinSite(
  db: Db,
  { sessionId, site, ...joined }: Pick<SiteAway, 'sessionId' | 'site' | 'joinedAt' | 'digest' | 'facts'>,
): Promise<boolean> {
  const rows = await db
    .update(siteAway)
    .set(joined)
    .where(and(eq(siteAway.sessionId, sessionId), eq(siteAway.site, site), isNull(siteAway.joinedAt)))
    .returning({ site: siteAway.site });
  return rows.length > 0;
}

/** A seat as it was taken at its place; false when somebody sits there. To be called under the session's lock. */
export async function takeForSite(
  db: Db,
  seatId: string,
  taken: Partial<Omit<typeof seat.$inferInsert, 'id' | 'sessionId' | 'number' | 'spare'>>,
): Promise<boolean> {
  const rows = await db
    .update(seat)
    .set(taken)
    .where(and(eq(seat.id, seatId), isNull(seat.takenAt)))
    .returning({ id: seat.id });
  return rows.length > 0;
}

export async function insertSiteHome(db: Db, row: typeof siteHome.$inferInsert): Promise<void> {
  await db.insert(siteHome).values(row);
}

export async function findSiteHome(
  db: Db,
  sessionId: string,
): Promise<typeof siteHome.$inferSelect | undefined> {
  const [row] = await db.select().from(siteHome).where(eq(siteHome.sessionId, sessionId));
  return row;
}
